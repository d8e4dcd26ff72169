"""The day: publish it, take in what happens, see where it stands, repair it.

Each function is one thing that a person or a phone does, inside the caller's transaction.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from sqlmodel import Session

from dispatch.actions.day_elsewhere import move_span
from dispatch.actions.day_events import Outcome, Taken, add_events
from dispatch.actions.day_moved import Moved, moved_to
from dispatch.actions.day_now import (
    DayNow,
    StopNow,
    TechnicianNow,
    day_now,
    raise_alarms,
    state_at,
)
from dispatch.actions.day_publish import publish_day
from dispatch.actions.day_repair import Offer, repair_options, urgent_stop
from dispatch.actions.day_take import take_option
from dispatch.actions.published_day import read_day
from dispatch.actions.week_publish import publish_week
from dispatch.day.events import DayEvent
from dispatch.day.work import Revision
from dispatch.errors import NotFound
from dispatch.settings import Settings
from dispatch.store.days import read_day_events, read_published_days, read_revisions
from dispatch.words import _

__all__ = [
    "DayNow",
    "Moved",
    "Offer",
    "Outcome",
    "StopNow",
    "Taken",
    "TechnicianNow",
    "add_events",
    "day_now",
    "history",
    "move_span",
    "moved_visits",
    "publish_day",
    "publish_week",
    "published_days",
    "raise_alarms",
    "read_day",
    "repair_options",
    "revisions_of",
    "route_now",
    "state_at",
    "take_option",
    "urgent_stop",
]


def published_days(session: Session) -> list[date]:
    """The days that were published, earliest first."""
    return read_published_days(session)


def route_now(
    session: Session,
    settings: Settings,  # noqa: ARG001 - as every action of the day
    day: date,
    technician_id: str,
) -> Revision:
    """A technician's route of `day` at its newest revision, with what its visits ask for.

    Raises
    ------
    NotFound
        When nothing was published for the technician on that day.
    """
    return revisions_of(session, day, technician_id)[-1]


def revisions_of(session: Session, day: date, technician_id: str) -> list[Revision]:
    """Every revision of a technician's route of `day`, the first one first.

    Raises
    ------
    NotFound
        When nothing was published for the technician on that day.
    """
    found = read_revisions(session, day, technician_id)
    if not found:
        raise NotFound(
            _(
                "No route of {day} was published for technician '{technician}': publish the "
                "day, or choose another."
            ).format(day=day, technician=technician_id),
            command=f"dispatch day publish {day}",
        )
    return found


def history(
    session: Session,
    settings: Settings,  # noqa: ARG001 - as every action of the day
    day: date,
    *,
    after: int = 0,
) -> list[DayEvent]:
    """What happened on `day`, in the order in which it was learnt; after number `after` alone."""
    return read_day_events(session, day, after=after)


def moved_visits(session: Session, days: Collection[date]) -> list[Moved]:
    """Visits that repairs moved to any of `days` and that are not published there yet.

    They come into the routes when their day is published.
    """
    published = set(read_published_days(session))
    known = {day: read_day(session, day).visits for day in days if day in published}
    return [
        one for one in moved_to(session, days) if one.work.visit_id not in known.get(one.day, ())
    ]
