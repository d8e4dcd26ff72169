"""ISO weeks and times of day."""

from datetime import date, timedelta

import pytest
from dateutil.rrule import WEEKLY, rrule
from hypothesis import given
from hypothesis import strategies as st

from dispatch.clock import (
    DAY_S,
    IsoWeek,
    format_time,
    parse_day,
    parse_time,
    weeks_in_year,
)
from dispatch.errors import InvalidValue

DAYS = st.dates(date(1990, 1, 1), date(2090, 12, 31))


@given(DAYS)
def test_a_day_lies_in_the_week_of_the_iso_calendar(day: date) -> None:
    """Python's own calendar is the reference for ISO 8601 week dates."""
    week = IsoWeek.of(day)
    assert (week.year, week.week) == day.isocalendar()[:2]
    assert week.days[day.weekday()] == day


@given(DAYS, st.integers(1, 120))
def test_walking_week_by_week_is_a_weekly_recurrence(day: date, count: int) -> None:
    """The week after must be the one that a calendar recurrence of RFC 5545 finds."""
    week = IsoWeek.of(day)
    expected = rrule(WEEKLY, dtstart=week.monday, count=count + 1)[count].date()
    for _ in range(count):
        week = week.next
    assert week.monday == expected
    assert week.previous.monday == expected - timedelta(days=7)


@pytest.mark.parametrize(
    ("day", "written"),
    [
        (date(2026, 12, 28), "2026-W53"),  # 2026 begins on a Thursday, so it has a week 53
        (date(2027, 1, 3), "2026-W53"),
        (date(2027, 1, 4), "2027-W01"),
        (date(2024, 12, 30), "2025-W01"),
        (date(1977, 1, 1), "1976-W53"),  # the example of ISO 8601 in many almanacs
    ],
)
def test_weeks_at_the_turn_of_the_year_are_named_as_iso_8601_does(day: date, written: str) -> None:
    """Plans around New Year carry the year of their Thursday, not of their Monday."""
    assert str(IsoWeek.of(day)) == written
    assert IsoWeek.parse(written) == IsoWeek.of(day)


def test_2026_has_53_weeks_and_2027_has_52() -> None:
    """Week 53 is what breaks rhythms that count by odd and even weeks."""
    assert (weeks_in_year(2026), weeks_in_year(2027)) == (53, 52)
    assert IsoWeek(2026, 53).next == IsoWeek(2027, 1)


@pytest.mark.parametrize("text", ["2027-W53", "2026-W00", "2026-49", "W49", "2026-W9", ""])
def test_a_text_that_is_no_week_is_refused_with_the_way_to_write_it(text: str) -> None:
    """A week that does not exist must not slide into the next year."""
    with pytest.raises(InvalidValue, match=r"weeks 1 to|as in 2026-W49"):
        IsoWeek.parse(text)


def test_weeks_sort_by_time_across_years() -> None:
    """The order of weeks is used to tell past from future."""
    assert IsoWeek(2026, 53) < IsoWeek(2027, 1) < IsoWeek(2027, 2)


@given(st.integers(0, DAY_S // 60))
def test_a_time_of_day_survives_being_written_and_read(minute: int) -> None:
    """What a page shows can be typed back in, midnight at both ends included."""
    assert parse_time(format_time(minute * 60)) == minute * 60


def test_seconds_are_dropped_when_a_time_is_written() -> None:
    """A stop at 07:59:59 is shown as 07:59: no technician is told to come later than planned."""
    assert format_time(7 * 3600 + 59 * 60 + 59) == "07:59"


@pytest.mark.parametrize("text", ["24:01", "7:60", "07.30", "730", "7am", "-1:00", ""])
def test_a_text_that_is_no_time_of_day_is_refused(text: str) -> None:
    """A misread time would move somebody's visit."""
    with pytest.raises(InvalidValue, match="HH:MM"):
        parse_time(text)


def test_a_day_is_read_as_year_month_day_only() -> None:
    """11/12/2026 means two days, depending on the country: neither is guessed."""
    assert parse_day(" 2026-11-30 ") == date(2026, 11, 30)
    for text in ("11/12/2026", "30.11.2026", "2026-02-30", "tomorrow", ""):
        with pytest.raises(InvalidValue, match="year-month-day"):
            parse_day(text)
