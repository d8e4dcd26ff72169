"""Telling customers: who is told what, and the outbox in which every message stands once.

A message is written to the outbox in the transaction that decides on it (`tell`, and `tell_done`
when a record comes in). It is sent afterwards (`actions.notices_out`).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from sqlmodel import Session

from dispatch.actions.lists import ListTable
from dispatch.actions.published_day import read_day
from dispatch.actions.visit_link import arrival_window
from dispatch.clock import format_span
from dispatch.day.moments import seconds_of
from dispatch.day.state import DayState, StopState
from dispatch.notices.due import TOLD_BACK, expected_visits, notices_due
from dispatch.notices.notice import Notice, NoticeState
from dispatch.settings import Settings
from dispatch.store.book import read_sites, read_some_sites
from dispatch.store.days import read_published_days
from dispatch.store.notices import (
    add_notices,
    count_failed,
    forget_notices,
    read_notices,
    read_notices_of_day,
    write_changed,
)

A_DAY = timedelta(days=1)
KEPT = timedelta(days=365)  # what became of a message; longer than a customer asks (own choice)
COLUMNS = (
    *("site", "name", "visit", "kind", "number", "day", "from_day", "window", "state"),
    *("tries", "made_at", "sent_at", "why"),
)


@dataclass(frozen=True, slots=True)
class ShownNotice:
    """A message with the name of its site; `window_s` is what it would say now, in seconds."""

    notice: Notice
    site_name: str
    window_s: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class DayNotices:
    """Who would be told about a day if it were told now, and what was decided on before."""

    day: date
    due: tuple[ShownNotice, ...]
    kept: tuple[ShownNotice, ...]


def notices_of_day(session: Session, settings: Settings, day: date, *, now: datetime) -> DayNotices:
    """The messages about a day, those that are due and those decided on; nothing is written."""
    due = due_notices(session, settings, day, now=now)
    kept = shown_notices(session, read_notices_of_day(session, day))
    return DayNotices(day, due, tuple(sorted(kept, key=_by_name)))


def shown_notices(session: Session, notices: Sequence[Notice]) -> tuple[ShownNotice, ...]:
    """Messages with the names of their sites."""
    sites = read_some_sites(session, {one.site_id for one in notices})
    return tuple(ShownNotice(one, sites[one.site_id].name) for one in notices)


def due_notices(
    session: Session, settings: Settings, day: date | None = None, *, now: datetime
) -> tuple[ShownNotice, ...]:
    """The messages about times that are due; nothing is written.

    Parameters
    ----------
    day
        The day whose visits are announced, and of which changes are told. Without one it is what
        a timer tells of: the next day, from the hour of the settings on, and all changes.
    """
    local = now.astimezone(settings.zone)
    announced = {local.date() + A_DAY} if local.hour >= settings.notices_from_hour else set()
    if day is not None:
        announced = {day}
    told = read_notices(session, local.date() - TOLD_BACK)
    seen = {one.day for one in told} | {one.from_day for one in told if one.from_day}
    states = _states(session, announced | seen)
    sites = {one.id: one for one in read_sites(session) if one.notices}
    found = notices_due(states, told, sites, announced=announced, now=now, zone=settings.zone)
    starts = {visit_id: one.start_s for visit_id, one in expected_visits(states).items()}
    return tuple(
        ShownNotice(
            one,
            sites[one.site_id].name,
            _window_s(settings, one.day, starts.get(one.visit_id), now),
        )
        for one in found
        if day is None or day in (one.day, one.from_day)
    )


def tell(
    session: Session, settings: Settings, day: date | None = None, *, now: datetime
) -> tuple[ShownNotice, ...]:
    """Put the messages that are due into the outbox, each once; as `due_notices` says.

    Those about visits of more than a year ago (`KEPT`) are taken out of it.
    """
    forget_notices(session, now.astimezone(settings.zone).date() - KEPT)
    due = due_notices(session, settings, day, now=now)
    add_notices(session, [one.notice for one in due])
    return due


def try_again(session: Session, day: date, *, now: datetime) -> int:
    """Let the messages of a day that were given up be tried again, from the first pause on."""
    failed = [one for one in read_notices_of_day(session, day) if one.state is NoticeState.FAILED]
    for one in failed:
        waiting = replace(one, state=NoticeState.WAITING, tries=0, next_try_at=now)
        write_changed(session, one, waiting)
    return len(failed)


def failed_notices(session: Session, day: date) -> int:
    """How many messages about a day were given up."""
    return count_failed(session, day)


def notice_list(shown: Sequence[ShownNotice]) -> ListTable:
    """Messages as a list, without addresses; moments are UTC."""
    rows = tuple(
        (
            one.notice.site_id,
            one.site_name,
            one.notice.visit_id,
            str(one.notice.kind),
            one.notice.number,
            one.notice.day,
            one.notice.from_day,
            format_span(*one.window_s) if one.window_s else None,
            str(one.notice.state),
            one.notice.tries,
            one.notice.made_at.isoformat(timespec="seconds"),
            one.notice.sent_at.isoformat(timespec="seconds") if one.notice.sent_at else None,
            one.notice.why,
        )
        for one in shown
    )
    return ListTable(COLUMNS, rows)


def _states(session: Session, days: Collection[date]) -> list[DayState]:
    """The published of these days, and of those to which visits of them were moved."""
    published = set(read_published_days(session))
    found: dict[date, DayState] = {}
    wanted = set(days) & published
    while wanted:
        for one in wanted:
            found[one] = read_day(session, one)
        moved_to = {
            visit.to_day
            for one in wanted
            for visit in found[one].visits.values()
            if visit.state is StopState.MOVED and visit.to_day is not None
        }
        wanted = (moved_to & published) - found.keys()
    return [found[one] for one in sorted(found)]


def _window_s(
    settings: Settings, day: date, start_s: int | None, now: datetime
) -> tuple[int, int] | None:
    if start_s is None:
        return None
    now_s = seconds_of(day, now, settings.zone)
    return arrival_window(start_s, settings.arrival_window_min * 60, now_s)


def _by_name(one: ShownNotice) -> tuple[str, str, str, int]:
    return one.site_name, one.notice.visit_id, str(one.notice.kind), one.notice.number
