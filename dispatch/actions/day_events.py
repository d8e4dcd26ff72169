"""Taking in what happened on a day, each thing once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from sqlmodel import Session

from dispatch.actions.published_day import NOT_PUBLISHED
from dispatch.day.events import BY_THE_OFFICE, OF_VISIT, DayEvent
from dispatch.settings import Settings
from dispatch.store.book import read_technician
from dispatch.store.days import add_day_events, read_known_events, read_revisions
from dispatch.words import _


class Outcome(StrEnum):
    """What became of an event that was sent."""

    NEW = "new"
    ALREADY = "already-there"
    REFUSED = "refused"


@dataclass(frozen=True, slots=True)
class Taken:
    """One event that was sent: what became of it, its number, or why it was refused."""

    id: str
    outcome: Outcome
    number: int = 0
    reason: str = ""


def add_events(
    session: Session,
    settings: Settings,  # noqa: ARG001 - as every action of the day
    day: date,
    events: Sequence[DayEvent],
) -> list[Taken]:
    """Add events to the history of `day`; the answers are in the order of the events.

    An event whose id is kept already counts once, however often it is sent. One that cannot be
    true (another day, an unknown visit or technician, an id that says something else) is refused
    with the reason, and the others are taken in all the same.
    """
    revisions = read_revisions(session, day)
    if not revisions:
        reason = _(NOT_PUBLISHED).format(day=day)
        return [Taken(one.id, Outcome.REFUSED, reason=reason) for one in events]
    known = read_known_events(session, {one.id for one in events})
    visits = {work.visit_id for one in revisions for work in one.works}
    routed = {one.technician_id for one in revisions}
    people = routed | _others(session, {one.technician_id for one in events} - routed)
    fresh: dict[str, DayEvent] = {}
    answers: dict[int, Taken] = {}
    for n, event in enumerate(events):
        earlier = known.get(event.id) or fresh.get(event.id)
        if earlier is None:
            reason = _why_refused(event, day, visits, people)
        else:
            reason = "" if _same(earlier, event) else _says_otherwise(event)
        if reason:
            answers[n] = Taken(event.id, Outcome.REFUSED, reason=reason)
        elif earlier is None:
            fresh[event.id] = event
        else:
            answers[n] = Taken(event.id, Outcome.ALREADY, number=earlier.number)
    numbers = {one.id: one.number for one in add_day_events(session, list(fresh.values()))}
    return [
        answers.get(n) or Taken(event.id, Outcome.NEW, number=numbers[event.id])
        for n, event in enumerate(events)
    ]


def _others(session: Session, ids: set[str | None]) -> set[str]:
    """Those of the ids that are technicians of the book."""
    return {one for one in ids if one is not None and read_technician(session, one) is not None}


def _why_refused(event: DayEvent, day: date, visits: set[str], people: set[str]) -> str:
    """Why an event cannot be taken in; empty when it can."""
    if event.day != day:
        return _("The event belongs to {day}, not to {other_day}: send it to that day.").format(
            day=event.day, other_day=day
        )
    if event.kind in BY_THE_OFFICE:
        return _("An event '{kind}' comes from publishing or repairing, not from a call.").format(
            kind=event.kind
        )
    if event.technician_id is not None and event.technician_id not in people:
        return _("There is no technician '{technician}': send the id from the day.").format(
            technician=event.technician_id
        )
    if event.kind in OF_VISIT and event.visit_id not in visits:
        return _("The visit '{visit}' was not due on {day}: send the id from the day.").format(
            visit=event.visit_id, day=day
        )
    return ""


def _same(one: DayEvent, other: DayEvent) -> bool:
    return _told(one) == _told(other)


def _told(event: DayEvent) -> tuple[object, ...]:
    """What an event tells, whenever and however often it arrives."""
    return (event.day, event.kind, event.at, event.technician_id, event.visit_id)


def _says_otherwise(event: DayEvent) -> str:
    return _(
        "The event {id} is kept already and says something else: make a new id for each "
        "thing that happens."
    ).format(id=event.id)
