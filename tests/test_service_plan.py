"""Service plans."""

from dataclasses import replace
from datetime import date

import pytest

from dispatch.clock import IsoWeek
from dispatch.errors import InvalidValue
from dispatch.rhythms import MonthDay, Rhythm, Season
from dispatch.service_plan import Priority, ServicePlan, names_of
from dispatch.windows import TimeWindow

MON, TUE, WED, THU, FRI, SAT = range(6)
WINTER = Season(MonthDay(11, 1), MonthDay(2, 29), Rhythm.EVERY_2_WEEKS, 20)
WEEKLY = ServicePlan(Rhythm.WEEKLY, 25)


@pytest.mark.parametrize("minutes", [0, -5, 721])
def test_minutes_that_nobody_works_are_refused(minutes: int) -> None:
    """More than 12 hours at one pool is a slip of the pen."""
    with pytest.raises(InvalidValue, match="not believable"):
        ServicePlan(Rhythm.WEEKLY, minutes)


def test_two_visits_a_week_need_two_allowed_weekdays() -> None:
    """A rhythm that nobody can serve must not wait for a plan to fail."""
    with pytest.raises(InvalidValue, match="needs 2 weekdays but only Mon"):
        ServicePlan(Rhythm.TWICE_A_WEEK, 25, allowed_weekdays=frozenset({MON}))


def test_two_visits_a_week_locked_to_one_weekday_are_refused() -> None:
    """The lock leaves planning the usual weekday alone."""
    with pytest.raises(InvalidValue, match="needs 2 weekdays but only Tue"):
        ServicePlan(Rhythm.TWICE_A_WEEK, 25, usual_weekdays=frozenset({TUE}), weekday_locked=True)


def test_a_usual_weekday_must_be_allowed() -> None:
    """Two statements of the customer that contradict each other are asked about."""
    with pytest.raises(InvalidValue, match="Sat is not among"):
        ServicePlan(Rhythm.WEEKLY, 25, usual_weekdays=frozenset({SAT}))


@pytest.mark.parametrize("weekdays", [frozenset[int](), frozenset({7}), frozenset({-1})])
def test_allowed_weekdays_are_some_of_seven(weekdays: frozenset[int]) -> None:
    """No weekday at all is no agreement."""
    with pytest.raises(InvalidValue, match="at least one of Mon to Sun"):
        ServicePlan(Rhythm.WEEKLY, 25, allowed_weekdays=weekdays)


@pytest.mark.parametrize("lock", ["technician_locked", "weekday_locked"])
def test_a_lock_needs_the_thing_it_locks(lock: str) -> None:
    """A lock on nothing would make the site unservable without a word."""
    with pytest.raises(InvalidValue, match="locked but none is named"):
        ServicePlan(
            Rhythm.WEEKLY,
            25,
            technician_locked=lock == "technician_locked",
            weekday_locked=lock == "weekday_locked",
        )


def test_weekdays_are_named_in_week_order() -> None:
    """Sets have no order; sentences do."""
    assert names_of(frozenset({THU, MON})) == "Mon, Thu"


def test_what_is_not_said_keeps_a_plan_as_plain_as_it_was() -> None:
    """One person, any time, no season: books from before mean what they meant."""
    assert (WEEKLY.crew, WEEKLY.priority, WEEKLY.seasons) == (1, Priority.NORMAL, ())
    assert WEEKLY.windows == (TimeWindow(0, 86_400),)
    assert (WEEKLY.first_service_min, WEEKLY.started_on, WEEKLY.chemicals_kg) == (None, None, 0)


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"crew": 0}, "persons is not believable"),
        ({"crew": 7}, "persons is not believable"),
        ({"chemicals_kg": -1.0}, "chemicals"),
        ({"chemicals_kg": 401.0}, "chemicals"),
        ({"monthly_price": -1.0}, "price of -1 a month"),
        ({"monthly_price": 2e6}, "price of 2e.06 a month"),
        ({"first_service_min": 0}, "not believable"),
        ({"windows": ()}, "no time window"),
        ({"seasons": (WINTER, WINTER)}, "claim the same days"),
        ({"seasons": (replace(WINTER, service_min=0),)}, "not believable"),
    ],
)
def test_what_nobody_believes_is_refused(change: dict[str, object], match: str) -> None:
    """Absurd figures are caught where they enter, not in a search that fails."""
    with pytest.raises(InvalidValue, match=match):
        replace(WEEKLY, **change)  # type: ignore[arg-type]


def test_a_season_that_needs_more_weekdays_than_are_allowed_is_refused() -> None:
    """Otherwise the site would fail every summer, and nobody would know why."""
    summer = Season(MonthDay(5, 1), MonthDay(9, 30), Rhythm.THREE_TIMES_A_WEEK)
    with pytest.raises(InvalidValue, match="'three-times-a-week' needs 3 weekdays but only Mon"):
        replace(WEEKLY, allowed_weekdays=frozenset({MON, THU}), seasons=(summer,))


def test_the_usual_technician_cannot_be_one_who_is_not_wanted() -> None:
    """Two statements that contradict each other are asked about."""
    with pytest.raises(InvalidValue, match="T1 is also one who is not wanted"):
        ServicePlan(
            Rhythm.WEEKLY,
            25,
            usual_technician_id="T1",
            unwanted_technician_ids=frozenset({"T1", "T2"}),
        )


@pytest.mark.parametrize(
    ("monday", "rhythm", "minutes"),
    [
        (date(2026, 10, 26), Rhythm.WEEKLY, 25),  # winter begins on its Sunday
        (date(2026, 11, 2), Rhythm.EVERY_2_WEEKS, 20),
        (date(2027, 2, 22), Rhythm.EVERY_2_WEEKS, 20),  # ends on its Sunday
        (date(2027, 3, 1), Rhythm.WEEKLY, 25),
        (date(2028, 2, 28), Rhythm.WEEKLY, 25),  # holds Monday and Tuesday of winter alone
    ],
)
def test_a_season_that_changes_inside_a_week_takes_the_week_it_has_most_of(
    monday: date, rhythm: Rhythm, minutes: int
) -> None:
    """By hand: 1 November 2026 is a Sunday, 28 February 2027 too, 29 February 2028 a Tuesday."""
    plan = replace(WEEKLY, seasons=(WINTER,))
    week = IsoWeek.of(monday)
    assert (plan.rhythm_in(week), plan.service_min_in(week)) == (rhythm, minutes)


def test_no_day_of_a_closed_season_is_served_nor_any_before_the_beginning() -> None:
    """A pool under its winter cover is not opened for a visit."""
    plan = replace(
        WEEKLY,
        seasons=(Season(MonthDay(12, 1), MonthDay(2, 29), None),),
        started_on=date(2026, 11, 26),
    )
    days = [date(2026, 11, 25), date(2026, 11, 26), date(2026, 11, 30), date(2026, 12, 1)]
    assert [plan.is_served_on(day) for day in days] == [False, True, True, False]


def test_a_customer_who_came_back_is_unvisited_again() -> None:
    """A visit of the earlier service says nothing about the state of the pool today."""
    plan = replace(WEEKLY, started_on=date(2026, 11, 26), last_visit_on=date(2025, 6, 1))
    assert plan.is_unvisited
    assert not replace(plan, last_visit_on=date(2026, 11, 26)).is_unvisited
