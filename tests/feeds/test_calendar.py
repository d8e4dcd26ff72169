"""What strict readers make of a calendar (RFC 5545)."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import icalendar
import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings

from dispatch.actions.calendars import CalendarStop, TechnicianCalendar
from dispatch.feeds.calendar import calendar_text
from dispatch.places import Place
from dispatch.settings import Settings
from dispatch.technicians import Shift, Technician
from tests.feeds.hostile import TEXTS

CHANGED = datetime(2026, 10, 1, tzinfo=UTC)
GATE = Place(40.0, -74.0)
NIGHT = date(2026, 10, 31)  # at 02:00 of the night after it clocks in New York go back to 01:00
HOUR_S = 3600


def _made(folder: Path, stop: CalendarStop, name: str = "Alma", technician_id: str = "T1") -> bytes:
    settings = Settings(
        data_dir=folder, time_zone="America/New_York", public_url="https://pools.example"
    )
    shift = Shift(20 * HOUR_S, 30 * HOUR_S)
    technician = Technician(technician_id, name, (shift,) * 7, GATE, GATE)
    return calendar_text(TechnicianCalendar(technician, (stop,)), settings)


def _calendar(folder: Path, stop: CalendarStop, name: str = "Alma") -> Any:
    return icalendar.Calendar.from_ical(_made(folder, stop, name))


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


def _lines(made: bytes) -> list[bytes]:
    """The lines of a calendar, unfolded; it is seen that each is one (sections 3.1 and 3.6)."""
    *folded, rest = made.split(b"\r\n")
    assert rest == b""
    for line in folded:
        assert len(line) <= 75  # octets, the line break left out
        line.decode()  # no character is cut in two
        assert not any((sign < 32 and sign != 9) or sign == 127 for sign in line)
    return made.replace(b"\r\n ", b"").split(b"\r\n")[:-1]


def _said(lines: list[bytes], name: str) -> str:
    """The text of the one property of this name, its escapes undone (section 3.3.11)."""
    (line,) = [one for one in lines if one.startswith(f"{name}:".encode())]
    value = line.decode().partition(":")[2]
    assert re.fullmatch(r"([^\\;,]|\\[\\;,nN])*", value), value
    return re.sub(
        r"\\(.)", lambda found: "\n" if found[1] in "nN" else found[1], value, flags=re.DOTALL
    )


def _as_kept(text: str) -> str:
    """What a calendar can keep of a text: line breaks of one kind, no sign for machines."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return re.sub("[\x00-\x08\x0b-\x1f\x7f\ufffe\uffff]", " ", lines)


@hypothesis_settings(deadline=None, max_examples=60)
@given(customer=TEXTS.filter(bool), address=TEXTS.filter(bool), title=TEXTS)
def test_whatever_a_customer_is_called_the_calendar_says_it_in_whole_lines(
    customer: str, address: str, title: str
) -> None:
    """Read by the grammar of RFC 5545 itself; the library forgives its own mistakes."""
    stop = replace(_stop(8 * HOUR_S, 9 * HOUR_S), customer=customer, address=address, work=(title,))
    lines = _lines(_made(Path(), stop))
    assert _said(lines, "SUMMARY") == _as_kept(customer)
    assert _said(lines, "LOCATION") == _as_kept(address)
    assert _said(lines, "DESCRIPTION") == f"Besides the service:\n{_as_kept(title)}"
    assert [line for line in lines if line.startswith((b"BEGIN:VE", b"BEGIN:VA", b"END:VE"))] == [
        b"BEGIN:VEVENT",
        b"END:VEVENT",
    ]


@pytest.mark.parametrize("place", [Place(0.00001, -0.00005), Place(51.477, 1e-9), Place(-90, 180)])
def test_a_pool_at_the_meridian_has_numbers_without_exponent(place: Place) -> None:
    """Section 3.3.7: digits and a point; '5e-05', some metres from Greenwich, is none."""
    lines = _lines(_made(Path(), replace(_stop(8 * HOUR_S, 9 * HOUR_S), place=place)))
    (geo,) = [line for line in lines if line.startswith(b"GEO:")]
    found = re.fullmatch(rb"GEO:([+-]?\d+\.\d+);([+-]?\d+\.\d+)", geo)
    assert found is not None, geo
    assert (float(found[1]), float(found[2])) == (round(place.lat, 6), round(place.lon, 6))


def test_the_address_of_a_day_is_an_address_in_any_script() -> None:
    """An id may have letters of any script, a URI (RFC 3986) has ASCII alone."""
    lines = _lines(_made(Path(), _stop(8 * HOUR_S, 9 * HOUR_S), technician_id="Zoé"))
    assert b"URL:https://pools.example/day/Zo%C3%A9/2026-10-31" in lines
