"""Routes that are fixed: days that are over, what is published, what is locked.

They are taken out of the problem with everything in them, so that no search can touch them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import date

from dispatch.edits.draft import CellKey
from dispatch.planning.plan import Route
from dispatch.planning.problem import Demand, Hours, Problem
from dispatch.words import _


def without_routes(
    problem: Problem, cells: Collection[CellKey], routes: Sequence[Route]
) -> Problem:
    """The problem without some cells, whose routes are fixed.

    What the routes hold is no longer owed; the hours they take are spent. A site of which some
    visits are fixed keeps the others, on days that go with those.
    """
    held = {stop.visit_id: route.day for route in routes for stop in route.stops}
    carried = {one for route in routes for stop in route.stops for one in stop.upkeep_ids}
    rests = [_rest(demand, held, carried) for demand in problem.demands]
    idle = _("The visit that could have carried it stays as it is.")
    stranded = tuple(
        (item, idle)
        for demand, rest in zip(problem.demands, rests, strict=True)
        if rest is None
        for item in demand.upkeep
        if item.id not in carried
    )
    spent_s = Counter[str]()
    for route in routes:
        spent_s[route.technician_id] += route.work_s
    rules = {name: Hours(name) for name in spent_s} | {
        rule.technician_id: rule for rule in problem.hours
    }
    return replace(
        problem,
        cells=tuple(one for one in problem.cells if (one.technician_id, one.day) not in cells),
        demands=tuple(one for one in rests if one is not None),
        undrivable=tuple(one for one in problem.undrivable if one.visit_id not in held),
        stranded_upkeep=(
            *(one for one in problem.stranded_upkeep if one[0].id not in carried),
            *stranded,
        ),
        hours=tuple(
            replace(rules[name], spent_s=rules[name].spent_s + spent_s[name])
            for name in sorted(rules)
        ),
    )


def _rest(demand: Demand, held: Mapping[str, date], carried: Collection[str]) -> Demand | None:
    """What is still owed of a demand; None where nothing is."""
    left = [k for k, visit_id in enumerate(demand.visit_ids) if visit_id not in held]
    if not left:
        return None
    if len(left) == len(demand.visit_ids):
        return demand
    return replace(
        demand,
        visit_ids=tuple(demand.visit_ids[k] for k in left),
        patterns=_patterns_left(demand, left, held),
        extra_s=tuple(demand.extra_s[k] for k in left) if demand.extra_s else (),
        kept=tuple(demand.kept[k] for k in left) if demand.kept else (),
        upkeep=tuple(item for item in demand.upkeep if item.id not in carried),
    )


def _patterns_left(
    demand: Demand, left: Sequence[int], held: Mapping[str, date]
) -> tuple[tuple[date, ...], ...]:
    """Days of the visits left, that go with the fixed ones where any pattern does.

    Where the fixed days form no agreed pattern, the others keep off them.
    """
    fixed = {k: held[name] for k, name in enumerate(demand.visit_ids) if name in held}
    agreed = [
        one for one in demand.patterns if all(one[k] == day for k, day in fixed.items())
    ] or list(demand.patterns)
    days = set(fixed.values())
    open_ones = dict.fromkeys(tuple(one[k] for k in left) for one in agreed)
    apart = tuple(one for one in open_ones if not days & set(one))
    return apart or tuple(open_ones)
