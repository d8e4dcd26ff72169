"""Seconds of a working day and moments of the world, and back; what the clock shows then.

A time of day is counted in seconds that have passed since noon minus 12 hours, local time (the
convention of the General Transit Feed Specification for service days). It never jumps, and goes on
beyond 24:00 where a shift does: six hours of it are six hours of work. In the two nights of a year
in which the clocks change, the clock on the wall shows something else after the change:
`clock_time` tells every time of a day as people read it there, `day_seconds` reads what they say.

A shift is agreed by the clock on the wall: 22:00-06:00 has nine hours in the night in which the
clocks go back, and seven where they go forward (`shift_on`). Time windows and the span of the meal
hold for all days of a week alike and are kept in seconds; after a change they lie an hour off.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from dispatch.clock import DAY_S, NOON_S, format_time, wall_time
from dispatch.technicians import Shift, Technician

_zone: ContextVar[tzinfo] = ContextVar("zone", default=UTC)


@contextmanager
def clocks_of(zone: tzinfo) -> Iterator[None]:
    """Let every time within be told as clocks of `zone` show it, which is the company's."""
    token = _zone.set(zone)
    try:
        yield
    finally:
        _zone.reset(token)


def moment_of(day: date, seconds: float, zone: tzinfo) -> datetime:
    """The moment, aware and in UTC, that lies `seconds` into the working day `day`."""
    return _noon(day, zone) + timedelta(seconds=seconds - NOON_S)


def seconds_of(day: date, at: datetime, zone: tzinfo) -> int:
    """Seconds of the working day `day` at an aware moment, rounded; below 0 before it begins."""
    return round((at - _noon(day, zone)).total_seconds()) + NOON_S


def day_seconds(day: date, clock_s: int, zone: tzinfo) -> int:
    """Seconds of the working day when the clock shows `clock_s`, counted from midnight.

    Beyond 86,400 it is the clock of the next date. Of an hour that comes twice the first is
    meant; in the hour that is left out the clock is taken to go on as before.
    """
    midnight = datetime.combine(day, time(), zone)
    return seconds_of(day, (midnight + timedelta(seconds=clock_s)).astimezone(UTC), zone)


def clock_time(day: date, seconds: int) -> str:
    """A time of a day as clocks show it, as '07:05', '01:30 (+1)' or '01:30 EST (+1)'.

    Zones are named in the hour that comes twice.
    """
    told = format_time(_clock_s(day, seconds))
    clock, _blank, later = told.partition(" ")
    name = _name_where_twice(day, seconds)
    return " ".join(one for one in (clock, name, later) if one)


def wall_clock(day: date, seconds: int) -> str:
    """A time of a day as a clock on the wall shows it, without its date: 25 hours is '01:00'."""
    name = _name_where_twice(day, seconds)
    return f"{wall_time(_clock_s(day, seconds))} {name}".rstrip()


def shift_on(technician: Technician, day: date, zone: tzinfo) -> Shift | None:
    """A technician's shift of a day in its seconds, from when to when by the clock on the wall."""
    return _by_the_clock(technician.shift_on(day), day, zone)


def on_the_clock(
    technicians: Iterable[Technician], days: Sequence[date], zone: tzinfo
) -> list[Technician]:
    """Technicians with their shifts in the seconds of the seven `days` of a week, Monday first."""
    return [_in_week(one, days, zone) for one in technicians]


def clock_has_changed(day: date, seconds: int, zone: tzinfo) -> bool:
    """Whether the clocks have changed between noon of a day and a later time of it."""
    return _offset(day, seconds, zone) != _offset(day, NOON_S, zone)


def clock_jumps(day: date, zone: tzinfo) -> bool:
    """Whether the clocks change between noon of `day` and noon of the next."""
    return _noon(day + timedelta(days=1), zone) - _noon(day, zone) != timedelta(days=1)


def _in_week(technician: Technician, days: Sequence[date], zone: tzinfo) -> Technician:
    shifts = tuple(
        _by_the_clock(shift, day, zone) for shift, day in zip(technician.shifts, days, strict=True)
    )
    return technician if shifts == technician.shifts else replace(technician, shifts=shifts)


def _by_the_clock(shift: Shift | None, day: date, zone: tzinfo) -> Shift | None:
    if shift is None or not _is_odd(day, zone):
        return shift
    start_s = max(0, day_seconds(day, shift.start_s, zone))
    end_s = day_seconds(day, shift.end_s, zone)
    return Shift(start_s, max(start_s + 1, min(end_s, start_s + DAY_S)))


def _clock_s(day: date, seconds: int) -> int:
    """What the clock shows, in seconds from the midnight that it showed last before noon."""
    zone = _zone.get()
    if not _is_odd(day, zone):
        return seconds
    return seconds + round(
        (_offset(day, seconds, zone) - _offset(day, NOON_S, zone)).total_seconds()
    )


def _name_where_twice(day: date, seconds: int) -> str:
    """The name of the zone in the hour that comes twice; else nothing."""
    zone = _zone.get()
    if not _is_odd(day, zone):
        return ""
    local = moment_of(day, seconds, zone).astimezone(zone)
    is_twice = local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()
    return (local.tzname() or "") if is_twice else ""


def _offset(day: date, seconds: int, zone: tzinfo) -> timedelta:
    return moment_of(day, seconds, zone).astimezone(zone).utcoffset() or timedelta()


def _is_odd(day: date, zone: tzinfo) -> bool:
    """Whether the clocks change in the night before noon of `day` or in the one after it."""
    return clock_jumps(day, zone) or clock_jumps(day - timedelta(days=1), zone)


def _noon(day: date, zone: tzinfo) -> datetime:
    return datetime.combine(day, time(12), zone).astimezone(UTC)
