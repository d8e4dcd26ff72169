"""Which messages to customers are due, from what was published and what was told already.

A customer who wishes so is told once of a visit when to expect it, and once of each further day
that it is moved to afterwards; and once that it was done. What was tried may have arrived, and
counts as told of a move, whatever became of it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo

from dispatch.day.moments import seconds_of
from dispatch.day.state import DayState, StopState
from dispatch.notices.notice import Notice, NoticeKind, NoticeState
from dispatch.records.record import VisitRecord
from dispatch.sites import Site

TOLD_BACK = timedelta(days=14)  # how long an announced visit is watched for a move; own choice
LATE_RECORD = timedelta(days=3)  # a phone may be days late; an older book of records tells nobody
OF_A_TIME = frozenset({NoticeKind.DAY_BEFORE, NoticeKind.MOVED})


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
        Days whose visits are announced now; moves of announced visits are told of all days.
    now, zone
        The moment (aware), and where it is what day. A visit whose planned start is over is not
        announced any more.
    """
    today = now.astimezone(zone).date()
    before = _by_visit(told)
    found: list[tuple[date, int, Notice]] = []
    for visit_id, visit in expected_visits(states).items():
        site = sites.get(visit.site_id)
        if site is None or NoticeKind.DAY_BEFORE.wish not in site.notices:
            continue
        is_over = visit.day < today or (
            visit.start_s is not None and seconds_of(visit.day, now, zone) >= visit.start_s
        )
        if is_over:
            continue
        made = _of_time(visit_id, visit, before.get(visit_id, ()), announced, now)
        if made is not None:
            found.append((visit.day, visit.start_s or 0, made))
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


def _of_time(
    visit_id: str,
    visit: Expected,
    before: Sequence[Notice],
    announced: Collection[date],
    now: datetime,
) -> Notice | None:
    """What is due about the time of one visit, after what was decided on before."""
    heard = [one for one in before if one.tries > 0]
    is_waiting = any(one.state is NoticeState.WAITING and one.day == visit.day for one in before)
    if heard:
        last = max(heard, key=lambda one: (one.kind is NoticeKind.MOVED, one.number))
        if last.day == visit.day or is_waiting:
            return None
        number = _next_number([one for one in before if one.kind is NoticeKind.MOVED])
        return Notice(
            visit_id, NoticeKind.MOVED, number, visit.site_id, visit.day, now, now, last.day
        )
    if visit.day not in announced or visit.start_s is None or is_waiting:
        return None
    number = _next_number([one for one in before if one.kind is NoticeKind.DAY_BEFORE])
    return Notice(visit_id, NoticeKind.DAY_BEFORE, number, visit.site_id, visit.day, now, now)


def _by_visit(told: Iterable[Notice]) -> dict[str, list[Notice]]:
    found: dict[str, list[Notice]] = {}
    for one in told:
        if one.kind in OF_A_TIME:
            found.setdefault(one.visit_id, []).append(one)
    return found


def _next_number(own: Sequence[Notice]) -> int:
    return 1 + max((one.number for one in own), default=0)
