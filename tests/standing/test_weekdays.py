"""Usual weekdays over seasons that have more or fewer visits a week."""

from __future__ import annotations

import pytest

from dispatch.rhythms import MonthDay, Rhythm, Season
from dispatch.service_plan import ServicePlan
from dispatch.standing.weekdays import weekday_counts, weekdays_with
from tests.planning.weeks import WEEK

MON, TUE, WED, THU, FRI = range(5)
TWICE, WEEKLY = Rhythm.TWICE_A_WEEK, Rhythm.WEEKLY


def plan(rhythm: Rhythm, winter: Rhythm | None, *usual: int, locked: bool = False) -> ServicePlan:
    season = Season(MonthDay(11, 1), MonthDay(2, 28), winter)
    return ServicePlan(
        rhythm, 30, seasons=(season,), usual_weekdays=frozenset(usual), weekday_locked=locked
    )


def chosen(one: ServicePlan, *visits: int, worked: tuple[int, ...] = (0, 1, 2, 3, 4)) -> set[int]:
    days = WEEK.days
    return set(weekdays_with(one, tuple(days[n] for n in visits), [days[n] for n in worked]))


@pytest.mark.parametrize(
    ("one", "visits", "wanted"),
    [
        (plan(TWICE, WEEKLY, MON, THU), (TUE,), {TUE, FRI}),  # 3 and 4 days apart
        (plan(TWICE, WEEKLY, MON, THU), (THU,), {MON, THU}),  # nothing changes
        (plan(TWICE, WEEKLY), (WED,), {MON, WED}),  # as good as Friday, and first
        (plan(WEEKLY, TWICE, TUE), (MON, THU), {MON}),
        (plan(WEEKLY, TWICE, THU), (MON, THU), {THU}),  # as before
        (plan(WEEKLY, TWICE, MON, THU), (TUE, FRI), {TUE, FRI}),  # both of the fuller weeks
        (plan(WEEKLY, TWICE, MON, THU), (TUE,), {TUE, FRI}),
        (plan(TWICE, WEEKLY, MON, THU, locked=True), (MON,), {MON, THU}),
        (plan(WEEKLY, None, MON), (FRI,), {FRI}),
        (plan(WEEKLY, WEEKLY, MON, TUE, WED), (FRI,), {FRI}),
    ],
)
def test_a_customer_keeps_as_many_weekdays_as_all_seasons_ask_for(
    one: ServicePlan, visits: tuple[int, ...], wanted: set[int]
) -> None:
    """Routes designed in winter may not take a day from a customer of two visits in summer."""
    found = chosen(one, *visits)
    assert found == wanted
    assert len(found) in weekday_counts(one)


def test_the_other_days_are_those_on_which_the_technician_comes() -> None:
    """Tuesday and Friday lie better apart, but nobody would come on Fridays."""
    one = plan(TWICE, WEEKLY, MON, THU)
    assert chosen(one, TUE, worked=(MON, TUE, THU)) == {TUE, THU}
