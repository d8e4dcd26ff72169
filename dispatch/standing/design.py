"""Standing routes from what the customers are used to, and from nothing.

From nothing: one mean week is planned in which a customer of every second or fourth week counts
for a half or a quarter of a visit; customers of several visits a week are given one technician; the
customers of each truck-day are dealt out to the weeks of the cycle in the order of its route; and
then customer after customer is moved as long as that gains.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from dispatch.planning.placed import Placed
from dispatch.planning.problem import Demand, Problem
from dispatch.planning.progress import Progress, Report, ShouldStop, never, silent
from dispatch.planning.search import Assignment, iterations_for, search
from dispatch.standing.moves import Aim, Scale, gains_s, stands_of, try_one
from dispatch.standing.rounds import Rounds, Stand
from dispatch.standing.typical import Typical, demand_free

LONGER = 4  # times the rounds of a week's plan: a season drives them (400 sites: 1 % less cost)
SWEEPS = 4  # times that every customer is looked at again; most gains come from the first two
TRIED_EACH = 4  # best stands of a customer that are looked at exactly


def as_used(typical: Typical, should_stop: ShouldStop = never) -> Rounds:
    """The routes as the customers are used to them; who has no full habit has no stand."""
    stands = [_stand_of(typical, d) for d in range(len(typical.habits))]
    return Rounds(typical, stands, should_stop)


def from_nothing(
    typical: Typical,
    aim: Aim,
    *,
    seed: int = 1,
    iterations: int | None = None,
    runs: int = 1,
    progress: Report = silent,
    should_stop: ShouldStop = never,
) -> Rounds:
    """Standing routes for customers who are used to nobody; what is locked stays.

    Who finds no place that breaks nothing has no stand. Once `should_stop` says yes, everybody is
    still given a stand, and nothing is made better any more.
    """
    free = replace(
        typical,
        problem=replace(typical.problem, demands=tuple(map(demand_free, typical.problem.demands))),
    )
    mean = _mean_week(free)
    rounds = LONGER * iterations_for(mean) if iterations is None else iterations
    found = search(
        mean,
        seed=seed,
        iterations=rounds,
        runs=runs,
        report=lambda now: progress(Progress(now.iteration, 2 * rounds, now.best_cost_s, 0)),
        should_stop=should_stop,
    )
    found = _of_one_technician(mean, found, seed, should_stop)
    routes = Rounds(free, _dealt_out(free, found), should_stop)
    scale = Scale(routes, aim)
    _place_the_rest(routes, scale)
    for sweep in range(SWEEPS):
        progress(Progress(rounds + sweep * rounds // SWEEPS, 2 * rounds, 0, 0))
        if should_stop() or not improve(routes, scale):
            break
    if not should_stop():
        routes.order_anew()
    _unseat(routes)
    _place_the_rest(routes, scale)
    return routes


def improve(routes: Rounds, scale: Scale) -> int:
    """Move each customer once where that gains; how many moved."""
    moved = 0
    measure = scale.measure(routes)
    for d, stand in enumerate(routes.stands):
        if routes.should_stop():
            break
        stands = stands_of(routes.typical, d) if stand is not None else []
        if not stands:
            continue
        gains = gains_s(routes, scale, d, stands)
        for n in np.argsort(-gains, kind="stable")[:TRIED_EACH]:
            if gains[n] <= 0 or stands[n] == stand:
                break
            move = try_one(routes, scale, d, stands[n], measure)
            if move is not None:
                measure, moved = move.after, moved + 1
                break
    return moved


def _unseat(routes: Rounds) -> None:
    """Take the stand of customers on routes that break something, the shortest visits first."""
    for w, week in enumerate(routes.orders):
        for r in range(len(week)):
            on_it = {d for d, _ in week[r]}
            for d in sorted(on_it, key=lambda one: routes.problem.demands[one].service_s):
                if not routes.is_broken(w, r):
                    break
                routes.try_move(d, None)


def _place_the_rest(routes: Rounds, scale: Scale) -> None:
    """Give a stand to who has none, the dearest first, where nothing comes to break."""
    lacking = [d for d, stand in enumerate(routes.stands) if stand is None]
    weight = {d: routes.problem.demands[d].service_s for d in lacking}
    for d in sorted(lacking, key=lambda one: -weight[one]):
        stands = stands_of(routes.typical, d)
        if not stands:
            continue
        gains = gains_s(routes, scale, d, stands)
        for n in np.argsort(-gains, kind="stable"):
            if routes.try_move(d, stands[n]) is not None:
                break


def _stand_of(typical: Typical, d: int) -> Stand | None:
    """The stand of a full habit; None where technician or weekdays are missing or not worked."""
    habit, demand = typical.habits[d], typical.problem.demands[d]
    at = {(cell.technician_id, cell.day): r for r, cell in enumerate(typical.problem.cells)}
    if habit.technician_id is None:
        return None
    for pattern in demand.open_patterns:
        cells = [at.get((habit.technician_id, day)) for day in pattern]
        if {day.weekday() for day in pattern} == habit.weekdays and None not in cells:
            return Stand(tuple(r for r in cells if r is not None), typical.phases[d])
    return None


def _mean_week(free: Typical) -> Problem:
    demands = tuple(
        _shared(demand, every)
        for demand, every in zip(free.problem.demands, free.every, strict=True)
    )
    return replace(free.problem, demands=demands)


def _shared(demand: Demand, every: int) -> Demand:
    """A customer's visit as its part of a mean week."""
    return replace(
        demand,
        service_s=max(1, demand.service_s // every),
        extra_s=tuple(one // every for one in demand.extra_s),
        load_kg=demand.load_kg / every,
        chemicals_kg=demand.chemicals_kg / every,
    )


def _of_one_technician(
    mean: Problem, found: Assignment, seed: int, should_stop: ShouldStop
) -> Assignment:
    """The plan with each customer's visits all with one technician, who had most of them.

    A search that holds customers to theirs may give two to one that had no place before; so again.
    """
    problem = mean
    while True:
        names: dict[int, list[str]] = {}
        for cell, order in zip(problem.cells, found.routes, strict=True):
            for placed in order:
                names.setdefault(placed.demand, []).append(cell.technician_id)
        if all(
            len(set(who)) == 1 or problem.demands[d].technician_locked for d, who in names.items()
        ):
            return found
        several = {d for d in names if len(mean.demands[d].visit_ids) > 1}
        demands = tuple(
            replace(
                demand,
                usual_technician_id=max(sorted(set(names[d])), key=names[d].count),
                technician_locked=True,
            )
            if d in several
            else demand
            for d, demand in enumerate(problem.demands)
        )
        problem = replace(mean, demands=demands)
        found = search(
            problem,
            seed=seed,
            iterations=iterations_for(mean) // 4,
            start=found.routes,
            should_stop=should_stop,
        )


def _dealt_out(free: Typical, found: Assignment) -> list[Stand | None]:
    """Stands with phases: neighbours on a route have their turns in the same weeks."""
    cells: dict[int, dict[int, int]] = {}
    for r, order in enumerate(found.routes):
        for placed in order:
            cells.setdefault(placed.demand, {})[placed.visit] = r
    phases: dict[int, int] = {}
    for n, order in enumerate(found.routes):
        for every in sorted({free.every[placed.demand] for placed in order} - {1}):
            phases |= _phases(free, order, every, n)
    phases |= {d: free.phases[d] for d in free.week_locked}
    stands: list[Stand | None] = [None] * len(free.problem.demands)
    for d, visits in cells.items():
        count = len(free.problem.demands[d].visit_ids)
        if len(visits) == count:
            stands[d] = Stand(tuple(visits[k] for k in range(count)), phases.get(d, 0))
    return stands


def _phases(free: Typical, order: Iterable[Placed], every: int, first: int) -> dict[int, int]:
    """Parts of a route with about equal service, each of one phase; `first` turns them round."""
    members = [placed.demand for placed in order if free.every[placed.demand] == every]
    total_s = sum(_service_s(free, members))
    so_far_s, phases = 0.0, {}
    for d, lasts_s in zip(members, _service_s(free, members), strict=True):
        part = int((so_far_s + lasts_s / 2) * every / total_s)
        phases[d] = (min(part, every - 1) + first) % every
        so_far_s += lasts_s
    return phases


def _service_s(free: Typical, demands: Sequence[int]) -> list[int]:
    return [free.problem.demands[d].service_s for d in demands]
