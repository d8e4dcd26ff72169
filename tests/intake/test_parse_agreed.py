"""Cells with several parts: windows, seasons, persons, minutes."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.errors import InvalidValue
from dispatch.intake.parse_agreed import (
    parse_count,
    parse_ids,
    parse_month_day,
    parse_persons_by_weekday,
    parse_rising_days,
    parse_seasons,
    parse_several_minutes,
    parse_windows,
)
from dispatch.rhythms import LEAP_YEAR, MonthDay, Rhythm, Season
from dispatch.windows import TimeWindow

HOUR_S = 3600


def test_several_windows_are_read_in_the_order_of_the_day() -> None:
    """People write them as they come to mind."""
    morning, noon = TimeWindow(7 * HOUR_S, 9 * HOUR_S), TimeWindow(13 * HOUR_S, 15 * HOUR_S)
    assert parse_windows("07:00-09:00;13:00-15:00") == (morning, noon)
    assert parse_windows(" 13:00 - 15:00 ; 7:00–9:00 ") == (morning, noon)  # noqa: RUF001


def test_windows_of_a_night_shift_go_past_midnight() -> None:
    """A bar's pool from 22:00 to 01:00, another after its closing time alone."""
    assert parse_windows("22:00-01:00") == (TimeWindow(22 * HOUR_S, 25 * HOUR_S),)
    late = TimeWindow(24 * HOUR_S + 1800, 26 * HOUR_S)
    assert parse_windows("00:30 (+1)-02:00 (+1)") == (late,)


@pytest.mark.parametrize("text", ["07:00-09:00;08:00-10:00", "mornings", "09:00-07:00", ";"])
def test_windows_that_cannot_be_are_refused(text: str) -> None:
    """An overlap is most likely a slip in one of the four times."""
    with pytest.raises(InvalidValue):
        parse_windows(text)


def test_seasons_are_read_with_rhythm_and_minutes() -> None:
    """The form that the help shows."""
    winter = Season(MonthDay(11, 1), MonthDay(2, 28), Rhythm.EVERY_2_WEEKS)
    assert parse_seasons("Nov-01..Feb-28=every-2-weeks") == (winter,)
    both = parse_seasons("Nov-01..Feb-28=every 2 weeks; june-1..Aug-31 = Twice-a-week / 40 min")
    summer = Season(MonthDay(6, 1), MonthDay(8, 31), Rhythm.TWICE_A_WEEK, 40)
    assert both == (winter, summer)
    assert parse_seasons("Dec-01..Mar-31=none")[0].rhythm is None


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("winter", "is no season"),
        ("Nov-01..Feb-28", "is no season"),
        ("Nov-01..Feb-30=weekly", "no day of the year"),
        ("Nom-01..Feb-28=weekly", "no day of the year"),
        ("Nov-01..Feb-28=fortnightly", "write one of"),
        ("Nov-01..Feb-28=weekly;Feb-28..Mar-31=weekly", "claim the same days"),
    ],
)
def test_a_season_that_cannot_be_read_is_refused(text: str, match: str) -> None:
    """With the part that is wrong in the sentence."""
    with pytest.raises(InvalidValue, match=match):
        parse_seasons(text)


MONTH_DAYS = st.dates(date(LEAP_YEAR, 1, 1), date(LEAP_YEAR, 12, 31)).map(MonthDay.of)
MINUTES = st.none() | st.integers(1, 720)


@given(MONTH_DAYS, MONTH_DAYS, st.none() | st.sampled_from(Rhythm), MINUTES)
def test_a_season_is_the_same_after_it_was_written(
    first: MonthDay, last: MonthDay, rhythm: Rhythm | None, minutes: int | None
) -> None:
    """Export and import meet in the spreadsheet of the owner."""
    season = Season(first, last, rhythm, minutes)
    assert parse_seasons(str(season)) == (season,)
    assert parse_month_day(str(first)) == first


def test_persons_are_one_number_or_seven() -> None:
    """Three numbers would leave four days to guessing."""
    assert parse_persons_by_weekday("2") == (2,) * 7
    assert parse_persons_by_weekday("2;2;1;1;1;1;1") == (2, 2, 1, 1, 1, 1, 1)
    with pytest.raises(InvalidValue, match="gives 3 numbers"):
        parse_persons_by_weekday("2;1;1")
    with pytest.raises(InvalidValue, match="whole number"):
        parse_count("two")


def test_lists_of_minutes_ids_and_days_are_read() -> None:
    """Ids keep their case, days come in order."""
    assert parse_several_minutes("180; 30;30") == (180, 30, 30)
    assert parse_ids("T3, T4;t5") == {"T3", "T4", "t5"}
    assert parse_rising_days("2026-12-02;2026-12-01") == (date(2026, 12, 1), date(2026, 12, 2))
    with pytest.raises(InvalidValue, match="number of minutes"):
        parse_several_minutes("180;-30")
