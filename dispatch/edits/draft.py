"""A plan as it is edited: who is visited where, in what order, with which upkeep, by names alone.

Times are never part of a draft; `write_down` gives them, from the timetable of the planner.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from dispatch.planning.placed import Placed
from dispatch.planning.plan import Route
from dispatch.planning.problem import Problem

CellKey = tuple[str, date]  # a technician's truck on a day


@dataclass(frozen=True, slots=True)
class Item:
    """One visit in a draft, with the upkeep that rides on it."""

    visit_id: str
    upkeep_ids: tuple[str, ...] = ()


Draft = Mapping[CellKey, tuple[Item, ...]]


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
