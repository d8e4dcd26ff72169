"""The check finds every rule that a plan can break; each plan here is broken by hand."""

from __future__ import annotations

from dataclasses import replace

from dispatch.planning.check import Violation, violations
from dispatch.planning.plan import PutOff, Rule, Stop, Unplaced
from dispatch.planning.problem import Problem
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
    assert [one.detail for one in violations(week, twice)] == ["is listed 2 times"]


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
    assert [one.detail for one in violations(week, false)] == ["has times that are not its own"]


def test_upkeep_is_counted_like_visits() -> None:
    """Upkeep that rides on no visit and is not put off is lost; put off twice is no better."""
    item = upkeep("S1", latest=FRI)
    week = problem(ROAD, [cell(skills=["media"])], [demand("S1", 1, upkeep=[item])])
    plan = planned(week)
    assert plan.routes[0].stops[0].upkeep_ids == (item.id,)
    assert not violations(week, plan)
    also = PutOff(item.id, "S1", item.title, item.latest_on, late=True, reason="")
    assert [one.subject for one in violations(week, replace(plan, put_off=(also,)))] == [item.id]
    stop = replace(plan.routes[0].stops[0], upkeep_ids=())
    lost = replace(plan, routes=(replace(plan.routes[0], stops=(stop,)),))
    assert item.id in [one.subject for one in violations(week, lost)]
