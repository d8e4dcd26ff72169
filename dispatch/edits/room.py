"""Reasons of unplaced visits where room is left only on routes that planning leaves alone."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import date

from dispatch.clock import weekday_name
from dispatch.edits.draft import CellKey
from dispatch.planning.plan import Unplaced, WeekPlan
from dispatch.planning.problem import Cell, Problem
from dispatch.words import _


def with_kept_told(
    problem: Problem,
    plan: WeekPlan,
    kept: Collection[CellKey],
    published: Collection[CellKey],
    under_way: Collection[date] = (),
) -> WeekPlan:
    """The plan whose reasons send nobody to plan again for room on a route that is kept.

    `kept` are the routes that planning leaves alone, `published` those of them that technicians
    have been given; the others are locked. Days `under_way` are not published again.
    """
    undrivable = {one.visit_id for one in problem.undrivable}
    return replace(
        plan,
        unplaced=tuple(
            one if one.visit_id in undrivable else _told(problem, one, kept, published, under_way)
            for one in plan.unplaced
        ),
    )


def _told(
    problem: Problem,
    one: Unplaced,
    kept: Collection[CellKey],
    published: Collection[CellKey],
    under_way: Collection[date],
) -> Unplaced:
    broken = {(each.technician_id, each.day) for each in one.cells}
    room = [cell for cell in problem.cells if _key(cell) not in broken]
    if not room:
        return one
    open_ones = [cell for cell in room if cell.day not in under_way]
    free = next((cell for cell in open_ones if _key(cell) not in kept), None)
    if free is not None and free is room[0]:  # the reason names the first that has room
        return one
    if free is not None:
        said, cell = _("{cell} still has room: plan again with more time."), free
    elif not open_ones:
        cell = room[0]
        said = _(
            "{cell} has room, but that day is under way and is only repaired: add an urgent stop "
            "there."
        )
    else:
        cell = _least_change(problem, one, open_ones)
        said = _(
            "{cell} has room, but that route is published, and planning leaves it alone: move the "
            "visit there by hand and publish the day again."
        )
        if _key(cell) not in published:
            said = _(
                "{cell} has room, but that route is locked, and planning leaves it alone: move the "
                "visit there by hand, or unlock the route and plan again."
            )
    return replace(one, reason=said.format(cell=_name(cell)))


def _least_change(problem: Problem, one: Unplaced, room: Sequence[Cell]) -> Cell:
    """Where the customer keeps the usual day, else the usual technician, else the first."""
    demand = problem.demand_of[one.visit_id]
    return min(
        room,
        key=lambda cell: (
            cell.day.weekday() not in demand.usual_weekdays,
            cell.technician_id != demand.usual_technician_id,
        ),
    )


def _key(cell: Cell) -> CellKey:
    return cell.technician_id, cell.day


def _name(cell: Cell) -> str:
    return _("{technician} on {weekday}").format(
        technician=cell.technician_name, weekday=weekday_name(cell.day)
    )
