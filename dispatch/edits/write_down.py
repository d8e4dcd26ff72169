"""A draft written down as a plan, with the routes that stay and those that nobody drives any more.

A day that is over stays word for word. A route whose technician no longer works that day stays
until the week is planned again or a person moves its stops, so that an edit elsewhere does not
throw them out; it breaks a rule, and planning again places its stops anew.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from dispatch.edits.draft import CellKey, Draft, Item, orders_of
from dispatch.edits.fixed import without_routes
from dispatch.planning.check import Violation, violations
from dispatch.planning.plan import Route, Rule, WeekPlan
from dispatch.planning.problem import Problem
from dispatch.planning.search import Assignment
from dispatch.planning.variants import NEVER
from dispatch.planning.week import write_plan
from dispatch.words import counted


@dataclass(frozen=True, slots=True)
class Written:
    """A draft written down: the plan, every rule it breaks, and what it could not take over.

    `left_out` are ids of visits and upkeep that stood in the draft and are not due any more.
    """

    plan: WeekPlan
    broken: tuple[Violation, ...]
    left_out: tuple[str, ...] = ()


def write_draft(
    problem: Problem, draft: Draft, before: WeekPlan, over: Collection[CellKey] = ()
) -> Written:
    """The draft with times, reasons, changes and cost, and every rule that it breaks.

    Parameters
    ----------
    problem
        What is to be planned; without the cells that are over.
    before
        The plan that the draft was made from: it keeps its seed and rounds.
    over
        Cells that are over; their routes stay word for word.
    """
    past = [one for one in before.routes if (one.technician_id, one.day) in over]
    off = _off_routes(problem, draft, before, over)
    # nobody works in what nobody drives: it takes no hours
    rest = replace(without_routes(problem, (), off), hours=problem.hours) if off else problem
    plan = write_plan(rest, Assignment(orders_of(rest, draft), 0, before.iterations), before.seed)
    broken = violations(rest, plan)
    # what is forbidden has the price NEVER, which the list of broken rules says better
    return Written(
        plan=_with_routes(replace(plan, cost_s=plan.cost_s % NEVER), (*past, *off), before),
        broken=(*broken, *map(_is_off, off)),
        left_out=_left_out(problem, draft, over),
    )


def _off_routes(
    problem: Problem, draft: Draft, before: WeekPlan, over: Collection[CellKey]
) -> list[Route]:
    """What the draft still has of routes whose technician no longer works that day."""
    found = list[Route]()
    for route in before.routes:
        key = (route.technician_id, route.day)
        if key not in problem.cell_of and key not in over:
            items = [one for one in draft.get(key, ()) if one.visit_id in problem.demand_of]
            found += [_with_items(problem, route, items)] if items else []
    return found


def _with_items(problem: Problem, route: Route, items: Sequence[Item]) -> Route:
    """The stops of a route that are left, at the times they had: nobody drives it."""
    due = {item.id for demand in problem.demands for item in demand.upkeep}
    old = {stop.visit_id: stop for stop in route.stops}
    stops = tuple(
        replace(old[item.visit_id], upkeep_ids=tuple(one for one in item.upkeep_ids if one in due))
        for item in items
    )
    if stops == route.stops:
        return route
    return replace(
        route,
        stops=stops,
        drive_s=sum(one.drive_s for one in stops) + route.supply_drive_s + route.return_drive_s,
        drive_m=sum(one.drive_m for one in stops) + route.supply_drive_m + route.return_drive_m,
        service_s=sum(one.leave_s - one.start_s for one in stops),
    )


def _is_off(route: Route) -> Violation:
    who, number = route.technician_id, len(route.stops)
    words = counted("is off but has {n} stop", "is off but has {n} stops", number)
    return Violation(Rule.SHIFT, who, who, route.day, number, words)


def _with_routes(plan: WeekPlan, routes: Sequence[Route], before: WeekPlan) -> WeekPlan:
    """The plan with more routes of the one before, in the order of technicians and days."""
    if not routes:
        return plan
    names = {stop.visit_id for route in routes for stop in route.stops}
    return replace(
        plan,
        routes=tuple(sorted((*routes, *plan.routes), key=lambda one: (one.technician_id, one.day))),
        changes=(*(one for one in before.changes if one.visit_id in names), *plan.changes),
    )


def _left_out(problem: Problem, draft: Draft, over: Collection[CellKey]) -> tuple[str, ...]:
    """Visits and upkeep of what is not over that the problem does not know."""
    known = {item.id for demand in problem.demands for item in demand.upkeep}
    lost = dict[str, None]()
    for key, items in draft.items():
        if key not in over:
            for item in items:
                if item.visit_id not in problem.demand_of:
                    lost[item.visit_id] = None
                lost.update({one: None for one in item.upkeep_ids if one not in known})
    return tuple(lost)
