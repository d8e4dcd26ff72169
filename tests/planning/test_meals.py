"""Where the search lets a technician eat: a meal nobody waits for takes only its own time."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from dispatch.planning.anneal import construct, cost_s
from dispatch.planning.arrays import FIRST_NODE, Arrays, encode
from dispatch.planning.placed import Placed
from dispatch.planning.problem import Problem
from dispatch.planning.recreate import list_idle, place_unit
from dispatch.planning.routes import (
    DAY_END_S,
    DRIVE_S,
    MEAL_AT,
    READY_S,
    Routes,
    Undo,
    empty_routes,
    nothing_to_undo,
)
from dispatch.planning.search import search
from dispatch.planning.start import lay_routes
from dispatch.planning.times import insert, move_meal, take_back, take_unit
from tests.planning.weeks import MINUTE, MON, NOON, THU, TUE, cell, demand, on_a_line, problem


class Laid(NamedTuple):
    """A plan as the search holds it."""

    a: Arrays
    s: Routes
    undo: Undo
    rng: np.random.Generator


def laid(week: Problem, *orders: tuple[int, ...]) -> Laid:
    """The first visits of the numbered demands in this order, cell by cell, with their meals."""
    encoded = encode(week)
    s = empty_routes(encoded.arrays)
    lay_routes(week, encoded, s, [[Placed(u, 0, ()) for u in order] for order in orders])
    for r in range(len(orders)):
        assert move_meal(encoded.arrays, s, r)
    return Laid(encoded.arrays, s, nothing_to_undo(s), np.random.Generator(np.random.PCG64(1)))


def road(pools: int, minutes: int, *, hours: str = "07:00-15:30") -> Problem:
    """One truck-day along a straight road, a pool each minute, home at its far end."""
    truck = replace(cell(hours=hours, meal=NOON), end=pools + 1)
    places = on_a_line(*range(pools + 2))
    return problem(
        places, [truck], [demand(f"S{n}", n, minutes=minutes) for n in range(1, 1 + pools)]
    )


def test_the_meal_is_taken_where_the_day_ends_first() -> None:
    """Leaving home later hides a wait for the meal, but the time is lost for other pools.

    By hand: 10 pools of 40 min, 11 min of driving, 30 min of meal; from 07:00 that ends at 14:21.
    """
    _, s, _, _ = laid(road(10, 40), tuple(range(10)))
    assert s.day[0, DAY_END_S] == (14 * 60 + 21) * MINUTE
    assert s.at[0, s.day[0, MEAL_AT] - 1, READY_S] >= NOON.earliest_s


def test_stops_put_in_before_the_meal_move_it_to_an_earlier_one() -> None:
    """Six pools in a row go in at the front; pushed back each time, the meal would be too late."""
    week = road(12, 30)
    a, s, _, _ = laid(week, (6, 7, 8, 9, 10, 11))
    for unit in range(5, -1, -1):
        assert insert(a, s, 0, 1, int(a.unit[unit, FIRST_NODE]))
    assert s.day[0, DAY_END_S] == (7 * 60 + 12 * 30 + 13 + 30) * MINUTE


def test_a_pool_at_the_start_of_a_half_day_may_make_it_owe_a_meal_at_noon() -> None:
    """Four pools until 12:30; a fifth, on the way to the first, means eating, but not at 8.

    Only in front does it cost no detour; the meal beside it would not begin before 11:00.
    """
    week = road(5, 80, hours="07:00-15:00")
    week = replace(week, demands=(replace(week.demands[0], service_s=3600), *week.demands[1:]))
    a, s, undo, rng = laid(week, (1, 2, 3, 4))
    assert s.day[0, MEAL_AT] == 0
    take_unit(a, s, undo, 0)
    list_idle(s)
    assert place_unit(a, s, undo, rng, 0, 0.0) == 0
    assert s.day[0, DRIVE_S] == 6 * MINUTE
    assert s.day[0, DAY_END_S] == (13 * 60 + 56) * MINUTE


def test_a_pool_taken_out_goes_back_for_no_more() -> None:
    """Whoever leaves a full day must find it as it was, or the search can only get worse."""
    at = [0, *((53 * n) % 89 for n in range(1, 41))]
    pools = [demand(f"S{n:02}", n, MON, TUE, THU, minutes=30 + n % 17) for n in range(1, 41)]
    trucks = [cell(name, day, meal=NOON) for name in ("T1", "T2") for day in (MON, TUE, THU)]
    week = problem(on_a_line(*at), trucks, pools)
    encoded = encode(week)
    a, s = encoded.arrays, empty_routes(encoded.arrays)
    undo, rng = nothing_to_undo(s), np.random.Generator(np.random.PCG64(1))
    lay_routes(week, encoded, s, search(week, seed=1, iterations=2_000).routes)
    construct(a, s, undo, rng)
    before_s = cost_s(a, s)
    for unit in range(len(pools)):
        take_unit(a, s, undo, unit)
        for r in undo.cells[: undo.changed[0]]:
            move_meal(a, s, int(r))
        list_idle(s)
        place_unit(a, s, undo, rng, unit, 0.0)
        assert cost_s(a, s) <= before_s, week.demands[unit].site_id
        take_back(a, s, undo)
