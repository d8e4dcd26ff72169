"""Published formats are read as their collections mean them; a wrong distance shows in the cost."""

from __future__ import annotations

from pathlib import Path

import pytest

from dispatch.planning.week import plan_problem
from tests.bench.instances import read_best, read_instance

# Made up by hand: a depot and three customers at the corners of 3-4-5 triangles, one bent by 0.5.
WITH_CAPACITY = """NAME : tiny
COMMENT : "made up"
TYPE : CVRP
DIMENSION : 4
EDGE_WEIGHT_TYPE : EUC_2D
CAPACITY : 10
NODE_COORD_SECTION
1\t0\t0
2\t30\t40
3\t60\t0.5
4\t30\t-40
DEMAND_SECTION
1\t0
2\t4
3\t4
4\t4
DEPOT_SECTION
\t1
\t-1
EOF
"""
WITH_WINDOWS = """tiny

VEHICLE
NUMBER     CAPACITY
  2         10

CUSTOMER
CUST NO.  XCOORD.   YCOORD.    DEMAND   READY TIME  DUE DATE   SERVICE   TIME

    0      0         0          0          0        300          0
    1      1         1          4          0        300         10
    2      2         2          4          100      110         10
"""
# Two days, one truck; the first customer on both days, the second on the second day only.
PERIODIC = """1 1 2 2
0 10
0 10
0 0 0 0 0 0 0
1 3 4 0 4 2 1 3
2 6 8 0 4 1 1 1
9 9 9 0 0 0 0
"""


def written(folder: Path, name: str, text: str) -> Path:
    file = folder / name
    file.write_text(text)
    return file


def test_distances_with_capacities_are_whole_numbers(tmp_path: Path) -> None:
    """50, 49.6 -> 50 and 60.002 -> 60: trucks for ten drive 160 + 100, the best of three pairs."""
    instance = read_instance(written(tmp_path, "tiny.vrp", WITH_CAPACITY))
    plan = plan_problem(instance.problem, iterations=200)
    assert not plan.unplaced
    assert instance.length(plan) == 50 + 50 + 60 + 100


def test_distances_with_time_windows_have_one_decimal(tmp_path: Path) -> None:
    """1.414 is 1.4 and 2.828 is 2.8: 1.4 + 1.4 + 2.8; the second customer opens at 100."""
    instance = read_instance(written(tmp_path, "tiny.txt", WITH_WINDOWS))
    plan = plan_problem(instance.problem, iterations=200)
    assert instance.length(plan) == pytest.approx(5.6)
    begins = [stop.start_s for route in plan.routes for stop in route.stops]
    assert 1000 in begins  # tenths of the unit


def test_periodic_distances_are_exact_and_days_read_from_the_left(tmp_path: Path) -> None:
    """Day 1 to the first customer (10), day 2 to both (20); the surplus row is passed over."""
    instance = read_instance(written(tmp_path, "tiny.txt", PERIODIC))
    plan = plan_problem(instance.problem, iterations=200)
    assert instance.length(plan) == pytest.approx(30)
    assert [len(route.stops) for route in plan.routes] == [1, 2]


def test_routes_that_do_not_add_up_to_their_cost_are_refused(tmp_path: Path) -> None:
    """The check that distances are taken as the collection takes them."""
    instance = read_instance(written(tmp_path, "tiny.vrp", WITH_CAPACITY))
    routes = "Route #1: 1 2\nRoute #2: 3\n"
    assert read_best(written(tmp_path, "a.sol", routes + "Cost 260\n"), instance) == 260
    with pytest.raises(ValueError, match=r"add up to 260\.0, not to 259\.0"):
        read_best(written(tmp_path, "b.sol", routes + "Cost 259\n"), instance)
