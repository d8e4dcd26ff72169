from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from dispatch.actions.day import publish_week
from dispatch.actions.plan_week import plan_week
from dispatch.actions.standing_changes import (
    Wish,
    all_changes,
    carry_out,
    change_list,
    decide,
    withdraw,
)
from dispatch.actions.week_inputs import is_outdated
from dispatch.errors import InvalidValue, NotFound
from dispatch.rhythms import MonthDay, Rhythm, Season
from dispatch.standing.values import ChangeState, Habit
from dispatch.store.book import read_sites, read_some_sites, write_sites
from dispatch.store.days import read_revisions
from tests.town import TODAY, WEDNESDAY, WEEK, Company

MONDAY = WEEK.monday
TO_BEN = Habit("T2", frozenset({2}))


def decided(company: Company, from_on: date = MONDAY, new: Habit = TO_BEN) -> str:
    with company.writing() as session:
        made = decide(
            session, [Wish("S1", new, "Nearer.")], from_on=from_on, who="Owner", today=TODAY
        )
    return made[0].batch


def usual_of(company: Company, site_id: str) -> Habit:
    with company.reading() as session:
        return next(Habit.of(site.plan) for site in read_sites(session) if site.id == site_id)


def test_a_week_is_planned_with_the_habits_that_it_will_have(company: Company) -> None:
    """S1 is Alma's; from Monday on it is Ben's on Wednesdays, and the plan says so once."""
    decided(company)
    plan = plan_week(company.engine, company.settings, WEEK, today=TODAY, iterations=200)

    placed = {
        (stop.site_id, route.technician_id, route.day)
        for route in plan.routes
        for stop in route.stops
    }
    assert ("S1", "T2", WEEK.days[2]) in placed
    assert [one.site_id for one in plan.changes] == ["S1"]
    assert plan.changes[0].reason == "Changed for good from 2026-11-30: Nearer."
    assert usual_of(company, "S1").technician_id == "T1"  # not before its date


def test_a_published_visit_is_its_new_technicians(company: Company) -> None:
    """Repairs of the day keep S1 with Ben, who is to come to it, not with Alma who was."""
    decided(company)
    plan_week(company.engine, company.settings, WEEK, today=TODAY, iterations=200)
    with company.writing() as session:
        publish_week(session, company.settings, WEEK, who="Ada", at=company.settings.now())
        revisions = read_revisions(session, WEDNESDAY)

    works = [work for one in revisions for work in one.works if work.site_id == "S1"]
    assert [work.usual_technician_id for work in works] == ["T2"]


def test_a_decision_outdates_the_plan_of_its_weeks(planned: Company) -> None:
    """The week was planned for the old habit."""
    decided(planned, WEEK.next.monday)
    with planned.reading() as session:
        assert not is_outdated(session, planned.settings, WEEK)

    with planned.writing() as session:
        withdraw(session, all_changes(session)[0].id, who="Owner", today=TODAY)
    decided(planned)
    with planned.reading() as session:
        assert is_outdated(session, planned.settings, WEEK)


def test_on_its_date_a_change_is_written_into_the_service_plan(company: Company) -> None:
    """From then on every list and form shows the new habit."""
    decided(company)
    with company.writing() as session:
        assert carry_out(session, MONDAY - timedelta(days=1)) == []
        carry_out(session, MONDAY)
        assert [one.state for one in all_changes(session)] == [ChangeState.CARRIED_OUT]

    assert usual_of(company, "S1") == TO_BEN


def test_a_change_can_be_taken_back_before_its_date_and_not_after(company: Company) -> None:
    """Afterwards the customer has been told and served by it."""
    batch = decided(company)
    with company.writing() as session, pytest.raises(InvalidValue, match="began on 2026-11-30"):
        withdraw(session, batch, who="Owner", today=MONDAY)
    with company.writing() as session:
        assert withdraw(session, batch, who="Owner", today=TODAY) == 1
        carry_out(session, MONDAY)
        (change,) = all_changes(session)

    assert (change.state, change.ended_by) == (ChangeState.WITHDRAWN, "Owner")
    assert usual_of(company, "S1").technician_id == "T1"
    with company.writing() as session, pytest.raises(NotFound):
        withdraw(session, batch, who="Owner", today=TODAY)


def test_what_others_build_upon_is_not_taken_back_first(company: Company) -> None:
    """The later change would start from a habit that never came about."""
    first = decided(company)
    decided(company, WEEK.next.monday, Habit("T2", frozenset({4})))

    with company.writing() as session, pytest.raises(InvalidValue, match="builds upon"):
        withdraw(session, first, who="Owner", today=TODAY)


@pytest.mark.parametrize(
    ("site_id", "new", "from_on", "words"),
    [
        ("S1", Habit("T9", frozenset({0})), MONDAY, "no technician 'T9'"),
        ("S1", Habit("T2", frozenset({0, 3})), MONDAY, "has 1 visits"),
        ("S1", Habit("T2", frozenset({6})), MONDAY, "not among the allowed weekdays"),
        ("S1", TO_BEN, TODAY, "after today"),
        ("S1", TO_BEN, MONDAY + timedelta(days=1), "begins on a Monday"),
    ],
)
def test_what_cannot_be_kept_is_refused(
    company: Company, site_id: str, new: Habit, from_on: date, words: str
) -> None:
    """Better now than in the week it was meant for."""
    wishes = [Wish("S2", TO_BEN, "Fine."), Wish(site_id, new, "Not so.")]
    with company.writing() as session, pytest.raises(InvalidValue, match=words):
        decide(session, wishes, from_on=from_on, who="Owner", today=TODAY)
    with company.reading() as session:
        assert all_changes(session) == []


def test_changes_can_be_taken_away_as_a_list(company: Company) -> None:
    """With the customer's name beside the old and the new habit."""
    decided(company)
    with company.reading() as session:
        table = change_list(all_changes(session), {"S1": "Invented One"})
    (row,) = table.rows
    line = dict(zip(table.columns, row, strict=True))
    assert (line["site"], line["old_technician_id"], line["new_weekdays"]) == (
        "Invented One",
        "T1",
        "Wed",
    )


def test_a_change_by_hand_may_name_the_weekdays_of_a_fuller_season(company: Company) -> None:
    """Weekly, and twice a week in winter: both days of winter may be the usual ones."""
    winter = Season(MonthDay(11, 1), MonthDay(2, 28), Rhythm.TWICE_A_WEEK)
    with company.writing() as session:
        site = read_some_sites(session, ["S1"])["S1"]
        write_sites(session, [replace(site, plan=replace(site.plan, seasons=(winter,)))])
    with pytest.raises(InvalidValue, match="has 1 or 2 visits"):
        decided(company, new=Habit("T2", frozenset({0, 2, 4})))
    decided(company, new=Habit("T2", frozenset({0, 3})))
    decided(company, WEEK.next.monday, Habit("T2", frozenset({1})))
    with company.reading() as session:
        assert [len(one.new.weekdays) for one in all_changes(session)] == [2, 1]
