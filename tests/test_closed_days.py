"""Days on which the company is closed."""

from datetime import date

import pytest

from dispatch.clock import IsoWeek
from dispatch.closed_days import holiday_names, holidays_of
from dispatch.errors import SettingsError
from tests.pools import W49

CHRISTMAS_WEEK = IsoWeek(2026, 52)  # Friday is 25 December


def test_holidays_of_a_week_come_from_the_calendar_of_the_country() -> None:
    """5 U.S.C. 6103: Thanksgiving is the fourth Thursday in November, Christmas 25 December."""
    assert holiday_names("US", None, IsoWeek(2026, 48)) == {date(2026, 11, 26): "Thanksgiving Day"}
    assert holidays_of("US", None, CHRISTMAS_WEEK) == {date(2026, 12, 25)}
    assert holidays_of("US", None, W49) == frozenset()


def test_a_holiday_on_a_saturday_closes_the_saturday_itself() -> None:
    """4 July 2026: offices observe the Friday, the trade works it (common practice)."""
    assert holidays_of("US", None, IsoWeek(2026, 27)) == {date(2026, 7, 4)}


def test_new_year_is_found_in_a_week_that_lies_in_two_years() -> None:
    """1 January 2027 lies in week 53 of 2026."""
    assert holidays_of("US", None, IsoWeek(2026, 53)) == {date(2027, 1, 1)}


def test_a_holiday_on_which_the_company_works_does_not_close_it() -> None:
    """Many companies work on Columbus Day; which ones is theirs to say."""
    week = IsoWeek(2026, 42)
    assert holidays_of("US", None, week) == {date(2026, 10, 12)}
    assert holidays_of("US", None, week, worked=["columbus day"]) == frozenset()


def test_a_subdivision_adds_its_own_holidays() -> None:
    """Texas keeps 2 March, its independence day; the country does not (a Monday in 2026)."""
    week = IsoWeek.of(date(2026, 3, 2))
    assert holidays_of("US", None, week) == frozenset()
    assert isinstance(holidays_of("US", "TX", week), frozenset)


@pytest.mark.parametrize(("country", "subdivision"), [("XX", None), ("US", "QQ")])
def test_an_unknown_country_or_subdivision_is_a_bad_setting(
    country: str, subdivision: str | None
) -> None:
    """Silence would leave every holiday open."""
    with pytest.raises(SettingsError, match="ISO 3166"):
        holidays_of(country, subdivision, W49)
