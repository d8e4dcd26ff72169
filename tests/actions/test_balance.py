from __future__ import annotations

from dataclasses import replace

import pytest

from dispatch.actions.balance import balance, curve_list, reckon_balance, share_list
from dispatch.actions.day_publish import publish_day
from dispatch.actions.plan_week import plan_week
from dispatch.actions.read_plan import week_plan
from dispatch.actions.week_publish import publish_week
from dispatch.errors import NotFound, WeekInPast
from dispatch.planning.plan import WeekPlan
from tests.town import MONDAY, TODAY, WEEK, Company, end_of


def test_a_curve_is_kept_and_no_plan_is_touched(planned: Company) -> None:
    """An owner looks at it for an hour; the dispatcher goes on with the week meanwhile."""
    with planned.reading() as session:
        before = week_plan(session, WEEK)
    made = reckon_balance(planned.engine, planned.settings, WEEK, today=TODAY, iterations=50)

    with planned.reading() as session:
        kept, after = balance(session, WEEK), week_plan(session, WEEK)
    assert kept == made
    assert after == before
    assert [point.band_min for point in made.points] == [None, 240, 120, 60, 30, 15]


def test_the_lists_have_a_line_for_each_point_and_technician(company: Company) -> None:
    """What the page shows can be taken away as CSV: six points, and two technicians in each."""
    made = reckon_balance(company.engine, company.settings, WEEK, today=TODAY, iterations=20)

    assert len(curve_list(made).rows) == 6
    assert len(share_list(made).rows) == 12
    assert {row[2] for row in share_list(made).rows} == {"Invented Alma", "Invented Ben"}


def test_a_week_without_a_curve_has_none(planned: Company) -> None:
    """An empty chart would look like perfect balance."""
    with planned.reading() as session, pytest.raises(NotFound, match="has not been reckoned"):
        balance(session, WEEK)


def test_a_week_that_is_over_is_not_balanced(company: Company) -> None:
    """It could not be planned so any more."""
    past = WEEK.previous.previous
    with pytest.raises(WeekInPast):
        reckon_balance(company.engine, company.settings, past, today=TODAY)


def test_a_week_planned_with_a_band_is_more_even(company: Company) -> None:
    """Alma's pools take 75 min and Ben's 40; with no band each keeps to the usual customers.

    Alma has 24 h of shift less the meals, Ben 42.5 h: the fair shares are about 42 and 76 min.
    """
    engine, settings = company.engine, company.settings
    usual = plan_week(engine, settings, WEEK, today=TODAY, iterations=300)
    even = plan_week(engine, settings, WEEK, today=TODAY, iterations=300, even_min=0)

    def work_min(plan: WeekPlan, technician_id: str) -> float:
        return sum(r.work_s for r in plan.routes if r.technician_id == technician_id) / 60

    assert work_min(even, "T1") < work_min(usual, "T1")
    assert work_min(even, "T2") > work_min(usual, "T2")
    assert len(even.changes) > len(usual.changes)


def test_a_point_of_a_week_with_a_published_day_is_what_planning_gives(planned: Company) -> None:
    """Monday is published and stays as it is, at each point of the curve as in the plan."""
    engine, settings = planned.engine, planned.settings
    with planned.writing() as session:
        publish_day(session, settings, MONDAY, who="Ada", at=settings.now())
        before = week_plan(session, WEEK)
    made = reckon_balance(engine, settings, WEEK, today=TODAY, iterations=100)
    monday = {one.technician_id: one for one in before.routes if one.day == MONDAY}
    assert made.kept_visits == sum(len(one.stops) for one in monday.values())
    assert made.kept_words.startswith(f"{made.kept_visits} of {made.visits} visits stay")
    assert any(one.stops for one in monday.values())

    for point in made.points[1:]:
        plan = plan_week(
            engine, settings, WEEK, today=TODAY, iterations=100, even_min=point.band_min
        )
        assert {one.technician_id: one for one in plan.routes if one.day == MONDAY} == monday
        assert _work_s(plan) == {one.technician_id: one.work_s for one in point.shares}
        assert plan.drive_s == point.drive_s
        assert len(plan.unplaced) == point.unplaced


def test_a_week_that_is_published_says_why_its_curve_is_flat(planned: Company) -> None:
    """Else the owner wonders whether the bands do anything."""
    with planned.writing() as session:
        publish_week(session, planned.settings, WEEK, who="Ada", at=planned.settings.now())
    made = reckon_balance(planned.engine, planned.settings, WEEK, today=TODAY, iterations=50)
    assert len({replace(point, band_min=None) for point in made.points}) == 1
    assert made.kept_visits == made.visits > 0
    assert "nothing can be evened out any more" in made.kept_words


def test_a_fair_share_counts_the_days_that_are_over(planned: Company) -> None:
    """On Thursday Alma has two days of three left and Ben two of five: 24 h to 42.5 h all the same.

    Reckoned by what is left, 16 to 17, Alma would be given nearly half of the week's work.
    """
    thursday = WEEK.days[3]
    later = planned.settings.model_copy(update={"fixed_today": end_of(thursday)})
    made = reckon_balance(planned.engine, later, WEEK, today=thursday, iterations=50)
    alma, ben = made.points[0].shares
    assert alma.fair_s / ben.fair_s == pytest.approx(24 / 42.5, rel=1e-3)


def _work_s(plan: WeekPlan) -> dict[str, int]:
    found = {"T1": 0, "T2": 0}
    for route in plan.routes:
        found[route.technician_id] += route.work_s
    return found
