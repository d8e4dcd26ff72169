"""The demo's present week: published as far as today, and told as if all had kept to the plan."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime
from typing import TYPE_CHECKING, Any
from uuid import NAMESPACE_URL, uuid5

from dispatch.clock import IsoWeek
from dispatch.day.events import DayEvent, EventKind
from dispatch.day.moments import moment_of
from dispatch.settings import Settings

if TYPE_CHECKING:
    from sqlalchemy import Engine
    from sqlmodel import Session

    from dispatch.day.work import Revision
    from dispatch.planning.plan import Route, Stop

WHO = "the demo"
PUBLISHED_S = 6 * 3600  # of a day; before anybody leaves
ROUTINE = ("skimmed", "brushed", "baskets")


def live(engine: Engine, settings: Settings) -> None:
    """Publish the days of the present week up to today, and tell what has happened on them so far.

    A day on which anything was entered or repaired is left alone: somebody plays with it.
    """
    from dispatch.actions import day as days
    from dispatch.actions.read_plan import planned_weeks, week_plan
    from dispatch.store.db import transaction

    today, now = settings.today(), settings.now()
    week = IsoWeek.of(today)
    with transaction(engine) as session:
        if week not in planned_weeks(session):
            return
        planned = {route.day for route in week_plan(session, week).routes if route.day <= today}
        published = set(days.published_days(session))
        for day in sorted(planned):
            if day not in published:
                at = min(now, moment_of(day, PUBLISHED_S, settings.zone))
                days.publish_day(session, settings, day, who=WHO, at=at)
            history = days.history(session, settings, day)
            if all(event.kind is EventKind.PUBLISHED for event in history):
                _tell(session, settings, day, days.read_day(session, day).revisions.values(), now)


def _tell(
    session: Session, settings: Settings, day: date, made: Iterable[Revision], now: datetime
) -> None:
    """What each technician has entered until `now`: every start and end at its planned time."""
    from dispatch.actions.day import add_events
    from dispatch.actions.take_in import take_in_records

    events, records = list[DayEvent](), list[Mapping[str, Any]]()
    for one in made:
        events += [event for event in _events(settings, one.route) if event.at <= now]
        records += [
            _record(settings, one.route, stop)
            for stop in one.route.stops
            if moment_of(day, stop.leave_s, settings.zone) <= now
        ]
    add_events(session, settings, day, sorted(events, key=lambda event: event.at))
    take_in_records(session, settings, records)


def _events(settings: Settings, route: Route) -> Iterator[DayEvent]:
    if not route.stops:
        return
    yield _event(settings, route, EventKind.SHIFT_STARTED, route.start_s)
    for stop in route.stops:
        yield _event(settings, route, EventKind.STARTED, stop.start_s, stop.visit_id)
        yield _event(settings, route, EventKind.DONE, stop.leave_s, stop.visit_id)
    yield _event(settings, route, EventKind.SHIFT_ENDED, route.end_s)


def _event(
    settings: Settings, route: Route, kind: EventKind, at_s: int, visit_id: str | None = None
) -> DayEvent:
    who, at = route.technician_id, moment_of(route.day, at_s, settings.zone)
    return DayEvent(_id(route, kind, visit_id), route.day, kind, at, at, who, who, visit_id)


def _record(settings: Settings, route: Route, stop: Stop) -> Mapping[str, Any]:
    return {
        "id": _id(route, "record", stop.visit_id),
        "site_id": stop.site_id,
        "technician_id": route.technician_id,
        "day": route.day.isoformat(),
        "visit_id": stop.visit_id,
        "arrived_at": moment_of(route.day, stop.start_s, settings.zone).isoformat(),
        "left_at": moment_of(route.day, stop.leave_s, settings.zone).isoformat(),
        "work": list(ROUTINE),
        "upkeep": [{"kind": one.split("/")[-2]} for one in stop.upkeep_ids],
    }


def _id(route: Route, what: str, visit_id: str | None) -> str:
    return str(uuid5(NAMESPACE_URL, f"demo {route.day} {route.technician_id} {what} {visit_id}"))
