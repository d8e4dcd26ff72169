"""A published day as it stands: its revisions with the events that have happened since."""

from __future__ import annotations

from datetime import date

from sqlmodel import Session

from dispatch.day.state import DayState, fold
from dispatch.errors import NotFound
from dispatch.store.days import read_day_events, read_events_of, read_revisions
from dispatch.words import N_, _

NOT_PUBLISHED = N_("{day} has not been published yet: publish it first.")


def read_day(session: Session, day: date, number: int | None = None) -> DayState:
    """The state of `day`, now or as it was after its event `number`.

    Raises
    ------
    NotFound
        When the day was never published, or has no such event.
    """
    revisions = read_revisions(session, day)
    if not revisions:
        raise _not_published(day)
    events = read_day_events(session, day, up_to=number)
    if number is not None and (not events or events[-1].number != number):
        raise NotFound(
            _("The history of {day} has no event {number}.").format(day=day, number=number),
            command=f"dispatch day history {day}",
        )
    return fold(day, revisions, events)


def read_day_around(session: Session, day: date, technician_id: str, visit_id: str) -> DayState:
    """What `read_day` says of one visit, of this technician and of all who ever had the visit.

    Other visits and technicians are left out, so that it takes a hundredth of the time on a day
    of hundreds of routes. A visit that the day never had is not in it.

    Raises
    ------
    NotFound
        When the day was never published.
    """
    revisions = read_revisions(session, day)
    if not revisions:
        raise _not_published(day)
    concerned = {technician_id} | {
        one.technician_id
        for one in revisions
        if any(work.visit_id == visit_id for work in one.works)
    }
    own = [one for one in revisions if one.technician_id in concerned]
    return fold(day, own, read_events_of(session, day, concerned, [visit_id]))


def _not_published(day: date) -> NotFound:
    return NotFound(_(NOT_PUBLISHED).format(day=day), command=f"dispatch day publish {day}")
