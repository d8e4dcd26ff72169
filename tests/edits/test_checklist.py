from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from dispatch.edits.checklist import Facts, Point, State, check_list
from dispatch.edits.distances import distance_point
from dispatch.edits.words import Names, subjects_of
from dispatch.planning.check import violations
from dispatch.planning.plan import WeekPlan
from dispatch.planning.problem import Problem
from dispatch.sites import Hold
from tests.planning.weeks import (
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
)


def points(
    week: Problem,
    plan: WeekPlan,
    *,
    holds: Sequence[Hold] = (),
    closed: dict[date, str] | None = None,
    outdated: bool = False,
) -> dict[str, Point]:
    """The check list of a plan, by the name of the point."""
    facts = facts_of(week, plan, holds=holds, closed=closed, outdated=outdated)
    return {point.name: point for point in (*check_list(facts), *distance_point(facts))}


def facts_of(
    week: Problem,
    plan: WeekPlan,
    *,
    holds: Sequence[Hold],
    closed: dict[date, str] | None,
    outdated: bool,
) -> Facts:
    """What the check list is made from."""
    due = {item.id: item for one in week.demands for item in one.upkeep}
    return Facts(
        problem=week,
        plan=plan,
        broken=violations(week, plan),
        holds=holds,
        closed=closed or {},
        upkeep=due,
        names=Names({"T1": "Alma"}, {"S1": "Invented One"}, subjects_of(plan)),
        outdated=outdated,
    )


def test_a_good_week_is_good_in_every_point() -> None:
    """And says what it counted: 20 min drive, half of it the way home, 30 min of service."""
    week = problem(on_a_line(0, 10), [cell()], [demand("S1", 1)])
    found = points(week, by_hand(week, [0]))
    assert {one.state for one in found.values()} == {State.GOOD}
    assert found["hours"].lines == (
        "Alma: 50 min paid in 1 day, of it 20 min driving with 10 min back home; meals 0 min.",
    )
    assert found["slack"].lines == ("Alma, Mon 30: 7 h 10 free.",)


def test_hours_count_drive_meal_and_the_way_back() -> None:
    """From 07:00 in a shift of an hour: 20 min of drive and 60 of service are 20 too many."""
    week = problem(on_a_line(0, 10), [cell(hours="07:00-08:00")], [demand("S1", 1, minutes=60)])
    found = points(week, by_hand(week, [0]))
    assert found["hours"].state is State.WRONG
    assert found["hours"].lines[0] == "Alma ends 20 min beyond the shift (Mon 30)."
    assert found["slack"].state is State.LOOK


def test_a_meal_is_part_of_the_day() -> None:
    """4 hours, half an hour unpaid at eleven, 3 hours more."""
    pools = [demand("S1", 1, minutes=240), demand("S2", 1, minutes=180)]
    week = problem(on_a_line(0, 0), [cell(meal=NOON)], pools)
    found = points(week, by_hand(week, [0, 1]))
    assert found["hours"].lines == (
        "Alma: 7 h 00 paid in 1 day, of it 0 min driving with 0 min back home; meals 30 min.",
    )


def test_a_visit_in_a_hold_or_on_a_holiday_is_wrong() -> None:
    """The book knows both, whatever the plan believes."""
    week = problem(on_a_line(0, 10), [cell()], [demand("S1", 1)])
    hold = Hold("S1", MON, TUE, "away")
    found = points(week, by_hand(week, [0]), holds=[hold], closed={MON: "Invented Day"})
    assert found["holds"].state is State.WRONG
    assert found["holds"].lines == (
        "Invented One is visited on Mon 30, in its hold.",
        "Alma is out on Mon 30, Invented Day.",
    )


def test_a_missing_or_doubled_visit_is_wrong() -> None:
    """A plan that lost one, and one that has it twice."""
    week = problem(on_a_line(0, 10), [cell(), cell(day=TUE)], [demand("S1", 1, MON, TUE)])
    plan = by_hand(week, [0])
    assert points(week, replace(plan, routes=()))["visits"].state is State.WRONG
    twice = replace(plan, routes=(plan.routes[0], replace(plan.routes[0], day=TUE)))
    assert points(week, twice)["visits"].state is State.WRONG


def test_upkeep_is_listed_with_minutes_and_weight_and_the_truck_weighed() -> None:
    """60 minutes, 50 kg of sand on a truck for 40."""
    item = upkeep("S1", mass_kg=50)
    carrying = [cell(skills=["media"], payload_kg=100)]
    week = problem(on_a_line(0, 10), carrying, [demand("S1", 1, upkeep=[item])])
    found = points(week, planned(week))
    assert found["upkeep"].lines == (
        "Sand change at Invented One, Mon 30, Alma: 60 min, 1 bags, 50 kg.",
    )
    assert found["loads"].lines == ("Alma, Mon 30: 50 kg of 100 kg.",)
    small = replace(week, cells=(cell(skills=["media"], payload_kg=40),))
    heavy = points(small, planned(week))
    assert heavy["loads"].lines[0] == "The truck of Alma is 10 kg over its payload (Mon 30)."
    assert heavy["loads"].state is State.WRONG


def test_what_is_unplaced_or_changed_is_worth_a_look() -> None:
    """With the reason, and with what is usual."""
    week = problem(
        on_a_line(0, 10),
        [cell()],
        [demand("S1", 1, usual="T9"), demand("S2", 1, minutes=900)],
    )
    found = points(week, by_hand(week, [0]), outdated=True)
    assert found["unplaced"].state is State.LOOK
    assert "Needs 900 min" in found["unplaced"].lines[0]
    assert "usually T9" in found["changes"].lines[0]
    assert found["up-to-date"].state is State.WRONG


def test_a_visit_far_off_its_rhythm_is_worth_a_look() -> None:
    """A day off is the same to a pool; three days are named."""
    pools = [replace(demand(f"S{n}", n, (MON,)), off_rhythm=((MON, n),)) for n in (1, 3)]
    week = problem(on_a_line(0, 10, 20, 30), [cell()], pools)
    point = points(week, by_hand(week, [0, 1]))["distance"]
    assert point.state is State.LOOK
    assert point.answer == "1 visit does not."
    assert point.lines == ("S3, Mon 30: 3 days farther off its rhythm than it must.",)
