"""Seconds of a working day, over both changes of the clock and past midnight."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from dispatch.clock import IsoWeek
from dispatch.day.moments import moment_of, seconds_of

DENVER = ZoneInfo("America/Denver")
HOUR = 3600


@pytest.mark.parametrize(
    ("day", "utc_hour"),
    [
        (date(2026, 3, 7), 15),  # the day before spring forward: MST, UTC-7
        (date(2026, 3, 8), 14),  # clocks go forward at 2:00: MDT, UTC-6, from then on
        (date(2026, 11, 1), 15),  # clocks go back at 2:00: MST again
    ],
)
def test_eight_o_clock_is_eight_o_clock_on_days_of_change(day: date, utc_hour: int) -> None:
    """A shift begins by the clock on the wall, also on the two days that have 23 or 25 hours."""
    moment = moment_of(day, 8 * HOUR, DENVER)
    assert moment == datetime(day.year, day.month, day.day, utc_hour, tzinfo=UTC)
    assert seconds_of(day, moment, DENVER) == 8 * HOUR


def test_time_goes_on_past_midnight_and_through_a_change() -> None:
    """A shift of Saturday that ends at 3:30 on the morning of the change is 2.5 h past 24:00."""
    saturday = date(2026, 3, 7)
    end = datetime(2026, 3, 8, 3, 30, tzinfo=DENVER)  # one hour of the night is missing
    assert seconds_of(saturday, end, DENVER) == 24 * HOUR + 2.5 * HOUR


def test_the_hour_that_comes_twice_is_told_apart() -> None:
    """1:30 comes twice on 1 November 2026; a stop begun in the first must not end before it."""
    first = datetime(2026, 11, 1, 1, 30, tzinfo=DENVER)
    second = first.replace(fold=1)
    day = date(2026, 10, 31)
    assert seconds_of(day, second, DENVER) - seconds_of(day, first, DENVER) == HOUR


def test_the_last_day_of_2026_lies_in_week_53() -> None:
    """2026 begins on a Thursday, so it has 53 weeks (ISO 8601)."""
    assert IsoWeek.of(date(2026, 12, 31)) == IsoWeek(2026, 53)
    assert IsoWeek.of(date(2027, 1, 3)) == IsoWeek(2026, 53)
