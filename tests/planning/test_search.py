"""The search against published optima and against every possible plan of tiny weeks."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from itertools import permutations, product

import numpy as np
import pytest

from dispatch.planning.check import violations
from dispatch.planning.placed import Placed
from dispatch.planning.plan import WeekPlan
from dispatch.planning.problem import Cell, Demand, Problem
from dispatch.planning.progress import Progress
from dispatch.planning.score import cost_s
from dispatch.planning.search import Assignment, search, usual_iterations
from dispatch.planning.week import plan_problem, write_plan
from tests.planning.weeks import (
    MINUTE,
    MON,
    NOON,
    THU,
    TUE,
    WEEK,
    cell,
    demand,
    on_a_line,
    problem,
    upkeep,
    where,
)

# burma14 of TSPLIB (G. Reinelt, "TSPLIB - A Traveling Salesman Problem Library", ORSA Journal on
# Computing 3, 1991): 14 towns, latitude and longitude as DDD.MM; optimal tour 3323.
BURMA14 = (
    (16.47, 96.10),
    (16.47, 94.44),
    (20.09, 92.54),
    (22.39, 93.37),
    (25.23, 97.24),
    (22.00, 96.05),
    (20.47, 97.02),
    (17.20, 96.29),
    (16.30, 97.38),
    (14.05, 98.12),
    (16.53, 97.38),
    (21.52, 95.59),
    (19.41, 97.13),
    (20.09, 94.55),
)

# E-n22-k4: N. Christofides and S. Eilon, "An algorithm for the vehicle-dispatching problem",
# Operational Research Quarterly 20 (1969): depot and 21 customers, four vehicles of 6000,
# distances rounded to integers; optimal total 375. (x, y, demand)
EILON22 = (
    (145, 215, 0),
    (151, 264, 1100),
    (159, 261, 700),
    (130, 254, 800),
    (128, 252, 1400),
    (163, 247, 2100),
    (146, 246, 400),
    (161, 242, 800),
    (142, 239, 100),
    (163, 236, 500),
    (148, 232, 600),
    (128, 231, 1200),
    (156, 217, 1300),
    (129, 214, 1300),
    (146, 208, 300),
    (164, 208, 900),
    (141, 206, 2100),
    (147, 193, 1000),
    (164, 193, 900),
    (129, 189, 2500),
    (155, 185, 1800),
    (139, 182, 700),
)


def geographic(a: tuple[float, float], b: tuple[float, float]) -> int:
    """Distance of type GEO as TSPLIB defines it, with its own pi and earth radius."""

    def radians(value: float) -> float:
        degrees = int(value)
        return 3.141592 * (degrees + 5.0 * (value - degrees) / 3.0) / 180.0

    lat_a, lon_a, lat_b, lon_b = radians(a[0]), radians(a[1]), radians(b[0]), radians(b[1])
    q1, q2, q3 = math.cos(lon_a - lon_b), math.cos(lat_a - lat_b), math.cos(lat_a + lat_b)
    return int(6378.388 * math.acos(0.5 * ((1.0 + q1) * q2 - (1.0 - q1) * q3)) + 1.0)


def test_a_published_travelling_salesman_optimum_is_reached() -> None:
    """One truck-day over burma14 drives exactly the published 3323."""
    drive = np.array([[0 if a == b else geographic(a, b) for b in BURMA14] for a in BURMA14])
    towns = [demand(f"S{n:02}", n, minutes=1) for n in range(1, 14)]
    plan = plan_problem(problem(drive, [cell()], towns), iterations=3000)
    assert not plan.unplaced
    assert plan.drive_s == 3323


def test_a_published_vehicle_routing_optimum_is_reached() -> None:
    """Four trucks over E-n22-k4, payload as capacity, drive exactly the published 375."""
    drive = np.array(
        [[round(math.dist(a[:2], b[:2])) for b in EILON22] for a in EILON22], dtype=np.int64
    )
    customers = [
        demand(f"S{n:02}", n, minutes=1, load_kg=EILON22[n][2]) for n in range(1, len(EILON22))
    ]
    trucks = [cell(f"T{n}", payload_kg=6000) for n in range(4)]
    plan = plan_problem(problem(drive, trucks, customers), iterations=8000)
    assert not plan.unplaced
    assert plan.drive_s == 375


def random_week(seed: int) -> Problem:
    """Four sites, three truck-days of two technicians; prices, windows, locks, a twice-weekly."""
    rng = np.random.default_rng(seed)
    drive = on_a_line(*rng.integers(0, 40, 6))
    cells = [
        cell("T1", MON, "07:00-10:00", skills=["media"], meal=None),
        cell("T1", THU, "07:00-10:00", skills=["media"]),
        cell("T2", MON, "08:00-13:30", start=1, meal=NOON),
    ]
    skilled = ["media"] if rng.random() < 0.5 else []
    demands = [
        demand("S1", 2, (MON, THU), minutes=int(rng.integers(10, 60))),
        demand("S2", 3, MON, THU, minutes=int(rng.integers(10, 90)), skills=skilled),
        demand("S3", 4, MON, THU, minutes=30, usual="T1", weekdays=[0]),
        demand("S4", 5, MON, minutes=40, window="08:30-09:30"),
    ]
    return problem(drive, cells, demands)


def every_assignment(week: Problem) -> Iterator[Assignment]:
    """All ways to put the first visits of the demands, or none, into cells in any order."""
    slots = [
        (n, visit, [None, *range(len(week.cells))])
        for n, one in enumerate(week.demands)
        for visit in range(len(one.visit_ids))
    ]
    for choice in product(*(options for _, _, options in slots)):
        groups: list[list[Placed]] = [[] for _ in week.cells]
        for (n, visit, _), at in zip(slots, choice, strict=True):
            if at is not None:
                groups[at].append(Placed(n, visit, ()))
        for orders in product(*(permutations(group) for group in groups)):
            yield Assignment(tuple(orders), 0, 0)


def could_stand(week: Problem, assignment: Assignment) -> bool:
    """A quick look that leaves out most assignments before they are written down."""
    for truck, order in zip(week.cells, assignment.routes, strict=True):
        for placed in order:
            one = week.demands[placed.demand]
            if all(truck.day != pattern[placed.visit] for pattern in one.patterns):
                return False
            if not one.skills <= truck.skills:
                return False
    return True


def cheapest(week: Problem) -> int:
    """Cost of the best of all plans that break no rule."""
    costs = []
    for assignment in every_assignment(week):
        if could_stand(week, assignment):
            plan = write_plan(week, assignment, seed=0)
            if not violations(week, plan):
                costs.append(cost_s(week, plan))
    return min(costs)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_no_plan_of_a_tiny_week_is_cheaper_than_the_one_found(seed: int) -> None:
    """Against every possible assignment and order, judged by the check alone."""
    week = random_week(seed)
    assert plan_problem(week, iterations=2000).cost_s == cheapest(week)


def company(sites: int, technicians: int, seed: int = 7) -> Problem:
    """A company on a square town of 20 by 20 minutes, all weekdays open."""
    rng = np.random.default_rng(seed)
    at = rng.uniform(0, 20, (sites + technicians, 2))
    drive = np.abs(at[:, None] - at[None, :]).sum(axis=2)
    cells: list[Cell] = [
        cell(f"T{t}", day, "07:00-15:30", start=t, meal=NOON)
        for t in range(technicians)
        for day in (MON, TUE, THU)
    ]
    demands: list[Demand] = [
        demand(
            f"S{n:03}",
            technicians + n,
            *((MON, TUE, THU) if n % 9 else ((MON, THU),)),
            minutes=int(rng.integers(15, 40)),
        )
        for n in range(sites)
    ]
    return problem(np.asarray(drive * 60, dtype=np.int64), cells, demands)


def routes_of(plan: WeekPlan) -> list[tuple[str, date, tuple[str, ...]]]:
    return [(r.technician_id, r.day, tuple(s.visit_id for s in r.stops)) for r in plan.routes]


def heavy_week(hours: str, minutes: int, upkeep_minutes: int) -> Problem:
    """Sixty pools at random, ten of them with 136 kg of sand that one of two technicians may take.

    A truck of 300 kg carries two such loads and four visits of 6 kg.
    """
    days = WEEK.days[:5]
    trucks = [cell("T1", day, hours, skills=["media"], payload_kg=300) for day in days]
    trucks += [cell("T2", day, hours, payload_kg=300) for day in days]
    sites = []
    for n in range(60):
        sand = upkeep(f"S{n:02}", mass_kg=136, minutes=upkeep_minutes)
        todo = [sand] if n % 6 == 0 else []
        sites.append(demand(f"S{n:02}", 1 + n, *days, minutes=minutes, load_kg=6, upkeep=todo))
    at = np.random.default_rng(5).integers(0, 30, (61, 2))
    return problem(MINUTE * np.abs(at[:, None] - at[None, :]).sum(axis=-1), trucks, sites)


@pytest.mark.parametrize("seed", range(1, 7))
def test_heavy_upkeep_finds_a_truck_that_must_leave_others_for_it(seed: int) -> None:
    """Ten loads ride on five trucks, two on each, though few pools stay on these then.

    The other technician takes forty visits of twenty minutes, eight a day: nothing need be put off.
    """
    week = heavy_week("07:00-15:00", 20, 60)
    plan = plan_problem(week, iterations=10_000, seed=seed)
    assert not violations(week, plan)
    assert not plan.unplaced
    assert not plan.put_off


@pytest.mark.parametrize("seed", range(1, 6))
def test_the_first_plan_of_a_full_week_with_heavy_upkeep_leaves_nobody_out(seed: int) -> None:
    """What trucks may carry too much on the way must not keep it from being one to use."""
    week = heavy_week("07:00-12:00", 30, 30)
    plan = plan_problem(week, iterations=0, seed=seed)
    assert not violations(week, plan)
    assert not plan.unplaced


def test_the_same_seed_gives_the_same_plan() -> None:
    """A dispatcher who plans again gets the plan she has seen."""
    week = company(40, 2)
    assert plan_problem(week, seed=5, iterations=600) == plan_problem(week, seed=5, iterations=600)


def used_to(week: Problem, plan: WeekPlan) -> Problem:
    """The week in which every customer is used to what a plan gives it, at a low price."""
    found = where(plan)
    demands = []
    for one in week.demands:
        cells = [found[visit] for visit in one.visit_ids]
        weekdays = frozenset(day.weekday() for _, day in cells)
        demands.append(
            replace(one, usual_technician_id=cells[0][0], usual_weekdays=weekdays)
            if len({who for who, _ in cells}) == 1
            else one
        )
    prices = replace(week.prices, technician_change_s=30, day_change_s=60)
    return replace(week, demands=tuple(demands), prices=prices)


def test_the_search_begins_with_everybody_at_the_usual_place() -> None:
    """A place that another customer has taken first is seldom found back at a low price."""
    week = used_to(company(40, 2), plan_problem(company(40, 2), iterations=1500))
    first = plan_problem(week, iterations=0)
    assert sum(one.usual_technician_id is not None for one in week.demands) > 30
    assert not first.unplaced
    assert not first.changes


def test_another_seed_searches_elsewhere() -> None:
    """Otherwise the seed would be for show."""
    week = company(40, 2)
    one, two = (plan_problem(week, seed=seed, iterations=50) for seed in (1, 2))
    assert routes_of(one) != routes_of(two)


def test_a_longer_search_is_never_worse_than_its_first_plan() -> None:
    """The best plan seen is kept, whatever the search walks through."""
    week = company(40, 2)
    first = plan_problem(week, iterations=0)
    later = plan_problem(week, iterations=1500)
    assert later.cost_s < first.cost_s


def test_a_run_that_is_stopped_gives_the_best_so_far() -> None:
    """Cancelling keeps what has been found, and says how far the search came."""
    week = company(40, 2)
    seen: list[Progress] = []
    plan = plan_problem(
        week,
        iterations=100_000,
        progress=seen.append,
        should_stop=lambda: len(seen) >= 2,
    )
    assert plan.iterations == seen[-1].iteration < 100_000
    assert plan.cost_s == seen[-1].best_cost_s
    assert not violations(week, plan)


def test_progress_falls_to_the_cost_of_the_plan() -> None:
    """What the page shows while planning is what the plan then costs."""
    week = company(30, 2)
    seen: list[Progress] = []
    plan = plan_problem(week, iterations=30_000, progress=seen.append)
    costs = [one.best_cost_s for one in seen]
    assert costs == sorted(costs, reverse=True)
    assert costs[-1] == plan.cost_s == cost_s(week, plan)


def test_a_week_without_technicians_leaves_everything_unplaced() -> None:
    """Nothing is lost when everybody is off."""
    week = problem(on_a_line(0, 5), [], [demand("S1", 1, MON)])
    plan = plan_problem(week)
    assert [one.visit_id for one in plan.unplaced] == ["S1/2026-W49/1"]
    assert search(week, seed=1, iterations=10).cost_s == week.prices.unplaced_s


def test_a_larger_company_never_gets_a_shorter_search() -> None:
    """Up to a minute for most, and for the largest a share for each site: none goes unlooked at."""
    rounds = [usual_iterations(sites) for sites in range(1, 12_000)]
    assert rounds == sorted(rounds)
    assert rounds[399] == 4 * rounds[99]
    assert all(many >= 500 * sites for sites, many in enumerate(rounds, start=1))
