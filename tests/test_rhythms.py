"""Rhythms, days of the year and seasons."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.errors import InvalidValue
from dispatch.rhythms import MonthDay, Rhythm, Season, check_seasons

WINTER = Season(MonthDay(11, 1), MonthDay(2, 29), Rhythm.EVERY_2_WEEKS)


@pytest.mark.parametrize(
    ("rhythm", "visits", "weeks"),
    [
        (Rhythm.THREE_TIMES_A_WEEK, 3, 1),
        (Rhythm.TWICE_A_WEEK, 2, 1),
        (Rhythm.WEEKLY, 1, 1),
        (Rhythm.EVERY_2_WEEKS, 1, 2),
        (Rhythm.EVERY_4_WEEKS, 1, 4),
    ],
)
def test_a_rhythm_says_visits_and_weeks(rhythm: Rhythm, visits: int, weeks: int) -> None:
    """The two numbers are what all counting rests on."""
    assert (rhythm.visits_per_week, rhythm.every_weeks) == (visits, weeks)


@pytest.mark.parametrize(("month", "day"), [(2, 30), (13, 1), (0, 1), (4, 31), (1, 0)])
def test_a_day_that_no_year_has_is_refused(month: int, day: int) -> None:
    """A season that begins on such a day would never begin."""
    with pytest.raises(InvalidValue, match="no day of the year"):
        MonthDay(month, day)


def test_the_29th_of_february_is_a_day_of_some_years() -> None:
    """Winter ends on it, so that leap years have no hole before March."""
    assert WINTER.covers(date(2028, 2, 29))
    assert WINTER.covers(date(2027, 2, 28))
    assert not WINTER.covers(date(2027, 3, 1))


def test_a_season_over_new_year_covers_both_ends() -> None:
    """Winter begins in one year and ends in the next."""
    assert WINTER.covers(date(2026, 11, 1))
    assert WINTER.covers(date(2026, 12, 31))
    assert WINTER.covers(date(2027, 1, 1))
    assert not WINTER.covers(date(2026, 10, 31))


@given(st.dates(date(2024, 1, 1), date(2027, 12, 31)), st.integers(0, 364), st.dates())
def test_a_season_covers_as_many_days_of_a_year_as_lie_between_its_ends(
    first: date, days: int, any_day: date
) -> None:
    """Counted on a calendar without leap days, whether or not it runs over New Year."""
    year = [date(2026, 1, 1) + timedelta(days=n) for n in range(365)]
    start = first.replace(year=2026, day=min(first.day, 28))
    end = year[(year.index(start) + days) % 365]
    season = Season(MonthDay.of(start), MonthDay.of(end), Rhythm.WEEKLY)
    assert sum(season.covers(day) for day in year) == days + 1
    assert season.covers(start)
    assert season.covers(end)


@pytest.mark.parametrize(
    "other",
    [
        Season(MonthDay(2, 1), MonthDay(3, 31), None),  # begins inside winter
        Season(MonthDay(10, 1), MonthDay(11, 1), None),  # ends on its first day
        Season(MonthDay(12, 1), MonthDay(12, 24), None),  # lies in it
        Season(MonthDay(10, 1), MonthDay(4, 30), None),  # holds it
    ],
)
def test_two_seasons_that_claim_a_day_are_refused(other: Season) -> None:
    """Nobody could say which rhythm that day has."""
    for pair in ((WINTER, other), (other, WINTER)):
        with pytest.raises(InvalidValue, match="claim the same days"):
            check_seasons(pair)


def test_seasons_that_follow_each_other_are_kept() -> None:
    """A whole year may be told by its seasons."""
    check_seasons((WINTER, Season(MonthDay(3, 1), MonthDay(10, 31), Rhythm.TWICE_A_WEEK)))


def test_a_season_is_written_as_it_is_read() -> None:
    """Lists are changed in a spreadsheet and taken in again."""
    assert str(WINTER) == "Nov-01..Feb-29=every-2-weeks"
    assert str(Season(MonthDay(6, 1), MonthDay(6, 30), None)) == "Jun-01..Jun-30=none"
    assert str(Season(MonthDay(6, 1), MonthDay(6, 30), Rhythm.WEEKLY, 40)).endswith("weekly/40min")
