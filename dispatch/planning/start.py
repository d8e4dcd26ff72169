"""Where a search begins: with a plan at hand, or with the best one seen."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from dispatch.planning.anneal import Best
from dispatch.planning.arrays import (
    FIRST_NODE,
    FIRST_VARIANT,
    FIRST_WINDOW,
    KIND_S,
    KIND_SKILLS,
    MISSING,
    PRICE,
    SKILLS,
    WITH_LOAD,
    Arrays,
    Encoded,
)
from dispatch.planning.placed import Placed
from dispatch.planning.problem import Problem
from dispatch.planning.routes import (
    AS_LOAD,
    IN_CELL,
    IN_WINDOW,
    INCOMPLETE,
    PRICE_S,
    STOPS,
    VARIANT,
    Routes,
)
from dispatch.planning.times import write_all
from dispatch.planning.timetable import Call, times_of
from dispatch.planning.variants import NEVER
from dispatch.sites import TimeWindow


def lay_routes(
    problem: Problem, encoded: Encoded, s: Routes, start: Sequence[Sequence[Placed]]
) -> None:
    """Write a plan into empty routes.

    A unit of which a visit stands on a day, in a cell or beside others that its variants do not
    allow, or with somebody who lacks a skill, is left out, for the search to place anew.
    """
    a = encoded.arrays
    chosen = _variants(problem, encoded, start)
    for r, order in enumerate(start):
        kept = [placed for placed in order if chosen.get(placed.demand) is not None]
        for n, placed in enumerate(kept):
            node = int(a.unit[placed.demand, FIRST_NODE]) + placed.visit
            s.node[r, n + 1] = node
            s.visit[node, AS_LOAD] = a.variant_visit[chosen[placed.demand], placed.visit, WITH_LOAD]
        s.day[r, STOPS] = len(kept)
        _choose_windows(problem, a, s, r, kept)
    for unit, variant in chosen.items():
        if variant is not None:
            s.unit[unit, VARIANT] = variant
    _settle_counts(a, s)
    write_all(a, s)


def _variants(
    problem: Problem, encoded: Encoded, start: Sequence[Sequence[Placed]]
) -> dict[int, int | None]:
    """The variant of each unit that stands in the plan; None where no variant is like it."""
    a = encoded.arrays
    days: dict[int, list[date | None]] = {}
    riders: dict[int, list[tuple[int, ...]]] = {}
    barred = set[int]()
    for r, order in enumerate(start):
        for placed in order:
            unit, count = placed.demand, len(problem.demands[placed.demand].visit_ids)
            days.setdefault(unit, [None] * count)[placed.visit] = problem.cells[r].day
            riders.setdefault(unit, [()] * count)[placed.visit] = placed.riders
            if a.cell_price[unit, r] >= NEVER:
                barred.add(unit)
    chosen = {
        unit: None if unit in barred else _like(encoded, unit, tuple(on), tuple(riders[unit]))
        for unit, on in days.items()
    }
    for r, order in enumerate(start):
        for placed in order:
            variant = chosen[placed.demand]
            if variant is not None:
                needed = a.load[a.variant_visit[variant, placed.visit, WITH_LOAD], KIND_SKILLS]
                if needed & ~a.cell[r, SKILLS]:
                    chosen[placed.demand] = None
    return chosen


def _like(
    encoded: Encoded,
    unit: int,
    days: tuple[date | None, ...],
    riders: tuple[tuple[int, ...], ...],
) -> int | None:
    first = int(encoded.arrays.unit[unit, FIRST_VARIANT])
    same_days = None
    for n, variant in enumerate(encoded.variants[unit]):
        if variant.days == days:
            if variant.riders == riders:
                return first + n
            if same_days is None and not any(variant.riders):
                same_days = first + n
    return same_days


def _choose_windows(
    problem: Problem, a: Arrays, s: Routes, r: int, order: Sequence[Placed]
) -> None:
    """Choose for each visit the time window that it meets in this order."""
    calls = []
    for placed in order:
        demand = problem.demands[placed.demand]
        node = int(a.unit[placed.demand, FIRST_NODE]) + placed.visit
        lasts_s = int(a.load[s.visit[node, AS_LOAD], KIND_S])
        calls.append(Call(demand.place, lasts_s, demand.windows, demand.chemicals_kg))
    times = times_of(problem.cells[r], calls, problem.drive_s)
    for placed, begin_s in zip(order, times.begin_s, strict=True):
        node = int(a.unit[placed.demand, FIRST_NODE]) + placed.visit
        windows = problem.demands[placed.demand].windows
        s.visit[node, IN_WINDOW] = a.unit[placed.demand, FIRST_WINDOW] + _met(windows, begin_s)


def _met(windows: Sequence[TimeWindow], begin_s: int) -> int:
    return next((n for n, one in enumerate(windows) if begin_s <= one.end_s), len(windows) - 1)


def restore(a: Arrays, s: Routes, best: Best) -> None:
    """Make the routes those of the best plan."""
    s.node[:], s.day[:, STOPS] = best.node, best.stops
    s.unit[:], s.visit[:] = best.unit, best.visit
    s.visit[:, IN_CELL] = -1
    _settle_counts(a, s)
    write_all(a, s)


def _settle_counts(a: Arrays, s: Routes) -> None:
    """Prices of the units and the number of incomplete ones, from routes and variants."""
    s.unit[:, PRICE_S] = a.variant[s.unit[:, VARIANT], PRICE]
    for r in range(len(s.day)):
        for node in s.node[r, 1 : s.day[r, STOPS] + 1]:
            if node < len(a.node_unit):
                unit = a.node_unit[node]
                s.unit[unit, PRICE_S] += a.cell_price[unit, r]
    s.counts[INCOMPLETE] = int((a.variant[s.unit[:, VARIANT], MISSING] > 0).sum())
