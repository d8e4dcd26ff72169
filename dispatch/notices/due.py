"""Which messages to customers are due, from what was published and what was told already.

A customer who wishes so is told once of a visit when to expect it, once of each further day that
it is moved to afterwards, and once when it does not take place, and then anew if it does after
all; and once that it was done. What was tried may have arrived, and counts as told, whatever became
of it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo

from dispatch.day.moments import seconds_of
from dispatch.day.state import HAPPENED, DayState, StopState
from dispatch.notices.notice import Notice, NoticeKind, NoticeState
from dispatch.records.record import VisitRecord
from dispatch.sites import Site

TOLD_BACK = timedelta(days=14)  # how long an announced visit is watched for a move; own choice
LATE_RECORD = timedelta(days=3)  # a phone may be days late; an older book of records tells nobody
OF_A_TIME = frozenset({NoticeKind.DAY_BEFORE, NoticeKind.MOVED, NoticeKind.CALLED_OFF})
OFF = frozenset({StopState.CANCELLED, StopState.SKIPPED, StopState.UNPLACED})


@dataclass(frozen=True, slots=True)
class Expected:
    """Where a visit stands now: its day, and the planned start in seconds of it, None if open."""

    site_id: str
    day: date
    start_s: int | None = None


def expected_visits(states: Iterable[DayState]) -> dict[str, Expected]:
    """Where each visit that is still to come stands, by its id.

    A visit that was moved to a day on which it is not published stands there without a time. One
    that is done, under way, skipped, cancelled or in no route is not among them.
    """
    by_day = {state.day: state for state in states}
    found: dict[str, Expected] = {}
    for day, state in sorted(by_day.items()):
        starts = {
            stop.visit_id: stop.start_s
            for revision in state.revisions.values()
            for stop in revision.route.stops
        }
        for visit_id, one in state.visits.items():
            site_id = one.work.site_id
            if one.state is StopState.PLANNED:
                found[visit_id] = Expected(site_id, day, starts[visit_id])
            elif one.state is StopState.MOVED and one.to_day is not None:
                there = by_day.get(one.to_day)
                if there is None or visit_id not in there.visits:
                    found.setdefault(visit_id, Expected(site_id, one.to_day))
    return found


def visits_off(states: Iterable[DayState], expected: Collection[str]) -> dict[str, Expected]:
    """The last day of each visit that was to come and does not, by its id; no `expected` one."""
    by_day = sorted(states, key=lambda state: state.day)
    happened = {v for state in by_day for v, one in state.visits.items() if one.state in HAPPENED}
    return {
        visit_id: Expected(one.work.site_id, state.day)
        for state in by_day
        for visit_id, one in state.visits.items()
        if one.state in OFF and visit_id not in expected and visit_id not in happened
    }


def notices_due(
    states: Sequence[DayState],
    told: Sequence[Notice],
    sites: Mapping[str, Site],
    *,
    announced: Collection[date],
    now: datetime,
    zone: tzinfo,
) -> list[Notice]:
    """The messages about times that are due and not decided on yet, by day and planned start.

    Parameters
    ----------
    states
        The published days on which visits may stand: those `announced`, those of visits `told`,
        and the days that these were moved to.
    told
        What was decided on before, of visits of the last `TOLD_BACK`.
    sites
        By id; what each of them wishes.
    announced
        Days whose visits are announced now; what becomes of announced visits is told of all days.
    now, zone
        The moment (aware), and where it is what day. A visit whose planned start is over is not
        announced any more.
    """
    today = now.astimezone(zone).date()
    before = _by_visit(told)
    found: list[tuple[date, int, Notice]] = []
    expected = expected_visits(states)
    for visit_id, visit in expected.items():
        is_over = visit.day < today or (
            visit.start_s is not None and seconds_of(visit.day, now, zone) >= visit.start_s
        )
        if is_over or not _is_wished(sites.get(visit.site_id)):
            continue
        made = _of_time(visit_id, visit, before.get(visit_id, ()), announced, today, now)
        if made is not None:
            found.append((visit.day, visit.start_s or 0, made))
    for visit_id, visit in visits_off(states, expected).items():
        made = _called_off(visit_id, visit, before.get(visit_id, ()), today, now)
        if made is not None and _is_wished(sites.get(visit.site_id)):
            found.append((visit.day, 0, made))
    return [one for *_, one in sorted(found, key=lambda row: (row[0], row[1], row[2].visit_id))]


def notice_of_record(
    record: VisitRecord, site: Site, told: Sequence[Notice], now: datetime, today: date
) -> Notice | None:
    """The message that a visit was done; None where none is due.

    Told once for each visit, if the site wishes it, something was done, and the record is not so
    old that it comes from a book taken in afterwards.
    """
    own = [one for one in told if one.kind is NoticeKind.DONE and one.visit_id == record.visit_id]
    is_known = any(one.state is not NoticeState.DROPPED for one in own)
    is_wished = NoticeKind.DONE.wish in site.notices
    if is_known or not is_wished or record.skipped or not record.visit_id:
        return None
    if record.day < today - LATE_RECORD:
        return None
    return Notice(
        record.visit_id, NoticeKind.DONE, _next_number(own), record.site_id, record.day, now, now
    )


def _is_wished(site: Site | None) -> bool:
    return site is not None and NoticeKind.DAY_BEFORE.wish in site.notices


def _of_time(
    visit_id: str,
    visit: Expected,
    before: Sequence[Notice],
    announced: Collection[date],
    today: date,
    now: datetime,
) -> Notice | None:
    """What is due about the time of one visit, after what was decided on before.

    One that was called off and takes place after all is announced like any other, today too.
    """
    last, number = _last_heard(before), _next_number(before)
    if any(one.state is NoticeState.WAITING and one.day == visit.day for one in before):
        return None
    if last is not None and last.kind is not NoticeKind.CALLED_OFF:
        if last.day == visit.day:
            return None
        return Notice(
            visit_id, NoticeKind.MOVED, number, visit.site_id, visit.day, now, now, last.day
        )
    is_announced = visit.day in announced or (last is not None and visit.day == today)
    if not is_announced or visit.start_s is None:
        return None
    return Notice(visit_id, NoticeKind.DAY_BEFORE, number, visit.site_id, visit.day, now, now)


def _called_off(
    visit_id: str, visit: Expected, before: Sequence[Notice], today: date, now: datetime
) -> Notice | None:
    """The message that a visit does not take place, where the customer still counts on it."""
    last = _last_heard(before)
    if last is None or last.kind is NoticeKind.CALLED_OFF or last.day < today:
        return None
    kind, number = NoticeKind.CALLED_OFF, _next_number(before)
    if any(one.state is NoticeState.WAITING and one.kind is kind for one in before):
        return None
    return Notice(visit_id, kind, number, visit.site_id, visit.day, now, now, last.day)


def _last_heard(before: Sequence[Notice]) -> Notice | None:
    """The last message that may have arrived."""
    return max((one for one in before if one.tries > 0), key=lambda one: one.number, default=None)


def _by_visit(told: Iterable[Notice]) -> dict[str, list[Notice]]:
    found: dict[str, list[Notice]] = {}
    for one in told:
        if one.kind in OF_A_TIME:
            found.setdefault(one.visit_id, []).append(one)
    return found


def _next_number(own: Sequence[Notice]) -> int:
    return 1 + max((one.number for one in own), default=0)
