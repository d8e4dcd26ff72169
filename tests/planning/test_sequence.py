"""A route that is changed stop by stop is the same as one written anew."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from dispatch.planning.arrays import encode
from dispatch.planning.problem import Supply
from dispatch.planning.routes import (
    AFTER_G,
    BEFORE_G,
    IN_CELL,
    LOAD_G,
    MEAL_AT,
    STOPS,
    SUPPLY_AT,
    VISITS,
    Routes,
    empty_routes,
)
from dispatch.planning.sequence import position_of, put, take_out, write_order
from tests.planning.weeks import NOON, cell, demand, on_a_line, problem

POOLS = 6
KEPT = [STOPS, VISITS, LOAD_G, BEFORE_G, AFTER_G, SUPPLY_AT, MEAL_AT]


def rows(s: Routes) -> list[list[int]]:
    """Nodes, places, legs and spans of the only route, its sums, and where each visit stands."""
    stops = int(s.day[0, STOPS])
    return [
        s.node[0, 1 : stops + 1].tolist(),
        s.near[0, : stops + 2].ravel().tolist(),
        s.span[0, 1 : stops + 1].ravel().tolist(),
        s.day[0, KEPT].tolist(),
        s.visit[:, IN_CELL].tolist(),
    ]


@settings(deadline=None)  # the first call compiles
@given(st.lists(st.tuples(st.integers(0, POOLS + 1), st.floats(0, 1)), max_size=25))
def test_a_route_changed_stop_by_stop_is_as_if_written_anew(
    changes: list[tuple[int, float]],
) -> None:
    """Visits, the meal and the supply stop come and go anywhere; nothing is left of what was."""
    truck = replace(cell(meal=NOON), supply=Supply(POOLS + 1, 600))
    pools = [
        replace(demand(f"S{n}", n, minutes=10 + n), load_kg=1.0 * n, chemicals_kg=0.5 * n)
        for n in range(1, POOLS + 1)
    ]
    week = problem(on_a_line(0, 3, 11, 4, 23, 9, 15, 7), [truck], pools)
    encoded = encode(week)
    a, s = encoded.arrays, empty_routes(encoded.arrays)
    for node, where in changes:
        stops = int(s.day[0, STOPS])
        if node in s.node[0, 1 : stops + 1]:
            take_out(a, s, 0, position_of(s, 0, node))
        else:
            put(a, s, 0, 1 + round(where * stops), node)
    anew = empty_routes(a)
    anew.node[:], anew.day[0, STOPS] = s.node, s.day[0, STOPS]
    write_order(a, anew, 0)
    assert rows(s) == rows(anew)
    assert np.all(s.near[0, 0] == anew.near[0, 0])
