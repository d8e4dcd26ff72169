"""All work outside the rhythm: one-off work of the book, and what records ask for by themselves.

A record that names a visit of such work says that the visit took place.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta

from sqlmodel import Session

from dispatch.clock import IsoWeek
from dispatch.one_offs import OneOff
from dispatch.records.follow_ups import FollowUp, FollowUpKind
from dispatch.service_plan import Priority, VisitKind
from dispatch.store.book import read_one_offs
from dispatch.store.one_off_stops import read_recorded_days
from dispatch.store.record_lists import read_follow_ups
from dispatch.words import N_, _

TITLES = {
    FollowUpKind.CLOSE_POOL: N_("See to the drain cover; the pool is closed"),
    FollowUpKind.UNSAFE_WATER: N_("Test and treat the water again"),
    FollowUpKind.GREEN_WATER: N_("Bring the green water back"),
    FollowUpKind.PART: N_("Put in the part"),
    FollowUpKind.REPAIR: "Repair",
}
FIRST = frozenset({FollowUpKind.CLOSE_POOL, FollowUpKind.UNSAFE_WATER})  # somebody could be hurt
MAY_COME_EARLY = frozenset({FollowUpKind.PART, FollowUpKind.REPAIR})


def all_work(session: Session, *, settled: bool = False) -> list[OneOff]:
    """One-off work by id, finished or not, then the follow-ups of records by id.

    Settled follow-ups are left out unless asked for, to tell what older visits were made for.
    `visited_on` holds the days that were noted by hand and those that records tell of.
    """
    asked = sorted(read_follow_ups(session, all_of_them=settled), key=lambda one: one.id)
    return _with_records(session, [*read_one_offs(session), *map(work_of, asked)], date.max)


def work_before(session: Session, week: IsoWeek) -> list[OneOff]:
    """`all_work` as if no visit of `week` had been made nor follow-up been settled in it.

    What was first asked for in the week and is settled again is left out as ever.
    """
    asked = [
        replace(one, settled_on=None)
        for one in sorted(read_follow_ups(session, all_of_them=True), key=lambda one: one.id)
        if one.settled_on is None or one.noted_on < week.monday <= one.settled_on
    ]
    book = [_as_before(work, week) for work in read_one_offs(session)]
    return _with_records(session, [*book, *map(work_of, asked)], week.monday)


def _with_records(session: Session, works: Iterable[OneOff], until: date) -> list[OneOff]:
    """The works with the visits that records tell of, before the day `until`."""
    recorded = read_recorded_days(session)
    return [
        _visited(work, tuple(day for day in recorded.get(work.id, ()) if day < until))
        for work in works
    ]


def _as_before(work: OneOff, week: IsoWeek) -> OneOff:
    """The work without its visits from `week` on; what the office has finished stays finished."""
    earlier = tuple(day for day in work.visited_on if day < week.monday)
    done_on = work.done_on if earlier == work.visited_on else None
    return replace(work, visited_on=earlier, done_on=done_on)


def work_of(asked: FollowUp) -> OneOff:
    """A follow-up of a record as work to be planned: one visit, on its day.

    A part or a repair may come from the day after on; water is looked at on its day, when the
    treatment had its time.
    """
    next_day = asked.noted_on + timedelta(days=1)
    return OneOff(
        id=asked.id,
        site_id=asked.site_id,
        title=_(TITLES[asked.kind]),
        kind=VisitKind.FOLLOW_UP,
        first_day=min(next_day, asked.due_on) if asked.kind in MAY_COME_EARLY else asked.due_on,
        last_day=asked.due_on,
        minutes=(asked.minutes,),
        priority=Priority.HIGH if asked.urgent or asked.kind in FIRST else Priority.NORMAL,
        note=asked.reason,
        done_on=asked.settled_on,
    )


def _visited(work: OneOff, days: tuple[date, ...]) -> OneOff:
    for day in days:
        work = work.visited(day)
    return work
