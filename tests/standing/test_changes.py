from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from dispatch.clock import IsoWeek
from dispatch.errors import InvalidValue
from dispatch.places import Place
from dispatch.planning.plan import Change, WeekPlan
from dispatch.rhythms import Rhythm
from dispatch.service_plan import ServicePlan
from dispatch.sites import Site
from dispatch.standing.changes import announced, sites_in
from dispatch.standing.values import ChangeState, Habit, StandingChange
from tests.planning.weeks import FRI, MON, WEEK, by_hand, cell, demand, on_a_line, problem

NAMES = {"T1": "Invented Alma", "T2": "Invented Ben"}
OLD, NEW = Habit("T1", frozenset({0})), Habit("T2", frozenset({4}))
SITE = Site(
    "S0",
    "Invented",
    "",
    Place(0, 0),
    ServicePlan(Rhythm.WEEKLY, 30, usual_technician_id="T1", usual_weekdays=frozenset({0})),
)
CHANGE = StandingChange(
    "c", "b", "S0", MON, OLD, NEW, "Evens the weeks.", "Owner", date(2026, 11, 25)
)


def test_a_change_holds_from_its_week_on() -> None:
    """A week planned today for last month's habits would send the wrong technician."""
    before = sites_in(WEEK.previous, [SITE], [CHANGE])
    after = sites_in(WEEK, [SITE], [CHANGE])

    assert before == [SITE]
    assert Habit.of(after[0].plan) == NEW


@pytest.mark.parametrize("state", [ChangeState.WITHDRAWN, ChangeState.OVERTAKEN])
def test_a_change_that_was_taken_back_holds_never(state: ChangeState) -> None:
    """It stays in the list for the record alone."""
    assert sites_in(WEEK, [SITE], [replace(CHANGE, state=state)]) == [SITE]


def test_a_change_yields_to_an_edit_of_the_service_plan() -> None:
    """Who has since been given to a third technician is not sent to the second."""
    edited = replace(SITE, plan=replace(SITE.plan, usual_technician_id="T3"))

    assert sites_in(WEEK, [edited], [CHANGE]) == [edited]


def test_a_change_to_a_day_that_is_no_longer_allowed_is_left_out() -> None:
    """A customer who forbade Fridays after the decision is not served on one."""
    strict = replace(SITE, plan=replace(SITE.plan, allowed_weekdays=frozenset({0, 1})))

    assert sites_in(WEEK, [strict], [CHANGE]) == [strict]


def test_two_changes_follow_each_other() -> None:
    """The second was decided upon what the first makes of the book."""
    back = replace(CHANGE, id="d", from_on=WEEK.next.monday, old=NEW, new=OLD)

    assert Habit.of(sites_in(WEEK, [SITE], [back, CHANGE])[0].plan) == NEW
    assert Habit.of(sites_in(WEEK.next, [SITE], [back, CHANGE])[0].plan) == OLD


def test_a_change_begins_on_a_monday_and_changes_something() -> None:
    """Half a week by one habit and half by another would double a visit or lose it."""
    with pytest.raises(InvalidValue, match="take 2026-12-07"):
        replace(CHANGE, from_on=FRI)
    with pytest.raises(InvalidValue, match="changes nothing"):
        replace(CHANGE, new=OLD)


def week_of(plan: ServicePlan) -> tuple[Site, WeekPlan]:
    site = replace(SITE, plan=plan)
    made = demand("S0", 1, FRI, usual="T2", weekdays=[4])
    truck = replace(cell("T2", FRI), technician_name="Invented Ben")
    return site, by_hand(problem(on_a_line(0, 5), [truck], [made]), [0])


def test_the_first_week_of_a_change_shows_it() -> None:
    """A customer's new day is a decision, told with its reason, never an accident."""
    (site,) = sites_in(WEEK, [SITE], [CHANGE])
    _, plan = week_of(site.plan)
    told = announced(plan, [CHANGE], [site], NAMES)

    assert told.changes == (
        Change(
            f"S0/{WEEK}/1",
            "S0",
            "Invented Alma, Mon",
            "Invented Ben, Fri",
            "Changed for good from 2026-11-30: Evens the weeks.",
        ),
    )


def test_a_later_week_has_no_news_of_it() -> None:
    """By then it is what the customer is used to."""
    earlier = replace(CHANGE, from_on=WEEK.previous.monday)
    (site,) = sites_in(WEEK, [SITE], [earlier])
    _, plan = week_of(site.plan)

    assert announced(plan, [earlier], [site], NAMES).changes == ()


def test_a_customer_of_every_fourth_week_is_told_at_the_first_visit() -> None:
    """The first visit after the change may come three weeks after it."""
    earlier = replace(CHANGE, from_on=IsoWeek(2026, 46).monday)
    rare = replace(SITE, plan=replace(SITE.plan, rhythm=Rhythm.EVERY_4_WEEKS))
    (site,) = sites_in(WEEK, [rare], [earlier])
    _, plan = week_of(site.plan)

    assert len(announced(plan, [earlier], [site], NAMES).changes) == 1
