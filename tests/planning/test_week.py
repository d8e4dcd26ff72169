"""What a dispatcher relies on in a week plan."""

from __future__ import annotations

from datetime import timedelta

import numpy as np

from dispatch.clock import IsoWeek
from dispatch.drive.matrix import DriveMatrix
from dispatch.places import Place
from dispatch.planning.check import violations
from dispatch.planning.plan import Rule
from dispatch.planning.week import plan_problem, plan_week
from dispatch.sites import Rhythm, ServicePlan, Site
from dispatch.technicians import Shift, Technician
from dispatch.visits import VisitsDue
from tests.planning.weeks import (
    FRI,
    MON,
    THU,
    TUE,
    WEEK,
    cell,
    demand,
    on_a_line,
    planned,
    problem,
    upkeep,
    where,
)

ROAD = on_a_line(0, 10, 25, 30)


def test_customers_keep_their_technician_and_day_where_the_detour_is_small() -> None:
    """Both pools lie together, but each keeps its own day; joining them would save 20 minutes."""
    week = problem(
        ROAD,
        [cell("T1", MON), cell("T1", TUE)],
        [demand("S1", 2, MON, TUE, weekdays=[0]), demand("S2", 3, MON, TUE, weekdays=[1])],
    )
    plan = planned(week)
    assert where(plan) == {"S1/2026-W49/1": ("T1", MON), "S2/2026-W49/1": ("T1", TUE)}
    assert not plan.changes


def test_a_change_of_day_is_listed_as_a_decision() -> None:
    """The usual Friday has no shift: the visit moves to Thursday and the plan says so."""
    week = problem(ROAD, [cell("T1", THU)], [demand("S1", 1, THU, FRI, usual="T1", weekdays=[4])])
    (change,) = planned(week).changes
    assert (change.usual, change.planned) == ("T1, Fri", "T1, Thu")
    assert change.reason == "T1 is off on Friday."


def test_two_visits_a_week_stand_on_the_days_of_one_pattern() -> None:
    """Monday and Thursday, or Tuesday and Friday, never Monday and Friday."""
    patterns = ((MON, THU), (TUE, FRI))
    week = problem(
        ROAD, [cell("T1", day) for day in (MON, TUE, THU, FRI)], [demand("S1", 1, *patterns)]
    )
    days = tuple(day for _, day in sorted(where(planned(week)).values(), key=lambda one: one[1]))
    assert days in patterns


def test_one_of_two_visits_is_placed_when_only_one_finds_room() -> None:
    """Half the service is better than none, and the other half is listed."""
    week = problem(ROAD, [cell("T1", MON)], [demand("S1", 1, (MON, THU))])
    plan = planned(week)
    assert list(where(plan)) == ["S1/2026-W49/1"]
    assert [one.visit_id for one in plan.unplaced] == ["S1/2026-W49/2"]


def test_upkeep_goes_to_the_day_on_which_somebody_can_do_it() -> None:
    """The usual technician lacks 'media'; the sand change draws the visit to the one who has it."""
    item = upkeep("S1", latest=FRI)
    week = problem(
        ROAD,
        [cell("T1", MON), cell("T2", TUE, skills=["media"])],
        [demand("S1", 1, MON, TUE, usual="T1", weekdays=[0], upkeep=[item])],
    )
    plan = planned(week)
    assert where(plan)["S1/2026-W49/1"] == ("T2", TUE)
    assert not plan.put_off
    assert [one.reason for one in plan.changes] == ["Its sand change needs the skill 'media'."]


def test_upkeep_that_may_wait_does_not_move_a_customer() -> None:
    """The same sand change with months to go is put off, with the date by which it must happen."""
    later = FRI + timedelta(days=200)
    item = upkeep("S1", latest=later)
    week = problem(
        ROAD,
        [cell("T1", MON), cell("T2", TUE, skills=["media"])],
        [demand("S1", 1, MON, TUE, usual="T1", weekdays=[0], upkeep=[item])],
    )
    plan = planned(week)
    assert where(plan)["S1/2026-W49/1"] == ("T1", MON)
    assert [(one.by, one.late) for one in plan.put_off] == [(later, False)]


def test_two_sand_changes_never_share_a_truck_that_cannot_carry_them() -> None:
    """Twice 150 kg and a payload of 200 kg: two days, though one would save the drive."""
    changes = [upkeep(f"S{n}", latest=FRI, mass_kg=150) for n in (1, 2)]
    week = problem(
        ROAD,
        [cell("T1", day, skills=["media"], payload_kg=200) for day in (MON, TUE)],
        [demand(f"S{n}", n, MON, TUE, upkeep=[changes[n - 1]]) for n in (1, 2)],
    )
    plan = planned(week)
    assert not plan.put_off
    assert sorted(day for _, day in where(plan).values()) == [MON, TUE]


def test_urgent_work_comes_before_a_short_drive() -> None:
    """A far pool is placed rather than left out, whatever the drive."""
    week = problem(on_a_line(0, 100), [cell()], [demand("S1", 1)])
    assert not planned(week).unplaced


def small_company(matrix_ids: tuple[str, ...]) -> tuple[list[Site], Technician, DriveMatrix]:
    plan = ServicePlan(Rhythm.WEEKLY, 30)
    sites = [Site(f"S{n}", f"Pool {n}", "", Place(31, -130), plan) for n in (1, 2)]
    technician = Technician(
        "T1", "Ana", (Shift(25_200, 54_000),) * 5 + (None, None), Place(31, -130), Place(31, -130)
    )
    size = (len(matrix_ids), len(matrix_ids))
    minutes = np.full(size, 600, dtype=np.int32)
    np.fill_diagonal(minutes, 0)
    return sites, technician, DriveMatrix(matrix_ids, minutes, minutes)


def test_a_site_off_the_streets_is_unplaced_and_the_rest_is_planned() -> None:
    """One bad pin must not cost the week; its reason is the map's own sentence."""
    sites, technician, matrix = small_company(("end:T1", "site:S1", "start:T1"))
    due = [VisitsDue(site.id, WEEK, ((MON,), (TUE,)), (30,)) for site in sites]
    why = "Site S2 lies 800 m from the nearest street."
    plan = plan_week(
        WEEK, sites, [technician], due, [], matrix, no_drive={"site:S2": why}, iterations=100
    )
    assert [(one.visit_id, one.reason) for one in plan.unplaced] == [("S2/2026-W49/1", why)]
    assert list(where(plan)) == ["S1/2026-W49/1"]


def test_nobody_is_planned_on_a_closed_day() -> None:
    """A holiday on Monday leaves Tuesday, even for a Monday customer."""
    sites, technician, matrix = small_company(("end:T1", "site:S1", "site:S2", "start:T1"))
    due = [VisitsDue(site.id, WEEK, ((MON,), (TUE,)), (30,)) for site in sites]
    plan = plan_week(WEEK, sites, [technician], due, [], matrix, [MON], iterations=100)
    assert {day for _, day in where(plan).values()} == {TUE}


def test_upkeep_of_a_site_without_a_visit_is_put_off_not_lost() -> None:
    """Its pool rests this week; what falls due is still shown with its latest day."""
    sites, technician, matrix = small_company(("end:T1", "site:S1", "site:S2", "start:T1"))
    item = upkeep("S2", due=WEEK.monday, latest=IsoWeek(2026, 52).sunday)
    due = [VisitsDue("S1", WEEK, ((MON,),), (30,))]
    plan = plan_week(WEEK, sites, [technician], due, [item], matrix, iterations=100)
    assert [(one.upkeep_id, one.late) for one in plan.put_off] == [(item.id, False)]


def test_the_cells_of_an_unplaced_visit_name_days_off_too() -> None:
    """T1 does not work on the only day left: the data say SHIFT, with the name and the day."""
    sites, technician, matrix = small_company(("end:T1", "site:S1", "site:S2", "start:T1"))
    saturday = WEEK.days[5]
    due = [VisitsDue("S1", WEEK, ((saturday,),), (30,))]
    (unplaced,) = plan_week(WEEK, sites, [technician], due, [], matrix, iterations=10).unplaced
    off = [one for one in unplaced.cells if one.rule is Rule.SHIFT]
    assert [(one.technician_id, one.day) for one in off] == [("Ana", saturday)]


def test_a_plan_knows_the_problem_it_was_made_from() -> None:
    """A changed window is another problem with another digest."""
    one = problem(ROAD, [cell()], [demand("S1", 1)])
    other = problem(ROAD, [cell()], [demand("S1", 1, window="08:00-09:00")])
    assert plan_problem(one, iterations=10).problem_digest == one.digest
    assert one.digest != other.digest
    assert not violations(one, plan_problem(one, iterations=10))
