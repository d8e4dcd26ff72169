"""The check finds every rule that a plan can break; each plan here is broken by hand."""

from __future__ import annotations

from dataclasses import replace

from dispatch.planning.check import Violation, violations
from dispatch.planning.plan import PutOff, Rule, Stop, Unplaced, WeekPlan
from dispatch.planning.problem import Hours, Problem, Supply
from tests.planning.weeks import (
    FRI,
    MINUTE,
    MON,
    NOON,
    TUE,
    by_hand,
    cell,
    demand,
    on_a_line,
    planned,
    problem,
    upkeep,
    without_stop,
)

ROAD = on_a_line(0, 10, 25)


def broken(week: Problem, *orders: list[int]) -> list[tuple[Rule, float]]:
    """Rules broken by a plan written by hand, with their amounts."""
    return [(one.rule, one.amount) for one in violations(week, by_hand(week, *orders))]


def false_fields(week: Problem, plan: WeekPlan) -> list[str]:
    """Names of the fields that are false; every violation is one."""
    found = violations(week, plan)
    assert {one.rule for one in found} <= {Rule.FALSE}
    return [one.detail.split()[0] for one in found]


def test_a_plan_that_keeps_every_rule_has_no_violation() -> None:
    """Otherwise the check would cry wolf."""
    week = problem(ROAD, [cell()], [demand("S1", 1), demand("S2", 2)])
    assert broken(week, [0, 1]) == []


def test_a_lost_visit_is_found() -> None:
    """Nothing due is ever dropped silently: gone from the route and from the list."""
    week = problem(ROAD, [cell()], [demand("S1", 1), demand("S2", 2)])
    plan = without_stop(by_hand(week, [0, 1]), "S2/2026-W49/1")
    assert Violation(Rule.COUNT, "S2/2026-W49/1", detail="is listed 0 times") in violations(
        week, plan
    )


def test_a_visit_listed_twice_is_found() -> None:
    """In a route and among the unplaced is once too often."""
    week = problem(ROAD, [cell()], [demand("S1", 1)])
    plan = by_hand(week, [0])
    twice = replace(plan, unplaced=(Unplaced("S1/2026-W49/1", "S1", "no reason"),))
    assert "is listed 2 times" in [one.detail for one in violations(week, twice)]


def test_a_visit_nobody_is_owed_is_found() -> None:
    """A stop at a site that is not due would be driven for nothing."""
    week = problem(ROAD, [cell()], [demand("S1", 1)])
    plan = by_hand(week, [0])
    route = plan.routes[0]
    stray = Stop("S9/2026-W49/1", "S9", 0, 0, route.end_s, route.end_s, route.end_s)
    wrong = replace(plan, routes=(replace(route, stops=(*route.stops, stray)),))
    assert "is not due this week" in [one.detail for one in violations(week, wrong)]


def test_a_day_outside_every_pattern_is_found() -> None:
    """The site agreed to Tuesday and stands on Monday."""
    week = problem(ROAD, [cell("T1", MON), cell("T1", TUE)], [demand("S1", 1, TUE)])
    assert broken(week, [0]) == [(Rule.DAY, 0)]


def test_a_lock_on_the_technician_is_kept() -> None:
    """Locked to T1, planned with T2."""
    week = problem(ROAD, [cell("T2")], [demand("S1", 1, usual="T1", locked=True)])
    assert broken(week, [0]) == [(Rule.TECHNICIAN_LOCK, 0)]


def test_a_missing_skill_is_found() -> None:
    """A visit that needs 'gate-key' on a technician without it."""
    week = problem(ROAD, [cell()], [demand("S1", 1, skills=["gate-key"])])
    assert [one.detail for one in violations(week, by_hand(week, [0]))] == ["gate-key"]


def test_times_are_checked_by_the_minute() -> None:
    """Back at 08:50 with a shift to 08:30; arrival 07:55 for a window that ends at 07:45."""
    week = problem(
        ROAD,
        [cell(hours="07:00-08:30")],
        [demand("S1", 1), demand("S2", 2, window="07:30-07:45")],
    )
    assert set(broken(week, [0, 1])) == {
        (Rule.OVERFULL, 20 * MINUTE),
        (Rule.WINDOW, 10 * MINUTE),
    }


def test_a_meal_too_late_is_found() -> None:
    """Seven hours at one pool from 07:10 to 14:10: lunch begins then, 70 minutes after 13:00.

    Taken before the pool, at 11:00, it would push the day 170 minutes over.
    """
    week = problem(ROAD, [cell(hours="07:00-16:00", meal=NOON)], [demand("S1", 1, minutes=420)])
    assert broken(week, [0]) == [(Rule.BREAK, 70 * MINUTE)]


def test_two_loads_that_one_truck_cannot_carry_are_found() -> None:
    """Twice 150 kg on a truck of 200 kg."""
    week = problem(
        ROAD,
        [cell(payload_kg=200)],
        [demand("S1", 1, load_kg=150), demand("S2", 2, load_kg=150)],
    )
    assert broken(week, [0, 1]) == [(Rule.PAYLOAD, 100)]


def test_a_route_on_a_day_off_is_found() -> None:
    """T1 does not work on Tuesday; a route that says so has no shift to stand in."""
    week = problem(ROAD, [cell("T1", MON)], [demand("S1", 1, MON, TUE)])
    plan = by_hand(week, [0])
    moved = replace(plan, routes=(replace(plan.routes[0], day=TUE),))
    assert [one.rule for one in violations(week, moved)] == [Rule.SHIFT]


def test_times_that_were_not_computed_are_found() -> None:
    """A plan whose arrival was edited by hand no longer tells the truth."""
    week = problem(ROAD, [cell()], [demand("S1", 1)])
    plan = by_hand(week, [0])
    stop = replace(plan.routes[0].stops[0], arrive_s=0)
    false = replace(plan, routes=(replace(plan.routes[0], stops=(stop,)),))
    (found,) = violations(week, false)
    assert (found.subject, found.amount) == ("S1/2026-W49/1", 7 * 3600 + 10 * MINUTE)
    assert found.detail == "arrive_s is 0 and must be 25800"


def test_upkeep_is_counted_like_visits() -> None:
    """Upkeep that rides on no visit and is not put off is lost; put off twice is no better."""
    item = upkeep("S1", latest=FRI)
    week = problem(ROAD, [cell(skills=["media"])], [demand("S1", 1, upkeep=[item])])
    plan = planned(week)
    assert plan.routes[0].stops[0].upkeep_ids == (item.id,)
    assert not violations(week, plan)
    also = PutOff(item.id, "S1", item.title, item.latest_on, late=True, reason="")
    twice = violations(week, replace(plan, put_off=(also,)))
    assert [one.subject for one in twice if one.rule is Rule.COUNT] == [item.id]
    stop = replace(plan.routes[0].stops[0], upkeep_ids=())
    lost = replace(plan, routes=(replace(plan.routes[0], stops=(stop,)),))
    assert item.id in [one.subject for one in violations(week, lost)]


def test_a_second_window_missed_is_late_by_what_it_has_closed() -> None:
    """At 07:10 for 06:00 to 06:30 or 06:45 to 07:00: ten minutes after the last of them."""
    week = problem(ROAD, [cell()], [demand("S1", 1, window="06:00-06:30 06:45-07:00")])
    assert broken(week, [0]) == [(Rule.WINDOW, 10 * MINUTE)]


def test_slack_ends_the_day_early_and_overtime_late() -> None:
    """Back at 08:50 with a shift to 09:00: 30 min of slack leave 08:30, 15 of overtime 08:45."""
    pools = [demand("S1", 1), demand("S2", 2)]
    truck = replace(cell(hours="07:00-09:00"), slack_s=30 * MINUTE)
    assert broken(problem(ROAD, [truck], pools), [0, 1]) == [(Rule.OVERFULL, 20 * MINUTE)]
    longer = replace(truck, overtime_s=15 * MINUTE)
    assert broken(problem(ROAD, [longer], pools), [0, 1]) == [(Rule.OVERFULL, 5 * MINUTE)]


def test_overtime_written_down_wrongly_is_found() -> None:
    """It is paid: 20 minutes are not 0."""
    truck = replace(cell(hours="07:00-08:30"), overtime_s=20 * MINUTE)
    week = problem(ROAD, [truck], [demand("S1", 1), demand("S2", 2)])
    plan = by_hand(week, [0, 1])
    assert not violations(week, plan)
    false = replace(plan, routes=(replace(plan.routes[0], overtime_s=0),))
    assert false_fields(week, false) == ["overtime_s", "cost_s"]


def test_a_job_for_three_on_a_truck_with_one_is_found() -> None:
    """Two persons are missing."""
    week = problem(ROAD, [cell()], [replace(demand("S1", 1), crew=3)])
    assert broken(week, [0]) == [(Rule.CREW, 2)]


def test_a_technician_whom_the_customer_does_not_want_is_found() -> None:
    """T1 is not wanted at the first pool, and welcome at the second."""
    first = replace(demand("S1", 1), unwanted_technician_ids=frozenset({"T1"}))
    week = problem(ROAD, [cell()], [first, demand("S2", 2)])
    found = violations(week, by_hand(week, [0, 1]))
    assert found == (Violation(Rule.UNWANTED, "S1/2026-W49/1", "T1", MON),)


def test_too_many_chemicals_aboard_are_found_at_the_worst_moment() -> None:
    """Of 90, 80 and 70 kg a truck with a limit of 100 has 150 aboard after its supply stop.

    The stop stands after the first pool: 80 + 70 - 100 = 50 above; later it would be 70 above.
    """
    kg = (90.0, 80.0, 70.0)
    pools = [replace(demand(f"S{n}", 1), chemicals_kg=one) for n, one in enumerate(kg)]
    truck = replace(cell(), chemicals_most_kg=100.0, supply=Supply(0, 60))
    week = problem(ROAD, [truck], pools)
    assert broken(week, [0, 1, 2]) == [(Rule.CHEMICALS, 50.0)]
    bare = replace(week, cells=(replace(truck, supply=None),))
    assert broken(bare, [0, 1, 2]) == [(Rule.CHEMICALS, 140.0)]


def test_a_supply_stop_left_out_of_the_plan_is_found() -> None:
    """A truck that needs one and does not say where and when it makes it."""
    pools = [replace(demand(f"S{n}", n), chemicals_kg=80.0) for n in (1, 2)]
    truck = replace(cell(), chemicals_most_kg=100.0, supply=Supply(0, 60))
    week = problem(ROAD, [truck], pools)
    plan = by_hand(week, [0, 1])
    assert not violations(week, plan)
    silent = replace(plan.routes[0], supply_after=None, supply_start_s=None)
    found = false_fields(week, replace(plan, routes=(silent,)))
    assert found == ["supply_after", "supply_start_s"]


def test_a_week_too_long_is_found() -> None:
    """Two days of 10 + 30 + 10 min and 15 worked elsewhere are 115 min; 100 may be worked."""
    days = [cell("T1", MON), cell("T1", TUE)]
    week = problem(ROAD, days, [demand("S1", 1, MON), demand("S2", 1, TUE)])
    rule = Hours("T1", most_s=100 * MINUTE, spent_s=15 * MINUTE)
    assert broken(replace(week, hours=(rule,)), [0], [1]) == [(Rule.HOURS, 15 * MINUTE)]


def test_a_kept_visit_that_moved_is_found() -> None:
    """It was to stay with T2 on Monday, and stands with T1; the other visit is free."""
    kept = replace(demand("S1", 1), kept=(("T2", MON),))
    week = problem(ROAD, [cell("T1"), cell("T2")], [kept, demand("S2", 2)])
    found = violations(week, by_hand(week, [0, 1]))
    assert found == (Violation(Rule.KEPT, "S1/2026-W49/1", "T1", MON),)
    assert broken(week, [1], [0]) == []


def test_a_longer_first_visit_is_part_of_the_times() -> None:
    """07:10 + 45 min: a plan that has it leave after 30 does not tell the truth."""
    week = problem(ROAD, [cell()], [replace(demand("S1", 1), extra_s=(15 * MINUTE,))])
    plan = by_hand(week, [0])
    stop = plan.routes[0].stops[0]
    assert stop.leave_s - stop.start_s == 45 * MINUTE
    short = replace(stop, leave_s=stop.leave_s - 15 * MINUTE)
    false = replace(plan, routes=(replace(plan.routes[0], stops=(short,)),))
    assert false_fields(week, false) == ["leave_s"]
