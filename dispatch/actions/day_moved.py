"""Visits that repairs moved to another day or called off: no plan takes that back."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session

from dispatch.clock import IsoWeek
from dispatch.day.events import DayEvent, EventKind
from dispatch.day.state import DayState, StopState, fold, gone_of
from dispatch.day.work import Revision, Work
from dispatch.store.days import read_day_events, read_published_days, read_revisions

NEAR_DAYS = 14  # days from which a visit may be moved to another


@dataclass(frozen=True, slots=True)
class Moved:
    """A visit that a repair moved, from which day to which."""

    work: Work
    was_on: date
    day: date


@dataclass(frozen=True, slots=True)
class Settled:
    """What a repair of `was_on` did with a visit: moved to `to_day`, or called off (None)."""

    was_on: date
    to_day: date | None


def repaired_away(state: DayState, events: Iterable[DayEvent]) -> set[str]:
    """The visits that a repair moved to another day or cancelled, and no plan brings back.

    `events` are those of the day's history. What a publication took out because the plan had it
    elsewhere may come back with the plan.
    """
    by = {one.visit_id: event.kind for event in events for one in gone_of(event)}
    return {
        visit_id
        for visit_id, one in state.visits.items()
        if one.state in (StopState.MOVED, StopState.CANCELLED)
        and by.get(visit_id) is EventKind.REPAIRED
    }


def moved_to(session: Session, days: Collection[date]) -> list[Moved]:
    """Visits that repairs of other days moved to any of `days`, in the order of those days."""
    found = list[Moved]()
    for other in read_published_days(session):
        if not any(0 < abs((other - day).days) <= NEAR_DAYS for day in days):
            continue
        events = read_day_events(session, other)
        state = fold(other, read_revisions(session, other), events)
        away = repaired_away(state, events)
        found += [
            Moved(one.work, other, one.to_day)
            for one in state.visits.values()
            if one.to_day is not None and one.to_day in days and one.work.visit_id in away
        ]
    return sorted(found, key=lambda one: (one.day, one.work.visit_id))


def settled_by_repairs(session: Session, day: date) -> dict[str, Settled]:
    """What repairs of other days decided of visits, so that no plan of the week sends to `day`.

    They called them off, or brought them to another day, where they stand or will come up. One
    that has lost its place there since is free again; what repairs of `day` itself did with its
    visits is not told here.
    """
    others = [one for one in IsoWeek.of(day).days if one != day]
    found = dict[str, Settled]()
    for other in (one for one in read_published_days(session) if one in others):
        events = read_day_events(session, other)
        if not any(event.kind is EventKind.REPAIRED for event in events):
            continue
        revisions = read_revisions(session, other)
        state = fold(other, revisions, events)
        for visit_id in repaired_away(state, events):
            to_day = state.visits[visit_id].to_day
            if to_day is None or _comes_on(session, to_day, visit_id):
                found[visit_id] = Settled(other, to_day)
        found |= {one: Settled(other, other) for one in _brought(state, revisions, events)}
    own = read_day_events(session, day) if found else []
    mine = repaired_away(fold(day, read_revisions(session, day), own), own) if own else set[str]()
    mine |= {one.work.visit_id for one in moved_to(session, [day])} if found else set()
    return {visit_id: one for visit_id, one in found.items() if visit_id not in mine}


def _comes_on(session: Session, day: date, visit_id: str) -> bool:
    """Whether a visit that was moved to `day` stands there, or will when the day is published."""
    revisions = read_revisions(session, day)
    known = fold(day, revisions, read_day_events(session, day)).visits.get(visit_id)
    return not revisions or (known is not None and known.technician_id is not None)


def _brought(
    state: DayState, revisions: Iterable[Revision], events: Iterable[DayEvent]
) -> set[str]:
    """The visits that stand in routes of a day by a repair, and were not published with them."""
    said = {event.number for event in events if event.kind is EventKind.PUBLISHED}
    given = {one.technician_id: one.visit_ids for one in revisions if one.number in said}
    published = {visit_id for own in given.values() for visit_id in own}
    here = {visit_id for visit_id, one in state.visits.items() if one.technician_id is not None}
    return here - published
