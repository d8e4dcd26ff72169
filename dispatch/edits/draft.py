"""A plan as it is edited: who is visited where, in what order, with which upkeep, by names alone.

Times are never part of a draft; the timetable of the planner gives them when it is written down.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from dispatch.planning.check import Violation, violations
from dispatch.planning.placed import Placed
from dispatch.planning.plan import Route, WeekPlan
from dispatch.planning.problem import Problem
from dispatch.planning.search import Assignment
from dispatch.planning.variants import NEVER
from dispatch.planning.week import write_plan

CellKey = tuple[str, date]  # a technician's truck on a day


@dataclass(frozen=True, slots=True)
class Item:
    """One visit in a draft, with the upkeep that rides on it."""

    visit_id: str
    upkeep_ids: tuple[str, ...] = ()


Draft = Mapping[CellKey, tuple[Item, ...]]


@dataclass(frozen=True, slots=True)
class Written:
    """A draft written down: the plan, every rule it breaks, and what it could not take over.

    `left_out` are ids of visits and upkeep that stood in the draft and are not due any more.
    """

    plan: WeekPlan
    broken: tuple[Violation, ...]
    left_out: tuple[str, ...] = ()


def draft_of(routes: Iterable[Route]) -> Draft:
    """The draft that says the same as these routes."""
    return {
        (route.technician_id, route.day): tuple(
            Item(stop.visit_id, stop.upkeep_ids) for stop in route.stops
        )
        for route in routes
    }


def draft_of_orders(problem: Problem, orders: Sequence[Sequence[Placed]]) -> Draft:
    """The draft that says the same as the orders of a search, cell by cell."""
    found = dict[CellKey, tuple[Item, ...]]()
    for cell, order in zip(problem.cells, orders, strict=True):
        items = []
        for placed in order:
            demand = problem.demands[placed.demand]
            riders = tuple(demand.upkeep[n].id for n in placed.riders)
            items.append(Item(demand.visit_ids[placed.visit], riders))
        found[cell.technician_id, cell.day] = tuple(items)
    return found


def orders_of(problem: Problem, draft: Draft) -> tuple[tuple[Placed, ...], ...]:
    """The draft as orders for the cells of a problem, without what the problem does not know."""
    number = {
        visit_id: (n, k)
        for n, demand in enumerate(problem.demands)
        for k, visit_id in enumerate(demand.visit_ids)
    }
    orders = []
    for cell in problem.cells:
        order = []
        for item in draft.get((cell.technician_id, cell.day), ()):
            if item.visit_id in number:
                n, k = number[item.visit_id]
                own = {one.id: m for m, one in enumerate(problem.demands[n].upkeep)}
                riders = tuple(sorted(own[one] for one in item.upkeep_ids if one in own))
                order.append(Placed(n, k, riders))
        orders.append(tuple(order))
    return tuple(orders)


def write_draft(problem: Problem, draft: Draft, before: WeekPlan) -> Written:
    """The draft with times, reasons, changes and cost, and every rule that it breaks.

    Parameters
    ----------
    problem
        What is to be planned; without the cells of fixed routes.
    before
        The plan that the draft was made from: it keeps its seed and rounds, and those of its
        routes whose cells the problem lacks (days that are over) stay word for word.
    """
    orders = orders_of(problem, draft)
    plan = write_plan(problem, Assignment(orders, 0, before.iterations), before.seed)
    broken = violations(problem, plan)
    # what is forbidden has the price NEVER, which the list of broken rules says better
    return Written(
        plan=_with_fixed(replace(plan, cost_s=plan.cost_s % NEVER), before, problem),
        broken=broken,
        left_out=_left_out(problem, draft),
    )


def fixed_routes(problem: Problem, plan: WeekPlan) -> tuple[Route, ...]:
    """Routes of a plan whose cells the problem lacks."""
    return tuple(
        route for route in plan.routes if (route.technician_id, route.day) not in problem.cell_of
    )


def _with_fixed(plan: WeekPlan, before: WeekPlan, problem: Problem) -> WeekPlan:
    """The plan with the fixed routes, in the order of technicians and days."""
    fixed = fixed_routes(problem, before)
    if not fixed:
        return plan
    names = {stop.visit_id for route in fixed for stop in route.stops}
    return replace(
        plan,
        routes=tuple(sorted((*fixed, *plan.routes), key=lambda one: (one.technician_id, one.day))),
        changes=(*(one for one in before.changes if one.visit_id in names), *plan.changes),
    )


def _left_out(problem: Problem, draft: Draft) -> tuple[str, ...]:
    """Visits and upkeep in cells of the problem that it does not know."""
    known = {item.id for demand in problem.demands for item in demand.upkeep}
    lost = dict[str, None]()
    for key, items in draft.items():
        if key in problem.cell_of:
            for item in items:
                if item.visit_id not in problem.demand_of:
                    lost[item.visit_id] = None
                lost.update({one: None for one in item.upkeep_ids if one not in known})
    return tuple(lost)
