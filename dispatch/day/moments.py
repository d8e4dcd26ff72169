"""Seconds of a working day and moments of the world, and back.

A time of day is counted in seconds from noon minus 12 hours, local time (the convention of the
General Transit Feed Specification for service days). From the last clock change of a day on that
is what the clock on the wall shows; it never jumps, and goes on beyond 24:00 where a shift does.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta, tzinfo

from dispatch.clock import NOON_S


def moment_of(day: date, seconds: float, zone: tzinfo) -> datetime:
    """The moment, aware and in UTC, that lies `seconds` into the working day `day`."""
    return _noon(day, zone) + timedelta(seconds=seconds - NOON_S)


def seconds_of(day: date, at: datetime, zone: tzinfo) -> int:
    """Seconds of the working day `day` at an aware moment, rounded; below 0 before it begins."""
    return round((at - _noon(day, zone)).total_seconds()) + NOON_S


def clock_jumps(day: date, zone: tzinfo) -> bool:
    """Whether the clocks change between noon of `day` and noon of the next."""
    return _noon(day + timedelta(days=1), zone) - _noon(day, zone) != timedelta(days=1)


def _noon(day: date, zone: tzinfo) -> datetime:
    return datetime.combine(day, time(12), zone).astimezone(UTC)
