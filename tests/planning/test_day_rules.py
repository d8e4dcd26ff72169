"""Rules of one truck-day: several windows, slack, overtime, the first visit, chemicals aboard."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dispatch.clock import format_time, parse_time
from dispatch.planning.check import violations
from dispatch.planning.plan import Route, Rule
from dispatch.planning.problem import Problem, Supply
from dispatch.planning.timetable import Call, Times, times_of
from dispatch.sites import TimeWindow
from dispatch.technicians import Break
from tests.planning.weeks import (
    MINUTE,
    MON,
    THU,
    by_hand,
    cell,
    demand,
    on_a_line,
    planned,
    problem,
    where,
)

ROAD = on_a_line(0, 10, 25)  # depot, first pool after 10 min, second 15 min further
FIRST, SECOND = "S1/2026-W49/1", "S2/2026-W49/1"
# Depot, three pools that need 100 kg each, and a shop one minute beyond the second pool.
SHOP_ROAD = on_a_line(0, 10, 25, 40, 26)
SHOP = Supply(place=4, service_s=15 * MINUTE)


def call(place: int, *windows: str, minutes: int = 30, kg: float = 0.0) -> Call:
    bounds = [[parse_time(text) for text in one.split("-")] for one in windows]
    return Call(place, minutes * MINUTE, tuple(TimeWindow(*one) for one in bounds), kg)


def leaves(*calls: Call) -> tuple[str, Times]:
    """When the truck leaves the depot, and the times of the day."""
    times = times_of(cell(), calls, ROAD)
    return format_time(times.start_s), times


def chlorine_week(count: int, supply: Supply | None) -> Problem:
    """Pools that take 100 kg each from a truck that may have 200 kg aboard."""
    truck = replace(cell(), chemicals_most_kg=200.0, supply=supply)
    pools = [demand(f"S{n}", n, load_kg=100) for n in range(1, count + 1)]
    return problem(SHOP_ROAD, [truck], [replace(one, chemicals_kg=100.0) for one in pools])


def most_aboard_kg(route: Route) -> float:
    """The larger of the two parts of a day of 100 kg a stop."""
    split = len(route.stops) if route.supply_after is None else route.supply_after
    return 100.0 * max(split, len(route.stops) - split)


def test_a_stop_that_misses_its_first_window_waits_for_the_second() -> None:
    """Begin at pool 2 by 09:30, leave 10:00, be at pool 1 at 10:15, wait 105 min for 12:00."""
    start, times = leaves(call(2, "09:00-09:30"), call(1, "08:00-08:30", "12:00-12:30"))
    assert (start, format_time(times.begin_s[1])) == ("09:05", "12:00")
    assert (times.wait_s, times.broken_s) == (105 * MINUTE, 0)


def test_a_first_window_before_the_shift_sends_the_truck_to_the_second() -> None:
    """The truck cannot be there before 07:10; leaving at 08:50 waits for nothing at 09:00."""
    start, times = leaves(call(1, "06:00-06:30", "09:00-09:30"))
    assert (start, times.wait_s) == ("08:50", 0)


def test_the_truck_leaves_early_where_the_first_window_costs_no_waiting() -> None:
    """There at 07:10, within the first window; the one at noon is not waited for."""
    start, times = leaves(call(1, "07:00-07:30", "12:00-13:00"))
    assert (start, times.wait_s) == ("07:00", 0)


def test_the_departure_is_chosen_for_the_window_that_saves_waiting() -> None:
    """Pool 2 opens at 11:00 to 11:15.

    From the first window of pool 1 the truck leaves by 08:30 and waits from 08:45 to 11:00. In the
    second it may begin at 10:15, leaves at 10:45, is there at 11:00: so leave the depot at 10:05.
    """
    start, times = leaves(call(1, "07:30-08:00", "10:00-10:30"), call(2, "11:00-11:15"))
    assert (start, times.wait_s, times.broken_s) == ("10:05", 0, 0)


def test_the_search_uses_the_second_window_of_the_day() -> None:
    """Two pools side by side want 09:00 to 09:10; only the first may also have 11:00."""
    week = problem(
        on_a_line(0, 10, 10),
        [cell()],
        [demand("S1", 1, window="09:00-09:10 11:00-11:10"), demand("S2", 2, window="09:00-09:10")],
    )
    plan = planned(week)
    begins = {s.visit_id: format_time(s.start_s) for s in plan.routes[0].stops}
    assert begins == {SECOND: "09:10", FIRST: "11:00"}
    assert not violations(week, plan)


def test_slack_leaves_its_share_of_the_shift_free() -> None:
    """Both pools take from 07:00 to 08:50; of a shift to 09:00 ten minutes may be left free."""
    pools = [demand("S1", 1), demand("S2", 2)]
    for slack_min, placed in ((10, 2), (11, 1)):
        truck = replace(cell(hours="07:00-09:00"), slack_s=slack_min * MINUTE)
        plan = planned(problem(ROAD, [truck], pools))
        assert len(where(plan)) == placed


def test_overtime_is_worked_up_to_its_most_and_priced() -> None:
    """Back at 08:50 of a shift to 08:30: 20 min at 1.5 are 30, and 10 + 15 + 25 min of driving."""
    pools = [demand("S1", 1), demand("S2", 2)]
    truck = replace(cell(hours="07:00-08:30"), overtime_s=20 * MINUTE)
    plan = planned(problem(ROAD, [truck], pools))
    assert (plan.routes[0].overtime_s, plan.cost_s) == (20 * MINUTE, (50 + 30) * MINUTE)
    less = replace(truck, overtime_s=20 * MINUTE - 1)
    assert len(planned(problem(ROAD, [less], pools)).unplaced) == 1


@pytest.mark.parametrize(("depot_min", "overtime_min"), [(35, 0), (75, 20)])
def test_overtime_is_worked_only_where_it_is_cheaper(depot_min: int, overtime_min: int) -> None:
    """Alone, T1 drives 50 min and pays 30 for overtime.

    With T2 10 min beyond the second pool, two trucks drive 20 + 20 min; 50 min beyond, 20 + 100.
    """
    first = replace(cell("T1", hours="07:00-08:30"), overtime_s=20 * MINUTE)
    other = cell("T2", start=3)
    road = on_a_line(0, 10, 25, depot_min)
    plan = planned(problem(road, [first, other], [demand("S1", 1), demand("S2", 2)]))
    assert not plan.unplaced
    assert sum(route.overtime_s for route in plan.routes) == overtime_min * MINUTE


def test_the_first_visit_of_a_service_lasts_longer() -> None:
    """30 min, and 15 more on the Monday on which the service begins."""
    site = replace(demand("S1", 1, (MON, THU)), extra_s=(15 * MINUTE, 0))
    plan = planned(problem(ROAD, [cell(day=MON), cell(day=THU)], [site]))
    assert [(r.day, r.service_s) for r in plan.routes] == [(MON, 45 * MINUTE), (THU, 30 * MINUTE)]


def test_the_supply_stop_stands_where_both_halves_keep_the_limit() -> None:
    """300 kg are used: one or two pools before the shop.

    It lies between the second pool and the third: out and back are 2 x 40 min of driving.
    """
    week = chlorine_week(3, SHOP)
    plan = planned(week)
    (route,) = plan.routes
    assert not plan.unplaced
    assert (most_aboard_kg(route), route.drive_s) == (200.0, 80 * MINUTE)
    assert (route.supply_s, route.chemicals_kg) == (15 * MINUTE, 300.0)
    # The shop is paid time: 80 min of driving, 3 x 30 at the pools, 15 there.
    assert route.work_s == (80 + 90 + 15) * MINUTE
    assert not violations(week, plan)


def test_the_supply_stop_stands_where_the_day_is_cheapest_not_where_it_waits_least() -> None:
    """The shop lies on the way to the second pool; after that pool it is 16 min out of the way.

    Begun at 07:15 at the latest, the first pool is left at 07:45, so the third is reached at 08:50,
    12 min before it opens. By way of a later visit to the shop nobody would wait, for 16 min more.
    """
    road = on_a_line(0, 10, 20, 30, 12)
    pools = [
        demand("S1", 1, load_kg=100, window="07:00-07:15"),
        demand("S2", 2, load_kg=100),
        demand("S3", 3, load_kg=100, window="09:02-15:00"),
    ]
    truck = replace(cell(), chemicals_most_kg=200.0, supply=SHOP)
    week = problem(road, [truck], [replace(one, chemicals_kg=100.0) for one in pools])
    (route,) = by_hand(week, [0, 1, 2]).routes
    assert (route.supply_after, route.drive_s, route.wait_s) == (1, 60 * MINUTE, 12 * MINUTE)
    assert route.work_s == (60 + 12 + 90 + 15) * MINUTE


def test_no_supply_stop_is_made_where_the_load_lasts_the_day() -> None:
    """200 kg are the limit, not above it."""
    (route,) = planned(chlorine_week(2, SHOP)).routes
    assert (route.supply_after, route.supply_s, len(route.stops)) == (None, 0, 2)


def test_without_a_place_to_refill_the_limit_is_that_of_the_day() -> None:
    """By hand the third pool is 100 kg too much; the search leaves it out and says so."""
    week = chlorine_week(3, None)
    found = [(one.rule, one.amount) for one in violations(week, by_hand(week, [0, 1, 2]))]
    assert found == [(Rule.CHEMICALS, 100.0)]
    (unplaced,) = planned(week).unplaced
    assert [(one.rule, one.amount) for one in unplaced.cells] == [(Rule.CHEMICALS, 100.0)]


def test_one_supply_stop_is_all_that_a_day_has() -> None:
    """A truck that may carry 100 kg serves two of three such pools, one before and one after."""
    week = chlorine_week(3, SHOP)
    small = replace(week, cells=(replace(week.cells[0], chemicals_most_kg=100.0),))
    plan = planned(small)
    assert (len(where(plan)), plan.routes[0].supply_after) == (2, 1)


def test_a_day_that_needs_no_supply_stop_does_not_rely_on_its_break() -> None:
    """Four pools of 9 kg, two trucks that may have 25 aboard; the meal begins from 09:00 to 10:00.

    From pool 4 (08:45 at the earliest) it is 31 min to pool 1, which closes at 10:00: with the meal
    on the way, at the shop, there is time, and with it before the drive there is none. Two pools a
    truck need no shop.
    """
    road = on_a_line(0, 44, 57, 40, 13, 32)
    meal = Break(30, parse_time("09:00"), parse_time("10:00"))
    trucks = [
        replace(
            cell(name, hours="07:00-11:30", meal=meal),
            chemicals_most_kg=25.0,
            supply=Supply(5, 10 * MINUTE),
        )
        for name in ("T1", "T2")
    ]
    asked = ((45, "08:00-10:00", "T2"), (45, "08:00-10:00", "T1"), (30, "", None))
    pools = [
        replace(demand(f"S{n}", n, minutes=lasts, window=window, usual=who), chemicals_kg=9.0)
        for n, (lasts, window, who) in enumerate((*asked, (45, "08:00-10:00", "T2")), start=1)
    ]
    week = problem(road, trucks, pools)
    for seed in (1, 2, 3):
        for rounds in (0, 50, 400):
            assert not violations(week, planned(week, seed, rounds))
