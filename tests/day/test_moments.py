"""Seconds of a working day, over both changes of the clock and past midnight."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from dispatch.clock import IsoWeek
from dispatch.day.moments import (
    clock_jumps,
    clock_time,
    clocks_of,
    day_seconds,
    moment_of,
    on_the_clock,
    seconds_of,
    shift_on,
    wall_clock,
)
from dispatch.places import Place
from dispatch.technicians import Shift, Technician

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


@pytest.mark.parametrize(
    ("zone", "day", "ends"),
    [
        # 20:00-02:00 in New York, clocks forward at 2:00 of 8 March: EST, UTC-5, to the end.
        ("America/New_York", date(2026, 3, 7), ["2026-03-08T01:00", "2026-03-08T07:00"]),
        # Sunday's own night shift lies behind the change: EDT, UTC-4.
        ("America/New_York", date(2026, 3, 8), ["2026-03-09T00:00", "2026-03-09T06:00"]),
        # Clocks back at 2:00 of 1 November, when the shift ends: EDT to the end.
        ("America/New_York", date(2026, 10, 31), ["2026-11-01T00:00", "2026-11-01T06:00"]),
        ("America/New_York", date(2026, 11, 1), ["2026-11-02T01:00", "2026-11-02T07:00"]),
        # In Berlin clocks go forward at 2:00 CET of 29 March, 1:00 UTC, when the shift ends.
        ("Europe/Berlin", date(2026, 3, 28), ["2026-03-28T19:00", "2026-03-29T01:00"]),
        ("Europe/Berlin", date(2026, 3, 29), ["2026-03-29T18:00", "2026-03-30T00:00"]),
        # And back at 3:00 CEST of 25 October, 1:00 UTC: 2:00 of the shift is CEST, UTC+2.
        ("Europe/Berlin", date(2026, 10, 24), ["2026-10-24T18:00", "2026-10-25T00:00"]),
        ("Europe/Berlin", date(2026, 10, 25), ["2026-10-25T19:00", "2026-10-26T01:00"]),
    ],
)
def test_a_night_shift_lasts_six_hours_on_the_nights_of_change_too(
    zone: str, day: date, ends: list[str]
) -> None:
    """20:00 to 02:00 is six hours of work; the moments in UTC are worked by hand."""
    shift = [moment_of(day, hour * HOUR, ZoneInfo(zone)) for hour in (20, 26)]
    assert shift == [datetime.fromisoformat(end).replace(tzinfo=UTC) for end in ends]
    assert [seconds_of(day, at, ZoneInfo(zone)) for at in shift] == [20 * HOUR, 26 * HOUR]


def test_after_a_change_in_the_night_the_seconds_go_on_and_the_clock_has_jumped() -> None:
    """23:00 to 05:00 in New York: the seventh hour of 8 March is 8:00 UTC, when it is 4:00 EDT.

    In the autumn night the same hour of the shift is 2:00 EST, 7:00 UTC.
    """
    new_york = ZoneInfo("America/New_York")
    spring = moment_of(date(2026, 3, 7), 27 * HOUR, new_york)
    assert spring == datetime(2026, 3, 8, 8, tzinfo=UTC)
    assert f"{spring.astimezone(new_york):%H:%M %Z}" == "04:00 EDT"
    autumn = moment_of(date(2026, 10, 31), 27 * HOUR, new_york)
    assert autumn == datetime(2026, 11, 1, 7, tzinfo=UTC)
    assert f"{autumn.astimezone(new_york):%H:%M %Z}" == "02:00 EST"
    nights = [date(2026, 3, 6), date(2026, 3, 7), date(2026, 3, 8), date(2026, 10, 31)]
    assert [clock_jumps(one, new_york) for one in nights] == [False, True, False, True]


@pytest.mark.parametrize("zone", ["America/New_York", "America/Los_Angeles"])
@pytest.mark.parametrize("day", [date(2026, 3, n) for n in (6, 7, 8)] + [date(2026, 10, 31)])
def test_times_are_told_as_clocks_show_them(zone: str, day: date) -> None:
    """Through the night with both changes of 2026, and beside it: what zoneinfo has at the time."""
    here = ZoneInfo(zone)
    with clocks_of(here):
        for minutes in range(6 * 60, 36 * 60, 10):
            local = moment_of(day, minutes * 60, here).astimezone(here)
            later = "" if local.date() == day else " (+1)"
            clock = clock_time(day, minutes * 60)
            is_twice = day.month == 10 and local.hour == 1 and later != ""
            name = f" {local:%Z}" if is_twice else ""
            midnight = clock == "24:00" and f"{local:%H:%M}" == "00:00"
            assert midnight or clock == f"{local:%H:%M}{name}{later}"
            assert wall_clock(day, minutes * 60) == f"{local:%H:%M}{name}" or midnight


def test_what_a_clock_showed_is_read_back_to_the_same_second() -> None:
    """01:30 of the autumn night is the first one; 02:30 of the spring night was never shown."""
    here = ZoneInfo("America/New_York")
    autumn, spring, usual = date(2026, 10, 31), date(2026, 3, 7), date(2026, 3, 14)
    told = {
        day: [day_seconds(day, h * HOUR // 2, here) / HOUR for h in (44, 51, 52, 56)]
        for day in (autumn, spring, usual)
    }  # 22:00, 01:30, 02:00 and 04:00 of the next date
    assert told[usual] == [22, 25.5, 26, 28]
    assert told[autumn] == [22, 25.5, 27, 29]
    assert told[spring] == [22, 25.5, 26, 27]


@pytest.mark.parametrize("zone", ["America/New_York", "America/Los_Angeles"])
def test_a_shift_over_a_change_is_as_long_as_the_clock_makes_it(zone: str) -> None:
    """22:00-06:00: nine hours back from daylight saving time, seven into it, eight else.

    The end is 06:00 for whoever looks at the clock; hours are paid as they are worked.
    """
    here, night = ZoneInfo(zone), Shift(22 * HOUR, 30 * HOUR)
    home = Place(0, 0)
    ana = Technician("T1", "Ana", (night,) * 7, home, home)
    for monday, hours in ((date(2026, 3, 2), 7), (date(2026, 10, 26), 9)):
        days = IsoWeek.of(monday).days
        (found,) = on_the_clock([ana], days, here)
        lasts = [(one.end_s - one.start_s) // HOUR for one in found.shifts if one]
        assert lasts == [8, 8, 8, 8, 8, hours, 8]
        assert shift_on(ana, days[5], here) == found.shifts[5]
        with clocks_of(here):
            assert [
                clock_time(day, one.end_s)
                for day, one in zip(days, found.shifts, strict=True)
                if one
            ] == ["06:00 (+1)"] * 7
    (same,) = on_the_clock([ana], IsoWeek(2026, 30).days, here)
    assert same is ana


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
