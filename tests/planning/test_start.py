"""Searches that begin with a plan, and several searches side by side."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from dispatch.planning.check import violations
from dispatch.planning.placed import Placed
from dispatch.planning.problem import Problem
from dispatch.planning.search import search
from dispatch.planning.week import write_plan
from tests.planning.test_independent_check import assignments
from tests.planning.test_invariants import weeks
from tests.planning.weeks import (
    MON,
    TUE,
    cell,
    demand,
    on_a_line,
    problem,
    upkeep,
    where,
)

ROAD = on_a_line(0, 10, 25)
FIRST, SECOND = "S1/2026-W49/1", "S2/2026-W49/1"
S1, S2 = Placed(0, 0, ()), Placed(1, 0, ())


def town() -> Problem:
    """Forty pools in a town without order, three trucks on two days, some pools with windows."""
    at = [(37 * n * n + 11 * n) % 101 for n in range(41)]
    windows = ("", "", "09:00-10:00 13:00-14:00")
    pools = [
        demand(f"S{n:02}", n, MON, TUE, minutes=25, window=windows[n % 3]) for n in range(1, 41)
    ]
    trucks = [cell(name, day) for name in ("T1", "T2", "T3") for day in (MON, TUE)]
    return problem(on_a_line(*at), trucks, pools)


def test_a_plan_to_start_from_is_kept_where_it_is_good() -> None:
    """Without a round of search nothing moves, though both pools on one day would be shorter."""
    week = problem(
        ROAD, [cell(day=MON), cell(day=TUE)], [demand("S1", 1, MON, TUE), demand("S2", 2, MON, TUE)]
    )
    start = ((S2,), (S1,))
    assert search(week, seed=1, iterations=0, start=start).routes == start


def test_the_upkeep_of_a_plan_to_start_from_rides_on() -> None:
    """It stands on the second of two visits, where it was put."""
    item = upkeep("S1", skill=None)
    pool = demand("S1", 1, (MON, TUE), upkeep=[item])
    week = problem(ROAD, [cell(day=MON), cell(day=TUE)], [pool])
    for start in (
        ((Placed(0, 0, (0,)),), (Placed(0, 1, ()),)),
        ((Placed(0, 0, ()),), (Placed(0, 1, (0,)),)),
    ):
        assert search(week, seed=1, iterations=0, start=start).routes == start


def test_a_visit_on_a_day_it_no_longer_has_is_placed_anew_and_the_other_stays() -> None:
    """S1 now wants Monday; S2 stays on Tuesday, where it was."""
    week = problem(
        ROAD, [cell(day=MON), cell(day=TUE)], [demand("S1", 1, MON), demand("S2", 2, MON, TUE)]
    )
    found = search(week, seed=1, iterations=0, start=((), (S1, S2)))
    assert found.routes == ((S1,), (S2,))


def test_a_visit_with_somebody_who_must_not_come_any_more_is_placed_anew() -> None:
    """The customer has said no to T1; the neighbour stays with T1."""
    refused = replace(demand("S1", 1), unwanted_technician_ids=frozenset({"T1"}))
    week = problem(ROAD, [cell("T1"), cell("T2")], [refused, demand("S2", 2)])
    found = search(week, seed=1, iterations=0, start=((S1, S2), ()))
    assert found.routes == ((S2,), (S1,))


def test_a_day_that_has_become_too_short_is_mended() -> None:
    """Both pools take until 08:50; the shift now ends at 08:30, and Tuesday has room."""
    week = problem(
        ROAD,
        [cell(day=MON, hours="07:00-08:30"), cell(day=TUE)],
        [demand("S1", 1, MON, TUE), demand("S2", 2, MON, TUE)],
    )
    plan = write_plan(week, search(week, seed=1, iterations=50, start=((S1, S2), ())), seed=1)
    assert set(where(plan)) == {FIRST, SECOND}
    assert not violations(week, plan)


@settings(max_examples=100, deadline=None)
@given(st.data(), weeks())
def test_whatever_it_starts_from_a_search_breaks_no_rule(
    data: st.DataObject, week: Problem
) -> None:
    """A plan of last week may be wrong in every way: days, loads, windows, people, skills."""
    start = data.draw(assignments(week)).routes
    plan = write_plan(week, search(week, seed=3, iterations=20, start=start), seed=3)
    assert violations(week, plan) == ()


def test_a_good_plan_is_never_made_worse() -> None:
    """The search keeps the best it has seen, and it has seen what it began with."""
    week = town()
    before = search(week, seed=1, iterations=300)
    after = search(week, seed=9, iterations=50, start=before.routes)
    assert after.cost_s <= before.cost_s


def test_two_runs_begin_with_the_better_of_two_first_plans() -> None:
    """Run n has the seed n higher; without a round the leader is the cheaper first plan."""
    week = town()
    alone = [search(week, seed=seed, iterations=0).cost_s for seed in (5, 6)]
    assert alone[0] != alone[1]
    assert search(week, seed=5, iterations=0, runs=2).cost_s == min(alone)
    assert search(week, seed=5, iterations=60, runs=2).cost_s <= min(alone)


def test_the_same_seed_rounds_and_runs_give_the_same_plan() -> None:
    """However the cores share the work: runs meet after fixed shares of their rounds."""
    week = town()
    found = [search(week, seed=4, iterations=120, runs=2) for _ in range(3)]
    assert found[0] == found[1] == found[2]
    assert found[0] != search(week, seed=4, iterations=120, runs=1)
