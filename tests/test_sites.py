"""Sites, service plans, holds."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.errors import InvalidValue
from dispatch.sites import (
    Filter,
    Hold,
    Media,
    Rhythm,
    ServicePlan,
    Site,
    TimeWindow,
    names_of,
)
from tests.pools import GATE

MON, TUE, THU, SAT = 0, 1, 3, 5


@pytest.mark.parametrize(
    ("rhythm", "visits", "weeks"),
    [
        (Rhythm.TWICE_A_WEEK, 2, 1),
        (Rhythm.WEEKLY, 1, 1),
        (Rhythm.EVERY_2_WEEKS, 1, 2),
        (Rhythm.EVERY_4_WEEKS, 1, 4),
    ],
)
def test_a_rhythm_says_visits_and_weeks(rhythm: Rhythm, visits: int, weeks: int) -> None:
    """The two numbers are what all counting rests on."""
    assert (rhythm.visits_per_week, rhythm.every_weeks) == (visits, weeks)


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


@pytest.mark.parametrize(("start_s", "end_s"), [(3600, 0), (-1, 0), (0, 86_401)])
def test_a_window_lies_within_the_day(start_s: int, end_s: int) -> None:
    """A window past midnight belongs to two days."""
    with pytest.raises(InvalidValue, match="window"):
        TimeWindow(start_s, end_s)


@pytest.mark.parametrize("mass_kg", [0.0, -1.0, 2001.0])
def test_a_filling_that_no_filter_holds_is_refused(mass_kg: float) -> None:
    """The largest residential tank (36 in) holds about 400 kg (common practice)."""
    with pytest.raises(InvalidValue, match="filling"):
        Filter(Media.SAND, None, mass_kg)


@pytest.mark.parametrize("volume_l", [10.0, 2e7])
def test_a_pool_volume_in_the_wrong_unit_is_refused(volume_l: float) -> None:
    """Cubic metres in place of litres are a thousand times too few."""
    with pytest.raises(InvalidValue, match="litres"):
        Site("S1", "A", "", GATE, ServicePlan(Rhythm.WEEKLY, 25), pool_volume_l=volume_l)


@pytest.mark.parametrize(("id_", "name"), [("", "A"), ("S1", "")])
def test_a_site_needs_id_and_name(id_: str, name: str) -> None:
    """Both are how people speak of it."""
    with pytest.raises(InvalidValue, match="id and a name"):
        Site(id_, name, "", GATE, ServicePlan(Rhythm.WEEKLY, 25))


def test_a_hold_that_ends_before_it_begins_is_refused() -> None:
    """Two days swapped would hold nothing."""
    with pytest.raises(InvalidValue, match="swap the two"):
        Hold("S1", date(2026, 12, 2), date(2026, 12, 1))


@given(st.dates(), st.dates(), st.dates())
def test_a_hold_covers_its_first_and_last_day_and_all_between(a: date, b: date, day: date) -> None:
    """Both ends are without visits: that is what people mean by 'away until the 5th'."""
    hold = Hold("S1", min(a, b), max(a, b))
    assert hold.covers(hold.first_day)
    assert hold.covers(hold.last_day)
    assert hold.covers(day) == (min(a, b) <= day <= max(a, b))


def test_weekdays_are_named_in_week_order() -> None:
    """Sets have no order; sentences do."""
    assert names_of(frozenset({THU, MON})) == "Mon, Thu"
