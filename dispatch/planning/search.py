"""Problem in, assignment out: the only room that searches.

Ruin and recreate under simulated annealing, in one run or in several side by side; a long search
begins several times and finishes what begins best. The same problem, seed, number of iterations and
of runs give the same assignment: nothing here looks at a clock, and runs meet after fixed shares of
their rounds.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from dispatch.planning.anneal import Best, Stretch, anneal, best_of, construct
from dispatch.planning.arrays import (
    CELL_COUNT,
    FIRST_LOAD,
    FIRST_NODE,
    FIRST_VARIANT,
    KIND_G,
    LEAST_PRICE,
    MISSING,
    PAYLOAD_G,
    PRICE,
    ROOM_G,
    VISIT_COUNT,
    Arrays,
    Encoded,
    encode,
)
from dispatch.planning.hours import UNEVEN
from dispatch.planning.nearby import demands_in_neighbourhoods
from dispatch.planning.placed import Placed
from dispatch.planning.problem import Problem
from dispatch.planning.progress import Progress, Report, ShouldStop, never, silent
from dispatch.planning.routes import (
    DRIVE_S,
    PER_GRAM,
    PER_SECOND,
    VARIANT,
    VISITS,
    Routes,
    Undo,
    empty_routes,
    nothing_to_undo,
)
from dispatch.planning.start import lay_routes, restore
from dispatch.planning.variants import NEVER

# Four times 500 a site is worth 1.6 % of a week's cost at 150 sites, 1.9 % at 400, 0.5 % at 1,000;
# each doubling after that about 0.6 % at 400.
ITERATIONS_PER_SITE = 3_000
FEWEST_ITERATIONS = 5_000
ITERATIONS_A_MINUTE = 2_250_000  # about a minute for 1,000 sites; larger weeks get no more, but
LEAST_PER_SITE = 500  # as many as this
STOPS_PER_CHUNK = 400_000  # work between two reports: iterations times sites, never the clock
COLD_SHARE = 0.01  # last temperature as a share of the first, an average leg
WARM_SHARE = 0.2  # first temperature of a run that begins with a plan, as a share of the usual one
# On top of the first temperature: a share of what hangs on upkeep per visit, and so many legs where
# there is any to choose. They are worth 1 % of the cost at 1,000 sites and 2 % at 3,000.
UPKEEP_HEAT, UPKEEP_LEGS = 0.9, 3.0
MEETINGS = (0.5, 0.8)  # shares of the rounds after which all runs go on from the best of them
# Rounds a site from which several beginnings serve better than a slower search, and rounds in all:
# in weeks of two or three sites faster ones miss the one plan that fits everything in.
ENOUGH_PER_SITE, ENOUGH = 5_000, 50_000
MOST_HEATS = 8  # beginnings
FIRST_TRIES = 8  # times a quarter as many rounds as sites, for what a first plan left out
FULL_SHARE = 0.6  # share of all payload in use from which the search may overload on its way
LUMPY_SHARE, HEAVY_SHARE = 0.4, 0.25  # or so much, with upkeep heavier than this of a payload
OVERLOAD, OVERLOAD_HEAVY = 0.05, 0.2  # by how much of the payload, and of the heaviest upkeep
OVERLOAD_LEGS = 10.0  # first price of a payload too much, in average legs
EVEN_FROM = 0.05  # first share of its price that unevenness of hours costs
OVERTIME_WEIGHT = 20.0  # first price of a second too late or too much in a week, in seconds


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
    """Iterations that suit the size of a problem: up to about a minute."""
    return usual_iterations(len(problem.demands))


def usual_iterations(sites: int) -> int:
    """Iterations that suit so many sites."""
    in_a_minute = min(ITERATIONS_PER_SITE * sites, ITERATIONS_A_MINUTE)
    return max(FEWEST_ITERATIONS, in_a_minute, LEAST_PER_SITE * sites)


@dataclass(slots=True)
class _Run:
    """One search under way."""

    a: Arrays
    s: Routes
    undo: Undo
    best: Best
    rng: np.random.Generator
    hot_s: float  # first temperature where only driving is at stake
    stake_s: float  # and so much more for choices of upkeep
    even_from: float  # first share of the price of unevenness

    def place_the_rest(self) -> None:
        """A few rounds for what the first plan left out, as long as that helps."""
        rounds = max(1, len(self.s.unit) // 4)
        for _ in range(FIRST_TRIES):
            missing = _left_out(self.a, self.best)
            if missing == 0:
                return
            cold_s = self.hot_s * WARM_SHARE
            tries = Stretch(0, rounds, rounds, cold_s, cold_s)
            anneal(self.a, self.s, self.undo, self.best, self.rng, tries)
            if _left_out(self.a, self.best) == missing:
                return

    def take(self, best: Best) -> None:
        """Go on from another plan."""
        restore(self.a, self.s, best)
        self.best = best_of(self.a, self.s)

    def go_on(self, first: int, rounds: int, total: int) -> None:
        cold_s = self.hot_s * COLD_SHARE
        hot_s = self.hot_s + self.stake_s
        next_ones = Stretch(first, rounds, total, hot_s, cold_s, self.even_from)
        anneal(self.a, self.s, self.undo, self.best, self.rng, next_ones)


class _Leg(NamedTuple):
    """A part of the way: rounds from `first` to `end` of searches of `total`, anew or going on."""

    first: int
    end: int
    total: int
    anew: bool = False


def search(
    problem: Problem,
    *,
    seed: int,
    iterations: int,
    runs: int = 1,
    start: Sequence[Sequence[Placed]] | None = None,
    report: Report = silent,
    should_stop: ShouldStop = never,
) -> Assignment:
    """Search for a cheap assignment.

    Parameters
    ----------
    iterations
        Rounds of ruin and recreate of each run; 0 gives the first plan.
    runs
        Searches side by side, one on each core where there are enough.
    start
        A plan to begin with, order by order for the cells; without one the first plan is made
        from nothing. What does not fit in it any more is placed anew.
    report
        Called after the first plan and after each chunk of rounds.
    should_stop
        Asked at the same moments; when it says so the best assignment so far is returned.
    """
    order = demands_in_neighbourhoods(problem)
    problem = replace(problem, demands=tuple(problem.demands[n] for n in order))
    if start is not None:
        start = _renumbered(start, {n: unit for unit, n in enumerate(order)})
    encoded = encode(problem)
    if not problem.demands or not problem.cells:
        left_out_s = int(
            encoded.arrays.variant[encoded.arrays.unit[:-1, FIRST_VARIANT], PRICE].sum()
        )
        return Assignment(tuple(() for _ in problem.cells), left_out_s, 0)
    heats = 1 if start is not None else _heats(len(problem.demands), iterations)

    def begin(heat: int) -> list[_Run]:
        chances = [_chance(seed, heat, n) for n in range(runs)]
        return [_begin(problem, encoded, one, start) for one in chances]

    chunk = max(1, STOPS_PER_CHUNK // len(problem.demands))
    legs = _legs(iterations, heats, runs)
    best, done = _search(begin, legs, chunk, iterations, report, should_stop)
    found = _assignment(encoded, best, done)
    return replace(found, routes=_renumbered(found.routes, dict(enumerate(order))))


def _heats(sites: int, iterations: int) -> int:
    """How often a search of so many rounds begins anew.

    Half of a search decides what the plan will be like: the cost after it says which of several
    will end best (correlation 0.9 to 1.0 in weeks of 150 sites), and only that one is finished.
    """
    enough = max(ENOUGH_PER_SITE * sites, ENOUGH)
    return max(1, min(MOST_HEATS, 2 * iterations // enough - 1))


def _legs(iterations: int, heats: int, runs: int) -> list[_Leg]:
    """The way of all searches: first halves of `heats` of them, then the rest of the best.

    Several runs meet at shares of the way, and go on from the best of them.
    """
    half = iterations // (heats + 1)
    total = iterations - (heats - 1) * half
    meetings = [round(share * total) for share in MEETINGS] if runs > 1 else []
    if heats > 1:
        meetings = [half, *meetings[1:]]
    legs = [_Leg(first, end, total) for first, end in pairwise([0, *meetings, total])]
    return [legs[0]._replace(anew=True)] * heats + legs[1:]


def _search(
    begin: Callable[[int], list[_Run]],
    legs: Sequence[_Leg],
    chunk: int,
    iterations: int,
    report: Report,
    should_stop: ShouldStop,
) -> tuple[Best, int]:
    """Run all legs, the runs of each side by side; the best of all, and how many rounds it took.

    A leg that does not begin anew goes on from the best of all before it.
    """
    under_way = begin(0)
    best, done = _leader(under_way), 0
    report(_progress(best, done, iterations))
    with ThreadPoolExecutor(max_workers=len(under_way)) as pool:
        for n, leg in enumerate(legs):
            if n > 0 and leg.anew:
                under_way = begin(n)
            elif n > 0:
                for run in under_way:
                    run.take(best.best)
            for first in range(leg.first, leg.end, chunk):
                if should_stop():
                    return best.best, done
                rounds = min(chunk, leg.end - first)
                _advance(under_way, first, rounds, leg.total, pool)
                best, done = _leader([best, *under_way]), done + rounds
                report(_progress(best, done, iterations))
    return best.best, done


def _renumbered(
    routes: Sequence[Sequence[Placed]], new: Mapping[int, int]
) -> tuple[tuple[Placed, ...], ...]:
    """The same routes with other numbers of the demands."""
    return tuple(tuple(replace(one, demand=new[one.demand]) for one in row) for row in routes)


def _chance(seed: int, heat: int, run: int) -> np.random.Generator:
    """The chances of a run; no later beginning shares them with one of another seed."""
    return np.random.Generator(np.random.PCG64((seed, heat, run) if heat else seed + run))


def _begin(
    problem: Problem,
    encoded: Encoded,
    rng: np.random.Generator,
    start: Sequence[Sequence[Placed]] | None,
) -> _Run:
    """A run with its first plan."""
    a = encoded.arrays._replace(cell=encoded.arrays.cell.copy())
    s = empty_routes(a)
    undo = nothing_to_undo(s)
    if start is not None:
        lay_routes(problem, encoded, s, start)
    construct(_as_usual(a), s, undo, rng)
    construct(a, s, undo, rng)
    hot_s = _average_leg_s(s) * (1.0 if start is None else WARM_SHARE)
    is_choosing = start is None and len(a.choosers) > 0
    stake_s = UPKEEP_HEAT * _stake_s(a) + UPKEEP_LEGS * hot_s if is_choosing else 0.0
    s.weight[PER_SECOND] = OVERTIME_WEIGHT
    even_from = EVEN_FROM if a.hours[:, UNEVEN].any() else 1.0
    run = _Run(a, s, undo, best_of(a, s), rng, hot_s, stake_s, even_from)
    run.place_the_rest()  # within all limits: there is a plan to use before there is a better one
    _give_room(a, s)
    return run


def _as_usual(a: Arrays) -> Arrays:
    """The week in which nobody leaves the cells that cost least: the usual ones, or all open.

    What begins there leaves it where that pays; what begins elsewhere seldom finds it back, since
    the place has been filled meanwhile.
    """
    is_least = a.cell_price == a.cell_price.min(axis=1, keepdims=True)
    is_open = is_least & (a.cell_price < NEVER)
    unit = a.unit.copy()
    unit[:-1, CELL_COUNT] = is_open.sum(axis=1)
    return a._replace(cell_price=np.where(is_open, a.cell_price, NEVER), unit=unit)


def _give_room(a: Arrays, s: Routes) -> None:
    """Let the search overload trucks on its way where payload is scarce, at a first price.

    It is scarce where plain visits nearly fill it, and where upkeep comes in lumps that few of fit
    on a truck: these find their trucks by way of days that carry a little too much.
    """
    payload_g = a.cell[:, PAYLOAD_G]
    plain_g = a.load[a.unit[:-1, FIRST_LOAD], KIND_G]
    upkeep_g = a.load[a.unit[1:, FIRST_LOAD] - 1, KIND_G] - plain_g
    heaviest_g, visits_g = upkeep_g.max(), (plain_g * a.unit[:-1, VISIT_COUNT]).sum()
    is_full = visits_g > FULL_SHARE * payload_g.sum()
    is_lumpy = heaviest_g > HEAVY_SHARE * payload_g.mean()
    if not is_full and not (is_lumpy and visits_g + upkeep_g.sum() > LUMPY_SHARE * payload_g.sum()):
        return
    more_g = OVERLOAD * payload_g + OVERLOAD_HEAVY * heaviest_g
    a.cell[:, ROOM_G] = payload_g + more_g.astype(np.int64)
    price = OVERLOAD_LEGS * _average_leg_s(s) / max(1.0, float(payload_g.mean()))
    if heaviest_g > 0:  # all of that room costs as much as putting upkeep off
        put_off_s = _stake_s(a) * len(a.node_unit) / len(a.choosers)
        price = max(price, put_off_s / float(OVERLOAD_HEAVY * heaviest_g))
    s.weight[PER_GRAM] = price


def _advance(
    under_way: list[_Run], first: int, rounds: int, total: int, pool: ThreadPoolExecutor
) -> None:
    """One chunk of rounds of every run."""
    waiting = [pool.submit(run.go_on, first, rounds, total) for run in under_way]
    for one in waiting:
        one.result()


def _leader(under_way: list[_Run]) -> _Run:
    return min(under_way, key=lambda run: int(run.best.cost_s[1]))


def _average_leg_s(s: Routes) -> float:
    """Average drive from stop to stop of the first plan, in seconds; at least one."""
    visits = s.day[:, VISITS]
    legs = int(visits.sum() + np.count_nonzero(visits))
    return max(1.0, float(s.day[:, DRIVE_S].sum()) / max(1, legs))


def _stake_s(a: Arrays) -> float:
    """What putting off all upkeep costs more than doing it, in seconds per visit.

    Choosing between heavy work here and there is worth a hundred legs: at the temperature of a leg
    the first choice would stand.
    """
    least = np.repeat(a.unit[:-1, LEAST_PRICE], np.diff(a.unit[:, FIRST_VARIANT]))
    dearer = np.where(a.variant[:, MISSING] == 0, a.variant[:, PRICE] - least, 0)
    return float(np.maximum.reduceat(dearer, a.unit[:-1, FIRST_VARIANT]).sum()) / len(a.node_unit)


def _progress(best: _Run, done: int, iterations: int) -> Progress:
    left_out = _left_out(best.a, best.best)
    return Progress(done, iterations, int(best.best.cost_s[1]), left_out)


def _left_out(a: Arrays, best: Best) -> int:
    """Visits that the best plan leaves out."""
    return int(a.variant[best.unit[:, VARIANT], MISSING].sum())


def _assignment(encoded: Encoded, best: Best, iterations: int) -> Assignment:
    a = encoded.arrays
    nodes = len(a.node_unit)
    routes: list[tuple[Placed, ...]] = []
    for row, stops in zip(best.node, best.stops, strict=True):
        route = []
        for node in row[1 : stops + 1]:
            if node < nodes:
                unit = int(a.node_unit[node])
                visit = int(node - a.unit[unit, FIRST_NODE])
                variant = encoded.variants[unit][
                    int(best.unit[unit, VARIANT] - a.unit[unit, FIRST_VARIANT])
                ]
                route.append(Placed(unit, visit, variant.riders[visit]))
        routes.append(tuple(route))
    return Assignment(tuple(routes), int(best.cost_s[1]), iterations)
