"""Readings of records as points in time, and the last of each kind."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, time, timedelta, tzinfo

from dispatch.readings import ReadingAt, ReadingKind
from dispatch.records.record import VisitRecord
from dispatch.water.advice import Last

NOON = time(12)


def moment_of(record: VisitRecord, zone: tzinfo) -> datetime:
    """When a record's readings were made: at its arrival, else its departure, else local noon."""
    known = record.arrived_at or record.left_at
    return known or datetime.combine(record.day, NOON, zone)


def readings_at(record: VisitRecord, zone: tzinfo) -> tuple[ReadingAt, ...]:
    """The record's readings as points of a history.

    A kind that was read twice (pressure before and after a backwash) comes a second later each
    time, so that the order is kept; the pump speed goes with it where it was read only once,
    because a pressure says nothing without its speed.
    """
    base = moment_of(record, zone).astimezone(UTC)
    times: dict[ReadingKind, int] = {}
    points = []
    for reading in record.readings:
        nth = times[reading.kind] = times.get(reading.kind, -1) + 1
        points.append(ReadingAt(record.site_id, base + timedelta(seconds=nth), reading))
    speeds = [one for one in record.readings if one.kind is ReadingKind.PUMP_SPEED]
    pressures = times.get(ReadingKind.FILTER_PRESSURE, 0)
    if len(speeds) == 1:
        points += [
            ReadingAt(record.site_id, base + timedelta(seconds=nth), speeds[0])
            for nth in range(1, pressures + 1)
        ]
    return tuple(points)


def last_readings(history: Iterable[ReadingAt], zone: tzinfo) -> Mapping[ReadingKind, Last]:
    """The last reading of each kind in a history of one site, with its local day."""
    last: dict[ReadingKind, ReadingAt] = {}
    for point in history:
        known = last.get(point.reading.kind)
        if known is None or point.at >= known.at:
            last[point.reading.kind] = point
    return {
        kind: Last(point.reading, point.at.astimezone(zone).date()) for kind, point in last.items()
    }
