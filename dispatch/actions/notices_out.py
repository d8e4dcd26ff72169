"""Sending what stands in the outbox of messages to customers: each at least once.

A message is marked as tried before it is handed to the mail server and as sent afterwards. Whoever
is killed in between leaves it waiting, and it goes out again after `LEASE`: one customer may then
get the same message twice, with the same `Message-ID`, and nobody is forgotten. The other way
round, marked first, a customer would wait at the gate for nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from time import monotonic

from sqlalchemy import Engine
from sqlmodel import Session

from dispatch.actions.visit_link import Standing, VisitPage, seal_visit, visit_page
from dispatch.day.moments import clocks_of
from dispatch.errors import InvalidValue, MailError
from dispatch.notices.due import LATE_RECORD
from dispatch.notices.letter import Letter, Told, letter_of
from dispatch.notices.notice import Notice, NoticeKind, NoticeState
from dispatch.notices.post import Post, SmtpPost
from dispatch.settings import Settings
from dispatch.store.book import read_site
from dispatch.store.db import transaction
from dispatch.store.notices import next_waiting, write_changed
from dispatch.words import N_, _, reading_in

LEASE = timedelta(minutes=10)  # longer than any mail server takes to answer
# Between tries, after the first, the second ...; then a message is given up (common practice).
PAUSES = tuple(timedelta(minutes=one) for one in (5, 15, 60, 180, 360))
OFF = frozenset({Standing.CANCELLED, Standing.NOT_DONE, Standing.OPEN})  # nobody is to come
UNTRUE = N_("What it was to say is not so any more.")
UNWISHED = N_("The customer does not wish it any more.")
UNKNOWN = N_("It was handed over and no answer came back; it is tried again.")


@dataclass(frozen=True, slots=True)
class Sent:
    """The messages of one run as they stand after it; `trouble` is what is wrong with the server.

    Those that are still waiting are tried again later.
    """

    notices: tuple[Notice, ...] = ()
    trouble: str = ""

    def count(self, state: NoticeState) -> int:
        """How many came out so."""
        return sum(one.state is state for one in self.notices)


def check_on(settings: Settings) -> None:
    """Refuse to decide on messages that could not go out.

    Raises
    ------
    InvalidValue
        Naming the settings that are missing.
    """
    if not settings.sends_mail:
        raise InvalidValue(
            _("Messages to customers are off: {missing} must be set for them.").format(
                missing=", ".join(settings.mail_lacks)
            )
        )


@contextmanager
def mail_post(settings: Settings) -> Iterator[SmtpPost]:
    """The mail server of the settings, for one run; raises as `check_on` does."""
    check_on(settings)
    post = SmtpPost(settings)
    try:
        yield post
    finally:
        post.close()


def send_waiting(
    engine: Engine,
    settings: Settings,
    post: Post,
    *,
    now: datetime,
    clock: Callable[[], float] = monotonic,
) -> Sent:
    """Send every message whose next try is due, one after the other.

    When the server itself is in trouble, the run ends and the others wait; they keep their tries.

    Parameters
    ----------
    now
        The moment (aware) at which the run begins, from which pauses are reckoned.
    clock
        Seconds that go on from there: a mail server may take minutes for all, and no other run may
        take a message that is being sent by this one.
    """
    done, began = Sent(), clock()
    with reading_in(settings.language), clocks_of(settings.zone):
        while not done.trouble:
            with transaction(engine, read_only=True) as session:
                notice = next_waiting(session, now)
                if notice is None:
                    break
                at = now + timedelta(seconds=clock() - began)
                letter = _letter(session, settings, notice, at)
            done = _one(engine, post, notice, letter, done, now=now, at=at)
    return done


def send_by_mail(engine: Engine, settings: Settings) -> Sent:
    """Send what waits through the mail server of the settings; raises as `check_on`."""
    with mail_post(settings) as post:
        return send_waiting(engine, settings, post, now=settings.now())


def _one(
    engine: Engine,
    post: Post,
    notice: Notice,
    letter: Letter | str,
    done: Sent,
    *,
    now: datetime,
    at: datetime,
) -> Sent:
    """Drop one message or try it at `at`, and add what became of it to what was done."""
    if isinstance(letter, str):
        dropped = replace(notice, state=NoticeState.DROPPED, why=letter)
        return _with(done, dropped) if _changed(engine, notice, dropped) else done
    tried = replace(notice, tries=notice.tries + 1, next_try_at=at + LEASE, why=_(UNKNOWN))
    if not _changed(engine, notice, tried):
        return done  # somebody else who sends has taken it
    trouble = ""
    try:
        post.send(letter)
    except MailError as error:
        after = _after(tried, error, now)
        trouble = str(error) if error.is_of_server else ""
    else:
        after = replace(tried, state=NoticeState.SENT, sent_at=at, why="")
    _changed(engine, tried, after)
    return _with(done, after, trouble)


def _with(done: Sent, notice: Notice, trouble: str = "") -> Sent:
    return Sent((*done.notices, notice), trouble)


def _after(tried: Notice, error: MailError, now: datetime) -> Notice:
    """What becomes of a message that was not taken."""
    if error.is_final or tried.tries > len(PAUSES):
        return replace(tried, state=NoticeState.FAILED, why=str(error))
    return replace(tried, next_try_at=now + PAUSES[tried.tries - 1], why=str(error))


def _letter(session: Session, settings: Settings, notice: Notice, now: datetime) -> Letter | str:
    """What is to be sent, as things stand now; or in words why nothing is."""
    site = read_site(session, notice.site_id)
    if not site.email or notice.kind.wish not in site.notices:
        return _(UNWISHED)
    page, day = _page(session, settings, notice, now)
    if page is None:
        return _(UNTRUE)
    token = seal_visit(settings, day, notice.site_id, notice.visit_id)
    told = Told(
        site.email,
        site.name,
        f"{settings.own_url}/visit/{token}",
        page.window_s if day == notice.day else None,
    )
    domain = settings.mail_from[1].rpartition("@")[2]
    return letter_of(notice, told, sender_domain=domain, branch=settings.branch)


def _page(
    session: Session, settings: Settings, notice: Notice, now: datetime
) -> tuple[VisitPage | None, date]:
    """What the customer's link shows if the message is still true, and the day of that link."""

    def of(day: date) -> VisitPage:
        return visit_page(session, settings, day, notice.site_id, notice.visit_id, now=now)

    page = of(notice.day)
    today = now.astimezone(settings.zone).date()
    if notice.kind is NoticeKind.DONE:
        is_true = page.standing is Standing.DONE and notice.day >= today - LATE_RECORD
        return (page if is_true else None), notice.day
    if notice.kind is NoticeKind.CALLED_OFF:
        is_true = page.standing in OFF and notice.announced_for >= today
        return (page if is_true else None), notice.day
    if page.standing is Standing.EXPECTED:
        return page, notice.day
    if notice.kind is NoticeKind.MOVED and notice.from_day and page.standing is Standing.OPEN:
        former = of(notice.from_day)
        if former.standing is Standing.MOVED and former.to_day == notice.day >= today:
            return former, notice.from_day
    return None, notice.day


def _changed(engine: Engine, before: Notice, after: Notice) -> bool:
    with transaction(engine) as session:
        return write_changed(session, before, after)
