"""OR-Tools routing: every option of a visit a node, every truck-day a vehicle of its own.

Nodes of one visit stand in one disjunction whose penalty is the price of an unplaced visit; what an
option costs besides driving stands on the arcs that leave it. Days, skills and locks are the
vehicles allowed at a node. Breaks would slow it down much: it plans on the clock that stands still
during meals, as PyVRP does.
"""

from __future__ import annotations

import time
from itertools import pairwise
from typing import Any

import numpy as np
from ortools.constraint_solver import pywrapcp, routing_enums_pb2

from dispatch.clock import DAY_S
from dispatch.planning.problem import Problem
from dispatch.planning.search import Assignment
from tests.bench.peers.options import (
    UNITS_PER_KG,
    Option,
    assignment_of,
    midnight_s,
    options_of,
    without_meal,
)

WEEK_S = 7 * DAY_S


def solve(problem: Problem, seconds: float, seed: int) -> Assignment:
    """The best answer after so many CPU seconds; the search draws no random numbers of its own."""
    end = time.process_time() + seconds
    visits = options_of(problem)
    options = [one for some in visits for one in some]
    ends = sorted({place for cell in problem.cells for place in (cell.start, cell.end)})
    rows = [*ends, *(one.place for one in options)]
    node_of = {place: n for n, place in enumerate(ends)}
    manager = pywrapcp.RoutingIndexManager(
        len(rows),
        len(problem.cells),
        [node_of[cell.start] for cell in problem.cells],
        [node_of[cell.end] for cell in problem.cells],
    )
    routing = pywrapcp.RoutingModel(manager)
    _add_costs(problem, routing, manager, rows, options, len(ends))
    index_of = [manager.NodeToIndex(len(ends) + n) for n in range(len(options))]
    _add_rules(problem, routing, options, index_of)
    at = 0
    for some in visits:
        members = index_of[at : at + len(some)]
        routing.AddDisjunction(members, problem.prices.unplaced_s)
        at += len(some)
    routing.AddSearchMonitor(routing.solver().CustomLimit(lambda: time.process_time() >= end))
    answer = routing.SolveWithParameters(_parameters(seconds))
    if answer is None:
        return assignment_of(problem, [])
    return assignment_of(
        problem, _orders(problem, routing, answer, dict(zip(index_of, options, strict=True)))
    )


def _parameters(seconds: float) -> Any:
    words = pywrapcp.DefaultRoutingSearchParameters()
    words.first_solution_strategy = (
        routing_enums_pb2.FirstSolutionStrategy.LOCAL_CHEAPEST_INSERTION  # the quickest here
    )
    words.local_search_metaheuristic = (
        routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
    )
    words.time_limit.seconds = int(20 * seconds)  # the clock on the wall, only as a last resort
    return words


def _add_costs(
    problem: Problem,
    routing: Any,
    manager: Any,
    rows: list[int],
    options: list[Option],
    depots: int,
) -> None:
    """Arc costs, times and loads."""
    drive = problem.drive_s[np.ix_(rows, rows)]
    price = np.array([0] * depots + [one.price_s for one in options])
    service = np.array([0] * depots + [one.service_s for one in options])
    cost = routing.RegisterTransitMatrix((drive + price[:, None]).tolist())
    routing.SetArcCostEvaluatorOfAllVehicles(cost)
    lasts = routing.RegisterTransitMatrix((drive + service[:, None]).tolist())
    routing.AddDimension(lasts, WEEK_S, WEEK_S, False, "time")
    load = routing.RegisterUnaryTransitVector([0] * depots + [one.load for one in options])
    most = [round(cell.payload_kg * UNITS_PER_KG) for cell in problem.cells]
    routing.AddDimensionWithVehicleCapacity(load, 0, most, True, "load")
    clock = routing.GetDimensionOrDie("time")
    for vehicle, cell in enumerate(problem.cells):
        midnight = midnight_s(problem, cell.day)
        begin = midnight + cell.shift.start_s
        end = without_meal(cell, midnight + cell.shift.end_s)
        clock.CumulVar(routing.Start(vehicle)).SetRange(begin, end)
        clock.CumulVar(routing.End(vehicle)).SetRange(begin, end)


def _add_rules(problem: Problem, routing: Any, options: list[Option], index_of: list[int]) -> None:
    """When service may begin, and on which truck-days."""
    clock = routing.GetDimensionOrDie("time")
    meal = problem.cells[0]  # all technicians of a made-up company eat at the same time
    for one, index in zip(options, index_of, strict=True):
        begin = clock.CumulVar(index)
        spans = [(without_meal(meal, a), without_meal(meal, b)) for a, b in one.windows]
        begin.SetRange(spans[0][0], spans[-1][1])
        for (_, closes), (opens, _) in pairwise(spans):
            begin.RemoveInterval(closes + 1, opens - 1)
        allowed = [n for n, cell in enumerate(problem.cells) if one.suits(cell)]
        routing.VehicleVar(index).SetValues([-1, *allowed])  # -1: left out


def _orders(
    problem: Problem, routing: Any, answer: Any, option_of: dict[int, Option]
) -> list[tuple[int, list[Option]]]:
    found = []
    for vehicle in range(len(problem.cells)):
        order = []
        index = answer.Value(routing.NextVar(routing.Start(vehicle)))
        while not routing.IsEnd(index):
            order.append(option_of[index])
            index = answer.Value(routing.NextVar(index))
        found.append((vehicle, order))
    return found
