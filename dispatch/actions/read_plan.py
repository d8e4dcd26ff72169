"""Reading what was planned: the week, a technician's day, workloads, lines on the map."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlmodel import Session

from dispatch.actions.day_sheet import DaySheet, empty_sheet, full_sheet
from dispatch.actions.due import closed_days, holiday_names
from dispatch.actions.open_work import all_work
from dispatch.actions.route_lines import route_lines
from dispatch.clock import IsoWeek
from dispatch.planning.plan import Route, WeekPlan
from dispatch.settings import Settings
from dispatch.store.book import read_holds, read_sites, read_technician, read_technicians
from dispatch.store.plans import read_plan, read_plan_upkeep, read_planned_weeks
from dispatch.technicians import Shift, Technician, unknown_technician
from dispatch.upkeep import UpkeepDue

__all__ = ["Workload", "day_sheet", "planned_weeks", "route_lines", "week_plan", "workloads"]


@dataclass(frozen=True, slots=True)
class Workload:
    """One technician's day, in seconds; service includes upkeep.

    `supply_s` is the time at the supply stop, of which the way there is no part.
    """

    technician_id: str
    name: str
    day: date
    service_s: int
    drive_s: int
    break_s: int
    stops: int
    shift_s: int
    wait_s: int
    supply_s: int = 0


def week_plan(session: Session, week: IsoWeek) -> WeekPlan:
    """The plan of `week`; raises NotFound when there is none."""
    return read_plan(session, week)


def planned_weeks(session: Session) -> list[IsoWeek]:
    """Weeks that have a plan, earliest first."""
    return read_planned_weeks(session)


def plan_upkeep(session: Session, week: IsoWeek) -> dict[str, UpkeepDue]:
    """Upkeep by id as it was when `week` was planned; empty when there is no plan."""
    return read_plan_upkeep(session, week)


def day_sheet(session: Session, settings: Settings, technician_id: str, day: date) -> DaySheet:
    """What `technician_id` does on `day`, in order, with all that is needed at each gate.

    Raises
    ------
    NotFound
        When there is no such technician, or the week of the day has not been planned.
    """
    technician = _technician(session, technician_id)
    week = IsoWeek.of(day)
    for route in read_plan(session, week).routes:
        if (route.technician_id, route.day) == (technician_id, day) and route.stops:
            sites = {site.id: site for site in read_sites(session)}
            works = {work.id: work for work in all_work(session, settled=True)}
            upkeep = read_plan_upkeep(session, week)
            return full_sheet(technician, route, sites, upkeep, works, read_holds(session))
    return empty_sheet(technician, day, holiday_names(settings, week))


def workloads(session: Session, settings: Settings, week: IsoWeek) -> list[Workload]:
    """Workload of each technician and day with a shift or a route, by technician and day.

    On a day on which the company is closed nobody has a shift.

    Raises
    ------
    NotFound
        When the week has not been planned.
    """
    routes = {(route.technician_id, route.day): route for route in read_plan(session, week).routes}
    closed = closed_days(settings, week)
    return [
        _workload(technician, day, shift, routes.get((technician.id, day)))
        for technician in read_technicians(session)
        for day in week.days
        if (shift := None if day in closed else technician.shift_on(day))
        or (technician.id, day) in routes
    ]


def _workload(
    technician: Technician, day: date, shift: Shift | None, route: Route | None
) -> Workload:
    return Workload(
        technician_id=technician.id,
        name=technician.name,
        day=day,
        service_s=route.service_s if route else 0,
        drive_s=route.drive_s if route else 0,
        break_s=route.break_s if route else 0,
        stops=len(route.stops) if route else 0,
        shift_s=shift.end_s - shift.start_s if shift else 0,
        wait_s=route.wait_s if route else 0,
        supply_s=route.supply_s if route else 0,
    )


def _technician(session: Session, technician_id: str) -> Technician:
    found = read_technician(session, technician_id)
    if found is None:
        raise unknown_technician(technician_id)
    return found
