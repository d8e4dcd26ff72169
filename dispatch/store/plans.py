"""Week plans as rows and back; a plan read is equal to the plan written."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import fields
from datetime import date
from typing import Any

from sqlalchemy import delete
from sqlmodel import Session, SQLModel

from dispatch.clock import IsoWeek
from dispatch.errors import NotFound
from dispatch.planning.plan import Broken, Change, PutOff, Route, Rule, Stop, Unplaced, WeekPlan
from dispatch.store.tables import (
    ChangeRow,
    PlanRow,
    PutOffRow,
    RouteRow,
    StopRow,
    UnplacedRow,
    UpkeepRow,
    read_among,
    read_rows,
    table_of,
    write_rows,
)
from dispatch.store.upkeep_causes import cause_dict, cause_of
from dispatch.upkeep import Part, UpkeepDue
from dispatch.words import _

Columns = Mapping[str, Any]
ROUTE_COLUMNS = tuple(one.name for one in fields(Route) if one.name != "stops")


def write_plan(
    session: Session, plan: WeekPlan, upkeep: Sequence[UpkeepDue], inputs_digest: str
) -> None:
    """Store the plan with the upkeep it was made with; a plan of the same week is replaced."""
    week = {"week": str(plan.week)}
    plans = table_of(PlanRow)
    session.execute(delete(plans).where(plans.c.week == str(plan.week)))
    write_rows(session, PlanRow, [_plan_columns(plan) | {"inputs_digest": inputs_digest}])
    write_rows(session, RouteRow, [week | _route_columns(*one) for one in enumerate(plan.routes)])
    write_rows(session, StopRow, [week | columns for columns in _all_stops(plan)])
    write_rows(
        session, UnplacedRow, [week | _unplaced_columns(*one) for one in enumerate(plan.unplaced)]
    )
    write_rows(
        session, PutOffRow, [week | _put_off_columns(*one) for one in enumerate(plan.put_off)]
    )
    write_rows(
        session, ChangeRow, [week | _change_columns(*one) for one in enumerate(plan.changes)]
    )
    write_rows(session, UpkeepRow, [week | upkeep_columns(one) for one in upkeep])


def read_plan(session: Session, week: IsoWeek) -> WeekPlan:
    """The plan of a week.

    Raises
    ------
    NotFound
        When the week has not been planned.
    """
    row = _plan_row(session, week)
    stops: dict[tuple[str, date], list[Stop]] = defaultdict(list)
    for stop in _of_week(session, StopRow, week):
        stops[stop["technician_id"], stop["day"]].append(_stop_of(stop))
    routes = sorted(_of_week(session, RouteRow, week), key=_position)
    unplaced = sorted(_of_week(session, UnplacedRow, week), key=_position)
    put_off = sorted(_of_week(session, PutOffRow, week), key=_position)
    changes = sorted(_of_week(session, ChangeRow, week), key=_position)
    return WeekPlan(
        week=week,
        routes=tuple(_route_of(one, stops[one["technician_id"], one["day"]]) for one in routes),
        unplaced=tuple(_unplaced_of(one) for one in unplaced),
        put_off=tuple(_put_off_of(one) for one in put_off),
        changes=tuple(_change_of(one) for one in changes),
        cost_s=row["cost_s"],
        seed=row["seed"],
        iterations=row["iterations"],
        problem_digest=row["problem_digest"],
    )


def read_plan_upkeep(session: Session, week: IsoWeek) -> dict[str, UpkeepDue]:
    """By its id, the upkeep that the plan of a week was made with."""
    upkeep = [upkeep_of(row) for row in _of_week(session, UpkeepRow, week)]
    return {one.id: one for one in upkeep}


def read_inputs_digest(session: Session, week: IsoWeek) -> str:
    """Digest of what the plan of a week was made from; raises NotFound without a plan."""
    return str(_plan_row(session, week)["inputs_digest"])


def read_planned_weeks(session: Session) -> list[IsoWeek]:
    """Weeks that have a plan, earliest first."""
    return [IsoWeek.parse(row["week"]) for row in read_rows(session, PlanRow)]


def _plan_row(session: Session, week: IsoWeek) -> Columns:
    rows = _of_week(session, PlanRow, week)
    if not rows:
        raise NotFound(
            _("There is no plan of week {week} yet: plan the week first.").format(week=week),
            command=f"dispatch plan {week}",
        )
    return rows[0]


def _of_week(session: Session, row: type[SQLModel], week: IsoWeek) -> Sequence[Columns]:
    return read_among(session, row, "week", [str(week)])


def _position(row: Columns) -> int:
    return int(row["position"])


def _plan_columns(plan: WeekPlan) -> dict[str, Any]:
    return {
        "week": str(plan.week),
        "cost_s": plan.cost_s,
        "seed": plan.seed,
        "iterations": plan.iterations,
        "problem_digest": plan.problem_digest,
    }


def _route_columns(position: int, route: Route) -> dict[str, Any]:
    return {"position": position} | {name: getattr(route, name) for name in ROUTE_COLUMNS}


def _route_of(row: Columns, stops: Sequence[Stop]) -> Route:
    return Route(stops=tuple(stops), **{name: row[name] for name in ROUTE_COLUMNS})


def _all_stops(plan: WeekPlan) -> list[dict[str, Any]]:
    return [
        {
            "technician_id": route.technician_id,
            "day": route.day,
            "position": position,
            "visit_id": stop.visit_id,
            "site_id": stop.site_id,
            "drive_s": stop.drive_s,
            "drive_m": stop.drive_m,
            "arrive_s": stop.arrive_s,
            "start_s": stop.start_s,
            "leave_s": stop.leave_s,
            "upkeep_ids": list(stop.upkeep_ids),
        }
        for route in plan.routes
        for position, stop in enumerate(route.stops)
    ]


def _stop_of(row: Columns) -> Stop:
    return Stop(
        visit_id=row["visit_id"],
        site_id=row["site_id"],
        drive_s=row["drive_s"],
        drive_m=row["drive_m"],
        arrive_s=row["arrive_s"],
        start_s=row["start_s"],
        leave_s=row["leave_s"],
        upkeep_ids=tuple(row["upkeep_ids"]),
    )


def _unplaced_columns(position: int, unplaced: Unplaced) -> dict[str, Any]:
    cells = [
        {
            "rule": str(cell.rule),
            "technician_id": cell.technician_id,
            "day": cell.day and cell.day.isoformat(),
            "amount": cell.amount,
            "detail": cell.detail,
        }
        for cell in unplaced.cells
    ]
    return {
        "position": position,
        "visit_id": unplaced.visit_id,
        "site_id": unplaced.site_id,
        "reason": unplaced.reason,
        "cells": cells,
    }


def _unplaced_of(row: Columns) -> Unplaced:
    cells = tuple(
        Broken(
            rule=Rule(cell["rule"]),
            technician_id=cell["technician_id"],
            day=cell["day"] and date.fromisoformat(cell["day"]),
            amount=cell["amount"],
            detail=cell["detail"],
        )
        for cell in row["cells"]
    )
    return Unplaced(row["visit_id"], row["site_id"], row["reason"], cells)


def _put_off_columns(position: int, put_off: PutOff) -> dict[str, Any]:
    return {
        "position": position,
        "upkeep_id": put_off.upkeep_id,
        "site_id": put_off.site_id,
        "title": put_off.title,
        "by": put_off.by,
        "late": put_off.late,
        "reason": put_off.reason,
    }


def _change_of(row: Columns) -> Change:
    return Change(row["visit_id"], row["site_id"], row["usual"], row["planned"], row["reason"])


def _put_off_of(row: Columns) -> PutOff:
    return PutOff(
        upkeep_id=row["upkeep_id"],
        site_id=row["site_id"],
        title=row["title"],
        by=row["by"],
        late=row["late"],
        reason=row["reason"],
    )


def _change_columns(position: int, change: Change) -> dict[str, Any]:
    return {
        "position": position,
        "visit_id": change.visit_id,
        "site_id": change.site_id,
        "usual": change.usual,
        "planned": change.planned,
        "reason": change.reason,
    }


def upkeep_columns(upkeep: UpkeepDue) -> dict[str, Any]:
    """Columns of upkeep, as in `UpkeepFields`."""
    return {
        "upkeep_id": upkeep.id,
        "site_id": upkeep.site_id,
        "kind": upkeep.kind,
        "title": upkeep.title,
        "earliest_on": upkeep.earliest_on,
        "due_on": upkeep.due_on,
        "latest_on": upkeep.latest_on,
        "minutes": upkeep.minutes,
        "skill": upkeep.skill,
        "parts": [
            {"name": part.name, "quantity": part.quantity, "mass_kg": part.mass_kg}
            for part in upkeep.parts
        ],
        "waste_kg": upkeep.waste_kg,
        "caution": upkeep.caution,
        "cause": upkeep.cause and cause_dict(upkeep.cause),
        "set_for": upkeep.set_for,
        "gross_minutes": upkeep.gross_minutes,
        "crew": upkeep.crew,
    }


def upkeep_of(row: Columns) -> UpkeepDue:
    """The upkeep of its columns."""
    return UpkeepDue(
        site_id=row["site_id"],
        kind=row["kind"],
        title=row["title"],
        earliest_on=row["earliest_on"],
        due_on=row["due_on"],
        latest_on=row["latest_on"],
        minutes=row["minutes"],
        skill=row["skill"],
        parts=tuple(Part(part["name"], part["quantity"], part["mass_kg"]) for part in row["parts"]),
        waste_kg=row["waste_kg"],
        caution=row["caution"],
        cause=row["cause"] and cause_of(row["cause"]),
        set_for=row["set_for"],
        gross_minutes=row["gross_minutes"] or 0,
        crew=row["crew"] or 1,
    )
