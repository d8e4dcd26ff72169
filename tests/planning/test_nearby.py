"""The order in which the search numbers places and sites."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from dispatch.planning.nearby import demands_in_neighbourhoods, in_neighbourhoods
from dispatch.planning.problem import Problem
from dispatch.planning.week import plan_problem
from tests.planning.weeks import MON, TUE, cell, demand, on_a_line, problem


def town() -> Problem:
    """Thirty pools along one road, in no order, and two trucks on two days."""
    at = [0, *((37 * n) % 31 + 1 for n in range(30))]
    pools = [demand(f"S{n:02}", n, MON, TUE, minutes=15) for n in range(1, 31)]
    trucks = [cell(name, day) for name in ("T1", "T2") for day in (MON, TUE)]
    return problem(on_a_line(*at), trucks, pools)


def test_places_of_one_road_stand_in_the_order_of_the_road() -> None:
    """On a line every halving cuts the road in two, so parts of it follow each other."""
    at = np.array([(37 * n) % 64 for n in range(64)])
    order = in_neighbourhoods(np.abs(at[:, None] - at[None, :]) * 60)
    eighths = at[order].reshape(8, 8) // 8
    assert (eighths == eighths[:, :1]).all()


@given(st.lists(st.integers(0, 9), max_size=40))
def test_every_place_has_one_rank(at: list[int]) -> None:
    """Places on one spot, one place and none at all are numbered too."""
    here = np.array(at, dtype=np.int64)
    order = in_neighbourhoods(np.abs(here[:, None] - here[None, :]))
    assert sorted(order) == list(range(len(at)))


def test_sites_follow_their_places() -> None:
    """Two sites at one place keep their order."""
    week = town()
    twice = replace(week, demands=(*week.demands, replace(week.demands[0], site_id="S99")))
    order = demands_in_neighbourhoods(twice)
    assert sorted(order) == list(range(31))
    assert order.index(30) == order.index(0) + 1


def test_a_plan_does_not_depend_on_the_order_of_the_sites() -> None:
    """Sites are numbered anew, so a list that is sorted another way gives the same week."""
    week = town()
    other = replace(week, demands=week.demands[::-1])
    one, two = (plan_problem(each, seed=3, iterations=300) for each in (week, other))
    assert one.routes == two.routes
