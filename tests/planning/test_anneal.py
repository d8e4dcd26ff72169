"""What the search keeps count of from round to round."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from dispatch.planning.anneal import Stretch, anneal, best_of, construct, cost_s
from dispatch.planning.arrays import MISSING, encode
from dispatch.planning.problem import Hours, Problem
from dispatch.planning.routes import (
    INCOMPLETE,
    UNEVENNESS,
    VARIANT,
    empty_routes,
    nothing_to_undo,
)
from dispatch.planning.start import restore
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


def test_the_best_is_the_best_at_the_whole_price_of_unevenness() -> None:
    """While unevenness costs a part of its price, what looks cheap must not be taken for best."""
    even = tuple(Hours(name, target_s=20 * 3600, band_s=600) for name in ("T1", "T2"))
    a = encode(replace(crowded(), hours=even)).arrays
    s = empty_routes(a)
    undo, rng = nothing_to_undo(s), np.random.Generator(np.random.PCG64(1))
    construct(a, s, undo, rng)
    best = best_of(a, s)
    before_s, shares = int(best.cost_s[1]), []
    for first in range(0, 4_000, 1_000):
        anneal(a, s, undo, best, rng, Stretch(first, 1_000, 4_000, 60.0, 1.0, even_from=0.1))
        assert best.cost_s[0] == cost_s(a, s)
        shares.append(float(s.weight[UNEVENNESS]))
    assert shares == sorted(shares)
    assert shares[0] < 0.5
    assert shares[-1] == 1.0
    restore(a, s, best)
    assert best.cost_s[1] == cost_s(a, s) < before_s
