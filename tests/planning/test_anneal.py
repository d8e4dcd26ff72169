"""What the search keeps count of from round to round."""

from __future__ import annotations

import numpy as np
import pytest

from dispatch.planning.anneal import Stretch, anneal, best_of, construct, cost_s
from dispatch.planning.arrays import MISSING, encode
from dispatch.planning.problem import Problem
from dispatch.planning.routes import INCOMPLETE, VARIANT, empty_routes, nothing_to_undo
from tests.planning.weeks import MON, THU, TUE, cell, demand, on_a_line, problem, upkeep


def crowded() -> Problem:
    """More pools than two trucks can serve; some come twice, some have a window or upkeep."""
    at = [0, *((53 * n) % 89 for n in range(1, 41))]
    pools = [
        demand(
            f"S{n:02}",
            n,
            *([(MON, THU), (TUE, THU)] if n % 5 == 0 else [MON, TUE, THU]),
            minutes=35 + n % 30,
            window="09:00-12:00" if n % 7 == 0 else "",
            upkeep=[upkeep(f"S{n:02}", skill=None)] if n % 6 == 0 else (),
        )
        for n in range(1, 41)
    ]
    trucks = [cell(name, day) for name in ("T1", "T2") for day in (MON, TUE, THU)]
    return problem(on_a_line(*at), trucks, pools)


@pytest.mark.parametrize("hot_s", [1.0, 600.0])
def test_counts_and_costs_hold_after_rounds_given_up(hot_s: float) -> None:
    """Most rounds are given up half-way in a cold search; what they took out is as it was."""
    a = encode(crowded()).arrays
    s = empty_routes(a)
    undo, rng = nothing_to_undo(s), np.random.Generator(np.random.PCG64(1))
    construct(a, s, undo, rng)
    best = best_of(a, s)
    anneal(a, s, undo, best, rng, Stretch(0, 2_000, 2_000, hot_s, hot_s))
    left_out = int((a.variant[s.unit[:, VARIANT], MISSING] > 0).sum())
    assert s.counts[INCOMPLETE] == left_out > 0
    assert best.cost_s[0] == cost_s(a, s)
    assert best.cost_s[1] <= best.cost_s[0]
