"""Readings of a record as points in time."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from dispatch.readings import ReadingKind
from dispatch.records.history import last_readings, moment_of, readings_at
from tests.records.samples import record

TWO_PRESSURES = [
    {"kind": "filter-pressure", "value": 29, "unit": "psi"},
    {"kind": "pump-speed", "value": 2400},
    {"kind": "filter-pressure", "value": 18, "unit": "psi"},
]


def test_readings_have_the_time_of_arrival() -> None:
    """The water is tested first; without any time it is noon of the day."""
    assert moment_of(record(), UTC) == datetime(2026, 11, 23, 16, tzinfo=UTC)
    bare = record(arrived_at=None, left_at=None)
    zone = ZoneInfo("America/Phoenix")
    assert moment_of(bare, zone) == datetime(2026, 11, 23, 19, tzinfo=UTC)


def test_a_pressure_read_twice_keeps_its_order_and_its_speed() -> None:
    """After a backwash the second pressure is the clean one, at the same pump speed."""
    points = readings_at(record(readings=TWO_PRESSURES), UTC)
    pressures = [one for one in points if one.reading.kind is ReadingKind.FILTER_PRESSURE]
    assert [round(one.reading.value) for one in pressures] == [200, 124]
    assert pressures[1].at - pressures[0].at == timedelta(seconds=1)
    speeds = {one.at for one in points if one.reading.kind is ReadingKind.PUMP_SPEED}
    assert speeds == {one.at for one in pressures}


def test_the_last_reading_counts() -> None:
    """Advice is given on the later of two pressures."""
    last = last_readings(readings_at(record(readings=TWO_PRESSURES), UTC), UTC)
    assert round(last[ReadingKind.FILTER_PRESSURE].reading.value) == 124
