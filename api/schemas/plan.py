"""JSON of a week plan."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from pydantic import BaseModel

from dispatch.measures import measured
from dispatch.planning.plan import Change, PutOff, Route, Unplaced, WeekPlan


class StopOut(BaseModel):
    """A visit with its place and times in a route; drive is the leg that leads here."""

    number: int
    visit_id: str
    site_id: str
    drive_s: int
    drive_m: int
    arrive_s: int
    start_s: int
    leave_s: int
    upkeep_ids: list[str]


class RouteOut(BaseModel):
    """One technician's stops of one day; drive counts the return."""

    technician_id: str
    day: date
    start_s: int
    end_s: int
    drive_s: int
    drive_m: int
    service_s: int
    return_drive_s: int
    return_drive_m: int
    break_after: int | None
    break_start_s: int | None
    break_s: int
    load_kg: float
    chemicals_kg: float
    overtime_s: int
    supply_after: int | None
    supply_start_s: int | None
    supply_s: int
    supply_drive_s: int
    supply_drive_m: int
    stops: list[StopOut]

    @classmethod
    def of(cls, route: Route) -> RouteOut:
        """The JSON of a route."""
        return cls(
            technician_id=route.technician_id,
            day=route.day,
            start_s=route.start_s,
            end_s=route.end_s,
            drive_s=route.drive_s,
            drive_m=route.drive_m,
            service_s=route.service_s,
            return_drive_s=route.return_drive_s,
            return_drive_m=route.return_drive_m,
            break_after=route.break_after,
            break_start_s=route.break_start_s,
            break_s=route.break_s,
            load_kg=route.load_kg,
            chemicals_kg=route.chemicals_kg,
            overtime_s=route.overtime_s,
            supply_after=route.supply_after,
            supply_start_s=route.supply_start_s,
            supply_s=route.supply_s,
            supply_drive_s=route.supply_drive_s,
            supply_drive_m=route.supply_drive_m,
            stops=[
                StopOut(
                    number=number,
                    visit_id=stop.visit_id,
                    site_id=stop.site_id,
                    drive_s=stop.drive_s,
                    drive_m=stop.drive_m,
                    arrive_s=stop.arrive_s,
                    start_s=stop.start_s,
                    leave_s=stop.leave_s,
                    upkeep_ids=list(stop.upkeep_ids),
                )
                for number, stop in enumerate(route.stops, start=1)
            ],
        )


class WeekPlanOut(BaseModel):
    """A week: its routes and everything that was due and is not in them."""

    week: str
    routes: list[RouteOut]
    unplaced: list[Unplaced]
    put_off: list[PutOff]
    changes: list[Change]
    cost_s: int
    drive_s: int
    service_s: int
    seed: int
    iterations: int
    problem_digest: str

    @classmethod
    def of(cls, plan: WeekPlan) -> WeekPlanOut:
        """The JSON of a week plan."""
        return cls(
            week=str(plan.week),
            routes=[RouteOut.of(route) for route in plan.routes],
            unplaced=[replace(one, reason=measured(one.reason)) for one in plan.unplaced],
            put_off=[replace(one, reason=measured(one.reason)) for one in plan.put_off],
            changes=list(plan.changes),
            cost_s=plan.cost_s,
            drive_s=plan.drive_s,
            service_s=plan.service_s,
            seed=plan.seed,
            iterations=plan.iterations,
            problem_digest=plan.problem_digest,
        )
