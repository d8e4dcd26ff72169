"""Days drawn by hand: places on a line, a minute apart, and technicians who drive along it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, date, timedelta
from typing import Any
from uuid import UUID

import numpy as np

from dispatch.clock import parse_time
from dispatch.day.events import DayEvent, EventKind
from dispatch.day.moments import moment_of
from dispatch.day.rest import RepairPrices
from dispatch.day.situation import Situation, situation
from dispatch.day.standing import Roads
from dispatch.day.state import DayState, fold
from dispatch.day.triggers import RunningLate, Trigger
from dispatch.day.work import Revision, Work
from dispatch.planning.plan import Route, Stop
from dispatch.planning.problem import Cell
from dispatch.technicians import Shift
from dispatch.windows import ALL_DAY, TimeWindow

DAY = date(2026, 11, 30)  # a Monday
MINUTE = 60
PLACES = 40  # on the line; place n is n minutes from place 0


def line_roads() -> Roads:
    """Site n stands at place n of the line; everybody starts and ends at place 0."""
    place = np.arange(PLACES, dtype=np.int64)
    drive_s = np.abs(place[:, None] - place[None, :]) * MINUTE
    return Roads({f"site:S{n}": n for n in range(PLACES)}, drive_s, drive_s)


def truck(who: str, shift: str = "08:00-16:00", **more: Any) -> Cell:
    """A technician's whole day."""
    start, end = (parse_time(text) for text in shift.split("-"))
    return Cell(who, f"Invented {who}", DAY, Shift(start, end), 0, 0, **more)


def work(site: int, minutes: int = 30, window: str = "", **more: Any) -> Work:
    """A visit at site `site`."""
    bounds = [parse_time(text) for text in window.split("-")] if window else []
    windows = (TimeWindow(*bounds),) if bounds else ALL_DAY
    return Work(f"S{site}/1", f"S{site}", minutes * MINUTE, windows, **more)


def revision(who: str, works: Sequence[Work], start: str = "08:00", number: int = 1) -> Revision:
    """A route along the line, as it would be driven from `start` without waiting or a meal."""
    now, here, stops = parse_time(start), 0, list[Stop]()
    for one in works:
        place = int(one.site_id[1:])
        leg = abs(place - here) * MINUTE
        now, here = now + leg, place
        stops.append(Stop(one.visit_id, one.site_id, leg, leg, now, now, now + one.service_s))
        now += one.service_s
    back = here * MINUTE
    drive = sum(stop.drive_s for stop in stops) + back
    service = sum(one.service_s for one in works)
    route = Route(
        who, DAY, tuple(stops), parse_time(start), now + back, drive, drive, service, 0, back, back
    )
    return Revision(1, number, route, tuple(works))


def event(
    number: int,
    kind: EventKind,
    at: str = "08:00",
    who: str | None = None,
    visit: str | None = None,
    **data: Any,
) -> DayEvent:
    """An event of the day; its id is its number."""
    moment = moment_of(DAY, parse_time(at), UTC)
    return DayEvent(
        id=str(UUID(int=number)),
        day=DAY,
        kind=kind,
        at=moment,
        received_at=moment + timedelta(seconds=1),
        who=who or "office",
        technician_id=who,
        visit_id=visit,
        data=data,
        number=number,
    )


def day_of(routes: Mapping[str, Sequence[Work]], *events: DayEvent) -> DayState:
    """A day published with these routes, and what happened on it."""
    revisions = [revision(who, works) for who, works in routes.items()]
    published = event(1, EventKind.PUBLISHED, "07:00", "T1")
    return fold(DAY, revisions, [published, *events])


def upset(
    state: DayState,
    trigger: Trigger | None = None,
    at: str = "07:00",
    cells: Sequence[Cell] = (),
    threshold_min: int = 15,
) -> Situation:
    """The day with what happened to it."""
    return situation(
        state,
        cells or [truck(who) for who in sorted(state.revisions)],
        line_roads(),
        parse_time(at),
        UTC,
        trigger or RunningLate(),
        RepairPrices(threshold_s=threshold_min * MINUTE),
    )
