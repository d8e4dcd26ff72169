"""What a message says: plain text in the reader's language, without codes and readings."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date, timedelta

from dispatch.clock import DAY_S, long_day
from dispatch.day.moments import wall_clock
from dispatch.notices.notice import Notice, NoticeKind
from dispatch.words import _


@dataclass(frozen=True, slots=True)
class Letter:
    """A message as it goes out; equal messages have equal `message_id` (RFC 5322, 3.6.4)."""

    to: str
    subject: str
    text: str
    message_id: str


@dataclass(frozen=True, slots=True)
class Told:
    """What a letter is made of: `window_s` in seconds of the day, None where there is no time."""

    to: str
    site_name: str
    link: str
    window_s: tuple[int, int] | None = None


def letter_of(notice: Notice, told: Told, *, sender_domain: str, branch: str = "") -> Letter:
    """The letter of a message, in the language of whoever reads now.

    Tried again it has the same `Message-ID`, by which mail programs know a double; branch and
    domain keep those of two companies apart.
    """
    name = _one_line(told.site_name)
    paragraphs = [
        _("Hello,"),
        _sentence(notice, told.window_s),
        _("Pool: {name}").format(name=name),
        f"{_hint(notice)}\n{told.link}",
        _(
            "You are told because you asked for it. To stop these messages, tell the company that "
            "looks after your pool."
        ),
    ]
    return Letter(
        told.to,
        _one_line(_subject(notice).format(day=long_day(_day_of(notice)), name=name)),
        "\n\n".join(paragraphs) + "\n",
        _message_id(notice, sender_domain, branch),
    )


def window_words(day: date, window_s: tuple[int, int]) -> str:
    """From when to when, as clocks on the wall show it, also after midnight."""
    words = _("between {start} and {end}").format(
        start=wall_clock(day, window_s[0]), end=wall_clock(day, window_s[1])
    )
    if window_s[1] <= DAY_S:
        return words
    next_day = long_day(day + timedelta(days=1))
    return _("{window} (after midnight it is {day})").format(window=words, day=next_day)


def _day_of(notice: Notice) -> date:
    """The day that the customer looks for: of a visit called off, the one it was announced for."""
    return notice.announced_for if notice.kind is NoticeKind.CALLED_OFF else notice.day


def _subject(notice: Notice) -> str:
    if notice.kind is NoticeKind.DONE:
        return _("Your pool was serviced: {name}")
    if notice.kind is NoticeKind.MOVED:
        return _("Your pool visit was moved to {day}: {name}")
    if notice.kind is NoticeKind.CALLED_OFF:
        return _("No pool visit on {day}: {name}")
    return _("Your pool visit on {day}: {name}")


def _sentence(notice: Notice, window_s: tuple[int, int] | None) -> str:
    day = long_day(_day_of(notice))
    if notice.kind is NoticeKind.DONE:
        return _("your pool was serviced. The visit was that of {day}.").format(day=day)
    if notice.kind is NoticeKind.CALLED_OFF:
        return _(
            "your visit of {day} does not take place. Ask the company that looks after your pool "
            "when the next one is."
        ).format(day=day)
    time = window_words(notice.day, window_s) if window_s else ""
    if notice.kind is NoticeKind.DAY_BEFORE:
        return _("expect our technician on {day} {time}.").format(day=day, time=time)
    before = long_day(notice.announced_for)
    if not time:
        return _("your visit of {before} was moved to {day}. The time is still open.").format(
            before=before, day=day
        )
    return _(
        "your visit of {before} was moved: expect our technician on {day} {time} instead."
    ).format(before=before, day=day, time=time)


def _hint(notice: Notice) -> str:
    if notice.kind is NoticeKind.DONE:
        return _("What was done stands here:")
    if notice.kind is NoticeKind.CALLED_OFF:
        return _("How it stands:")
    return _("This is an estimate and may change. How it stands, and afterwards what was done:")


def _one_line(words: str) -> str:
    """Words without line breaks and other characters that steer, so that none ends a heading."""
    return " ".join("".join(one if one.isprintable() else " " for one in words).split())


def _message_id(notice: Notice, sender_domain: str, branch: str) -> str:
    words = "\n".join((branch, notice.visit_id, notice.kind, str(notice.number)))
    return f"<{hashlib.sha256(words.encode()).hexdigest()[:40]}@{sender_domain}>"
