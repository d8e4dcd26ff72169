"""ISO weeks and times of day."""

from datetime import UTC, date, datetime, timedelta

import pytest
from dateutil.rrule import WEEKLY, rrule
from hypothesis import given
from hypothesis import strategies as st

from dispatch.clock import (
    DAY_S,
    IsoWeek,
    format_span,
    format_time,
    is_of_day,
    parse_day,
    parse_span,
    parse_time,
    wall_time,
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


@pytest.mark.parametrize("text", ["0000-W01", "0001-W01", "1899-W52", "2200-W01", "9999-W52"])
def test_a_week_of_a_year_that_nobody_means_is_refused(text: str) -> None:
    """The weeks around it are looked at too, and the calendar ends with the year 9999."""
    with pytest.raises(InvalidValue, match=f"'{text}' lies outside the years 1900 to 2199"):
        IsoWeek.parse(text)
    assert IsoWeek.parse("1900-W01").previous < IsoWeek.parse("2199-W52").next


def test_weeks_sort_by_time_across_years() -> None:
    """The order of weeks is used to tell past from future."""
    assert IsoWeek(2026, 53) < IsoWeek(2027, 1) < IsoWeek(2027, 2)


@given(st.integers(0, 2 * DAY_S // 60))
def test_a_time_of_day_survives_being_written_and_read(minute: int) -> None:
    """What a page shows can be typed back in, midnight and the night after the day included."""
    assert parse_time(format_time(minute * 60)) == minute * 60


def test_seconds_are_dropped_when_a_time_is_written() -> None:
    """A stop at 07:59:59 is shown as 07:59: no technician is told to come later than planned."""
    assert format_time(7 * 3600 + 59 * 60 + 59) == "07:59"


@pytest.mark.parametrize("text", ["24:01", "7:60", "07.30", "730", "7am", "-1:00", ""])
def test_a_text_that_is_no_time_of_day_is_refused(text: str) -> None:
    """A misread time would move somebody's visit."""
    with pytest.raises(InvalidValue, match="HH:MM"):
        parse_time(text)


def test_a_time_after_midnight_says_so() -> None:
    """ISO 8601 has no hour 26: two o'clock in the night of a shift is written with (+1)."""
    assert (format_time(26 * 3600), wall_time(26 * 3600)) == ("02:00 (+1)", "02:00")
    assert parse_time("2:00 (+1)") == parse_time("02:00+1") == 26 * 3600
    assert (format_time(DAY_S), format_time(2 * DAY_S)) == ("24:00", "24:00 (+1)")


def test_a_span_is_two_times_with_a_hyphen_or_a_dash() -> None:
    """Seconds after midnight, for windows and shifts alike; an end before the start is tomorrow."""
    assert parse_span("07:00-12:30") == (7 * 3600, 12 * 3600 + 1800)
    assert parse_span(" 7:00 \N{EN DASH} 12:30 ") == (7 * 3600, 12 * 3600 + 1800)
    assert parse_span("20:00-02:00") == (20 * 3600, 26 * 3600)
    assert parse_span("00:30 (+1)-01:30") == (24 * 3600 + 1800, 25 * 3600 + 1800)
    for text in ("07:00", "07:00-12:00-13:00", "morning"):
        with pytest.raises(InvalidValue, match="07:00-12:00"):
            parse_span(text)
    with pytest.raises(InvalidValue, match="'12h' is no time"):
        parse_span("07:00-12h")


@given(st.integers(0, 2 * DAY_S // 60), st.integers(0, 2 * DAY_S // 60))
def test_a_span_survives_being_written_and_read(one: int, other: int) -> None:
    """Lists are imported again: no shift may change its end on the way."""
    start_s, end_s = sorted((one * 60, other * 60))
    assert parse_span(format_span(start_s, end_s)) == (start_s, end_s)


def test_a_shift_past_midnight_is_written_shortly() -> None:
    """As people write it."""
    assert format_span(20 * 3600, 26 * 3600) == "20:00-02:00"
    assert format_span(20 * 3600, 44 * 3600) == "20:00-20:00 (+1)"  # a whole day, no moment


def test_the_night_belongs_to_the_day_before_until_noon() -> None:
    """A pool served at half past midnight is served on the day of the shift."""
    monday = date(2026, 11, 30)
    midnight = datetime(2026, 11, 30, tzinfo=UTC)
    hours = [midnight + timedelta(hours=n) for n in (0, 35, 36)]
    assert [is_of_day(at, monday) for at in hours] == [True, True, False]


def test_a_day_is_read_as_year_month_day_only() -> None:
    """11/12/2026 means two days, depending on the country: neither is guessed."""
    assert parse_day(" 2026-11-30 ") == date(2026, 11, 30)
    for text in ("11/12/2026", "30.11.2026", "2026-02-30", "tomorrow", ""):
        with pytest.raises(InvalidValue, match="year-month-day"):
            parse_day(text)
    for text in ("0001-01-01", "1899-12-31", "2200-01-01", "9999-12-31"):
        with pytest.raises(InvalidValue, match="outside the years 1900 to 2199"):
            parse_day(text)
