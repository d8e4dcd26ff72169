"""Small weeks to plan, written down in a line or two."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from dispatch.clock import IsoWeek, parse_span, parse_time
from dispatch.planning.placed import Placed
from dispatch.planning.plan import WeekPlan
from dispatch.planning.problem import Cell, Demand, Problem, Seconds
from dispatch.planning.search import Assignment, search
from dispatch.planning.week import write_plan
from dispatch.sites import ANY_TIME, TimeWindow
from dispatch.technicians import Break, Shift
from dispatch.upkeep import Part, UpkeepDue

WEEK = IsoWeek(2026, 49)
MON, TUE, WED, THU, FRI = WEEK.days[:5]
MINUTE = 60
NOON = Break(30, parse_time("11:00"), parse_time("13:00"))


def on_a_line(*minutes: float) -> Seconds:
    """Drive times between places on one straight road, given by their minutes from its end."""
    at = np.array(minutes)
    return np.asarray(np.abs(at[:, None] - at[None, :]) * MINUTE, dtype=np.int64)


def cell(
    technician: str = "T1",
    day: date = MON,
    hours: str = "07:00-15:00",
    *,
    start: int = 0,
    skills: Sequence[str] = (),
    payload_kg: float = 400.0,
    meal: Break | None = None,
) -> Cell:
    """A truck-day that starts and ends at one place."""
    return Cell(
        technician_id=technician,
        technician_name=technician,
        day=day,
        shift=Shift(*parse_span(hours)),
        start=start,
        end=start,
        skills=frozenset(skills),
        payload_kg=payload_kg,
        meal=meal,
    )


def demand(
    site: str,
    place: int,
    *days: date | tuple[date, ...],
    minutes: int = 30,
    window: str = "",
    skills: Sequence[str] = (),
    usual: str | None = None,
    locked: bool = False,
    weekdays: Sequence[int] = (),
    upkeep: Sequence[UpkeepDue] = (),
    load_kg: float = 0.0,
) -> Demand:
    """What a site is owed: any one of `days`, or one tuple of days for several visits."""
    patterns = tuple(day if isinstance(day, tuple) else (day,) for day in (days or (MON,)))
    bounds = [parse_span(one) for one in window.split()]
    return Demand(
        site_id=site,
        visit_ids=tuple(f"{site}/{WEEK}/{n + 1}" for n in range(len(patterns[0]))),
        place=place,
        patterns=patterns,
        service_s=minutes * MINUTE,
        next_visit_on=WEEK.next.monday,
        windows=tuple(TimeWindow(*one) for one in bounds) or (ANY_TIME,),
        skills=frozenset(skills),
        usual_technician_id=usual,
        technician_locked=locked,
        usual_weekdays=frozenset(weekdays),
        upkeep=tuple(upkeep),
        load_kg=load_kg,
    )


def upkeep(
    site: str,
    kind: str = "sand-change",
    *,
    due: date = MON,
    latest: date = FRI,
    minutes: int = 60,
    skill: str | None = "media",
    mass_kg: float = 0.0,
) -> UpkeepDue:
    """Upkeep that may be done at any time before its latest day."""
    return UpkeepDue(
        site_id=site,
        kind=kind,
        title=kind.replace("-", " ").capitalize(),
        earliest_on=date(2026, 1, 5),
        due_on=due,
        latest_on=latest,
        minutes=minutes,
        skill=skill,
        parts=(Part("bags", 1, mass_kg),) if mass_kg else (),
    )


def problem(drive_s: Seconds, cells: Sequence[Cell], demands: Sequence[Demand]) -> Problem:
    """A week; a metre is a second here."""
    return Problem(
        week=WEEK,
        cells=tuple(cells),
        demands=tuple(demands),
        place_ids=tuple(str(n) for n in range(len(drive_s))),
        drive_s=drive_s,
        drive_m=drive_s,
    )


def planned(week: Problem, seed: int = 1, iterations: int = 300) -> WeekPlan:
    """The plan that the search finds, as written down, whether or not it keeps the rules."""
    return write_plan(week, search(week, seed=seed, iterations=iterations), seed)


def by_hand(week: Problem, *orders: Sequence[int]) -> WeekPlan:
    """A plan with the first visits of the numbered demands in this order, cell by cell."""
    routes = tuple(tuple(Placed(n, 0, ()) for n in order) for order in orders)
    routes += ((),) * (len(week.cells) - len(routes))
    return write_plan(week, Assignment(routes, 0, 0), seed=0)


def where(plan: WeekPlan) -> dict[str, tuple[str, date]]:
    """Technician and day of every placed visit."""
    return {
        stop.visit_id: (route.technician_id, route.day)
        for route in plan.routes
        for stop in route.stops
    }


def without_stop(plan: WeekPlan, visit_id: str) -> WeekPlan:
    """The plan with a stop gone, as if lost."""
    routes = tuple(
        replace(route, stops=tuple(s for s in route.stops if s.visit_id != visit_id))
        for route in plan.routes
    )
    return replace(plan, routes=routes)
