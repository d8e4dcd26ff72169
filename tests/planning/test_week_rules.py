"""Rules of a week: hours, balance, who may come, what matters more, what must stay."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dispatch.planning.check import violations
from dispatch.planning.placed import Placed
from dispatch.planning.problem import Cell, Hours, Prices, Problem
from dispatch.planning.score import cost_s
from dispatch.planning.search import search
from dispatch.planning.week import write_plan
from tests.planning.weeks import (
    MINUTE,
    MON,
    TUE,
    WED,
    cell,
    demand,
    on_a_line,
    planned,
    problem,
    where,
)

ROAD = on_a_line(0, 10, 25)
FIRST, SECOND = "S1/2026-W49/1", "S2/2026-W49/1"


def two_days(*hours: Hours, monday: Cell | None = None) -> Problem:
    """A pool on Monday and one on Tuesday: 10 + 30 + 10 = 50 min of work each."""
    week = problem(
        ROAD, [monday or cell(day=MON), cell(day=TUE)], [demand("S1", 1, MON), demand("S2", 1, TUE)]
    )
    return replace(week, hours=hours)


@pytest.mark.parametrize(
    ("most_min", "spent_min", "placed"), [(100, 0, 2), (99, 0, 1), (130, 30, 2), (129, 30, 1)]
)
def test_nobody_works_more_than_a_week_may_hold(most_min: int, spent_min: int, placed: int) -> None:
    """100 min of work, besides what has been worked elsewhere in the week."""
    rule = Hours("T1", most_s=most_min * MINUTE, spent_s=spent_min * MINUTE)
    week = two_days(rule)
    plan = planned(week)
    assert len(where(plan)) == placed
    assert not violations(week, plan)


def test_hours_above_the_regular_ones_of_a_week_are_paid_as_overtime() -> None:
    """100 min of work, 90 regular: 10 min at 1.5 beside 40 min of driving."""
    assert planned(two_days(Hours("T1", regular_s=90 * MINUTE))).cost_s == 55 * MINUTE


def test_overtime_of_a_day_is_not_paid_again_for_the_week() -> None:
    """Monday's shift ends at 07:45, the truck is back at 07:50.

    Of the 10 min above the week's 90 Monday has paid 5: 1.5 x (5 + 5) and 40 min of driving.
    """
    monday = replace(cell(hours="07:00-07:45"), overtime_s=5 * MINUTE)
    week = two_days(Hours("T1", regular_s=90 * MINUTE), monday=monday)
    plan = planned(week)
    assert plan.routes[0].overtime_s == 5 * MINUTE
    assert plan.cost_s == cost_s(week, plan) == 55 * MINUTE


def test_overtime_of_a_week_is_worked_only_where_it_is_cheaper() -> None:
    """T1 has no regular hours left."""
    week = problem(
        on_a_line(0, 10, 40), [cell("T1"), cell("T2", start=2)], [demand("S1", 1, minutes=30)]
    )
    # T1: 20 min of driving; T2: 60 min. Overtime of 50 min at 1.5 is 75 min.
    assert where(planned(week))[FIRST] == ("T1", MON)
    tired = replace(week, hours=(Hours("T1", regular_s=0),))
    assert where(planned(tired))[FIRST] == ("T2", MON)


@pytest.mark.parametrize(("uneven", "at_work"), [(0.5, 2), (0.2, 1)])
def test_a_target_gives_work_to_the_idle_where_its_price_pays(uneven: float, at_work: int) -> None:
    """One truck drives 50 min and works 110; two drive 20 + 50 and work 50 and 80.

    Target 65, band 15: with one truck 30 + 50 min lie outside, with two none. At 0.5 a second
    those 80 min cost 40, more than the 20 min of driving; at 0.2 they cost 16.
    """
    week = problem(ROAD, [cell("T1"), cell("T2")], [demand("S1", 1), demand("S2", 2)])
    rules = tuple(Hours(name, target_s=65 * MINUTE, band_s=15 * MINUTE) for name in ("T1", "T2"))
    plan = planned(replace(week, hours=rules, prices=Prices(uneven=uneven)))
    assert sum(bool(route.stops) for route in plan.routes) == at_work
    expected_min = 20 + 50 if at_work == 2 else 50 + 0.2 * 80
    assert plan.cost_s == expected_min * MINUTE


def test_a_job_for_two_goes_to_the_truck_with_two_aboard() -> None:
    """T1 lives next door and is alone; T2 comes from 50 min away with a helper."""
    job = replace(demand("S1", 1), crew=2)
    road = on_a_line(0, 10, 60)
    pair = replace(cell("T2", start=2), crew=2)
    assert where(planned(problem(road, [cell("T1"), pair], [job])))[FIRST] == ("T2", MON)
    alone = planned(problem(road, [cell("T1"), cell("T2", start=2)], [job]))
    assert [one.visit_id for one in alone.unplaced] == [FIRST]


def test_a_technician_whom_the_customer_does_not_want_never_comes() -> None:
    """Not even from next door, and not when nobody else works."""
    site = replace(demand("S1", 1), unwanted_technician_ids=frozenset({"T1"}))
    road = on_a_line(0, 10, 60)
    week = problem(road, [cell("T1"), cell("T2", start=2)], [site])
    assert where(planned(week))[FIRST] == ("T2", MON)
    assert planned(problem(road, [cell("T1")], [site])).unplaced


@pytest.mark.parametrize(("importance", "placed"), [(1.0, FIRST), (2.0, SECOND)])
def test_importance_decides_which_visit_is_left_out(importance: float, placed: str) -> None:
    """A shift of 80 min has room for the near pool (50 min) or the far one (80), not for both."""
    far = replace(demand("S2", 2), importance=importance)
    plan = planned(problem(ROAD, [cell(hours="07:00-08:20")], [demand("S1", 1), far]))
    assert list(where(plan)) == [placed]


def test_kept_visits_stay_while_others_move() -> None:
    """S1 is kept with T2 on Tuesday; S2 leaves T1's Monday for it: 50 min of driving, not 70."""
    days = [cell(name, day) for name in ("T1", "T2") for day in (MON, TUE)]
    kept = replace(demand("S1", 1, MON, TUE), kept=(("T2", TUE),))
    week = problem(ROAD, days, [kept, demand("S2", 2, MON, TUE)])
    start = ((Placed(1, 0, ()),), (), (), (Placed(0, 0, ()),))
    plan = write_plan(week, search(week, seed=1, iterations=300, start=start), seed=1)
    assert where(plan) == {FIRST: ("T2", TUE), SECOND: ("T2", TUE)}
    assert plan.drive_s == 50 * MINUTE


def test_no_other_visit_is_worth_leaving_out_one_that_must_stay() -> None:
    """Both last an hour of a shift of two; the other is twice as important, and not promised."""
    kept = replace(demand("S1", 1, minutes=60), kept=(("T1", MON),))
    other = replace(demand("S2", 1, minutes=60), importance=2.0)
    week = problem(ROAD, [cell(hours="07:00-09:00")], [kept, other])
    plan = planned(week)
    assert list(where(plan)) == [FIRST]
    assert not violations(week, plan)


def test_a_full_week_is_timed_to_be_paid_shortest() -> None:
    """Pool 1 between 08:30 and 09:00 or between 09:45 and 10:00, pool 2 from 09:55 on.

    Waiting for pool 2 costs 25 min, beginning later 20 min of overtime at 1.5; but the week may
    hold two hours only: 10 + 30 + 60 + 10 = 110 min of them without waiting.
    """
    truck = replace(cell(hours="07:00-11:05"), overtime_s=30 * MINUTE)
    pools = [
        demand("S1", 1, minutes=30, window="08:30-09:00 09:45-10:00"),
        demand("S2", 1, minutes=60, window="09:55-10:30"),
    ]
    free = problem(ROAD, [truck], pools)
    capped = replace(free, hours=(Hours("T1", most_s=120 * MINUTE),))
    for week, waits_min, overtime_min in ((free, 25, 0), (capped, 0, 20)):
        plan = planned(week)
        assert not violations(week, plan)
        (route,) = plan.routes
        assert (route.wait_s, route.overtime_s) == (waits_min * MINUTE, overtime_min * MINUTE)


def test_a_visit_kept_on_its_day_leaves_the_others_of_its_site_only_fitting_days() -> None:
    """The first of two visits stays on Tuesday: of two patterns only Tuesday and Wednesday fit."""
    days = [cell(day=day) for day in (MON, TUE, WED)]
    site = replace(demand("S1", 1, (MON, TUE), (TUE, WED)), kept=(("T1", TUE), None))
    plan = planned(problem(ROAD, days, [site]))
    assert [day for _, day in where(plan).values()] == [TUE, WED]


def test_loads_that_fit_in_one_way_only_are_all_placed() -> None:
    """Two trucks of 200 kg and 400 kg to carry: 120 with 80 and 150 with 50, nothing else.

    The neighbours do not fit together; on its way the search may overload a truck, its plan not.
    """
    loads = (120.0, 150.0, 80.0, 50.0)
    road = on_a_line(0, 10, 12, 50, 52)
    pools = [demand(f"S{n}", n, load_kg=kg) for n, kg in enumerate(loads, 1)]
    week = problem(road, [cell("T1", payload_kg=200), cell("T2", payload_kg=200)], pools)
    plan = planned(week)
    assert not plan.unplaced
    assert sorted(route.load_kg for route in plan.routes) == [200.0, 200.0]
    assert not violations(week, plan)
