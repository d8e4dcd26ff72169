"""What strict readers make of a calendar (RFC 5545)."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import icalendar

from dispatch.actions.calendars import CalendarStop, TechnicianCalendar
from dispatch.feeds.calendar import calendar_text
from dispatch.places import Place
from dispatch.settings import Settings
from dispatch.technicians import Shift, Technician

CHANGED = datetime(2026, 10, 1, tzinfo=UTC)
GATE = Place(40.0, -74.0)
NIGHT = date(2026, 10, 31)  # at 02:00 of the night after it clocks in New York go back to 01:00
HOUR_S = 3600


def _calendar(folder: Path, stop: CalendarStop, name: str = "Alma") -> Any:
    settings = Settings(data_dir=folder, time_zone="America/New_York")
    shift = Shift(20 * HOUR_S, 30 * HOUR_S)
    found = TechnicianCalendar(Technician("T1", name, (shift,) * 7, GATE, GATE), (stop,))
    return icalendar.Calendar.from_ical(calendar_text(found, settings))


def _stop(start_s: int, leave_s: int) -> CalendarStop:
    return CalendarStop("S1", NIGHT, start_s, leave_s, "One", "", GATE, (), 0, CHANGED)


def test_a_visit_in_the_hour_that_comes_twice_ends_after_it_begins(tmp_path: Path) -> None:
    """From 01:45 in summer time to 01:15 in winter time, half an hour later: 05:45 to 06:15 UTC."""
    (event,) = _calendar(tmp_path, _stop(25 * HOUR_S + 2700, 26 * HOUR_S + 900)).walk("VEVENT")
    assert event["DTSTART"].dt == datetime(2026, 11, 1, 5, 45, tzinfo=UTC)
    assert event["DTEND"].dt - event["DTSTART"].dt == timedelta(minutes=30)


def test_a_visit_in_the_second_of_two_hours_is_not_shown_in_the_first(tmp_path: Path) -> None:
    """At 26:30 of the shift clocks show 01:30 for the second time; whoever came then is late."""
    (event,) = _calendar(tmp_path, _stop(26 * HOUR_S + 1800, 27 * HOUR_S + 900)).walk("VEVENT")
    assert event["DTSTART"].dt.astimezone(UTC) == datetime(2026, 11, 1, 6, 30, tzinfo=UTC)


def test_a_name_of_two_lines_neither_ends_the_calendar_nor_adds_to_it(tmp_path: Path) -> None:
    """A cell of a spreadsheet may hold both; one such technician kept the whole export in."""
    name = "Alma, of the\r\nX-OTHER:north; 1\\2"
    calendar = _calendar(tmp_path, _stop(8 * HOUR_S, 9 * HOUR_S), name)
    assert "X-OTHER" not in calendar
    escaped = "Pools\\, Alma\\, of the X-OTHER:north\\; 1\\\\2"  # section 3.3.11
    assert str(calendar["NAME"]) == str(calendar["X-WR-CALNAME"]) == escaped
