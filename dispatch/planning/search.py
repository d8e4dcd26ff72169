"""Problem in, assignment out: the only room that searches.

Ruin and recreate under simulated annealing. The same problem, seed and number of iterations give
the same assignment: nothing here looks at a clock.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dispatch.planning.anneal import Best, anneal, best_of, construct
from dispatch.planning.arrays import Arrays, Encoded, encode
from dispatch.planning.problem import Problem
from dispatch.planning.progress import Progress, Report, ShouldStop, never, silent
from dispatch.planning.routes import Routes, empty_routes, nothing_to_undo

ITERATIONS_PER_SITE = 250  # enough for a plan within a few per cent of a long run (measured)
FEWEST_ITERATIONS = 5_000
STOPS_PER_CHUNK = 400_000  # work between two reports: iterations times sites, never the clock
COLD_SHARE = 0.01  # last temperature as a share of the first


@dataclass(frozen=True, slots=True)
class Placed:
    """One visit in a route: demand by position, visit by number (0, 1 ...), and its riders."""

    demand: int
    visit: int
    riders: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Assignment:
    """Who is visited where and in what order; times are the timetable's business.

    `routes[r]` belongs to cell r of the problem. Visits and upkeep of `problem.demands` that stand
    in no route are unplaced and put off.
    """

    routes: tuple[tuple[Placed, ...], ...]
    cost_s: int
    iterations: int


def iterations_for(problem: Problem) -> int:
    """Iterations that suit the size of a problem."""
    return max(FEWEST_ITERATIONS, ITERATIONS_PER_SITE * len(problem.demands))


def search(
    problem: Problem,
    *,
    seed: int,
    iterations: int,
    report: Report = silent,
    should_stop: ShouldStop = never,
) -> Assignment:
    """Search for a cheap assignment.

    Parameters
    ----------
    iterations
        Rounds of ruin and recreate; 0 gives the first plan.
    report
        Called after the first plan and after each chunk of rounds.
    should_stop
        Asked at the same moments; when it says so the best assignment so far is returned.
    """
    encoded = encode(problem)
    a = encoded.arrays
    if not problem.demands or not problem.cells:
        return Assignment(tuple(() for _ in problem.cells), int(_left_out_s(a)), 0)
    rng = np.random.Generator(np.random.PCG64(seed))
    s = empty_routes(a)
    undo = nothing_to_undo(s)
    construct(a, s, undo, rng)
    best = best_of(a, s)
    hot_s = _average_leg_s(s)
    chunk = max(1, STOPS_PER_CHUNK // len(problem.demands))
    done = 0
    report(_progress(a, best, done, iterations))
    while done < iterations and not should_stop():
        rounds = min(chunk, iterations - done)
        anneal(a, s, undo, best, rng, done, rounds, iterations, hot_s, hot_s * COLD_SHARE)
        done += rounds
        report(_progress(a, best, done, iterations))
    return _assignment(encoded, best, done)


def _left_out_s(a: Arrays) -> int:
    return int(a.variant_price[a.variant_first[:-1]].sum())


def _average_leg_s(s: Routes) -> float:
    """Average drive from stop to stop of the first plan, in seconds; at least one."""
    legs = int(s.visits.sum() + np.count_nonzero(s.visits))
    return max(1.0, float(s.drive_s.sum()) / max(1, legs))


def _progress(a: Arrays, best: Best, done: int, iterations: int) -> Progress:
    unplaced = int(a.variant_missing[best.variant].sum())
    return Progress(done, iterations, int(best.cost_s[1]), unplaced)


def _assignment(encoded: Encoded, best: Best, iterations: int) -> Assignment:
    a = encoded.arrays
    nodes = len(a.node_unit)
    routes: list[tuple[Placed, ...]] = []
    for row, stops in zip(best.node, best.stops, strict=True):
        route = []
        for node in row[1 : stops + 1]:
            if node < nodes:
                unit = int(a.node_unit[node])
                visit = int(node - a.unit_node[unit])
                variant = encoded.variants[unit][int(best.variant[unit] - a.variant_first[unit])]
                route.append(Placed(unit, visit, variant.riders[visit]))
        routes.append(tuple(route))
    return Assignment(tuple(routes), int(best.cost_s[1]), iterations)
