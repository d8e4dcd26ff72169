"""Technicians, shifts and breaks."""

from datetime import date

import pytest

from dispatch.errors import InvalidValue
from dispatch.technicians import Break, Shift, Technician
from tests.pools import GATE

EARLY = Shift(7 * 3600, 15 * 3600 + 1800)
NO_SHIFT = (None,) * 7


def test_a_day_off_has_no_shift_though_its_weekday_has() -> None:
    """A dated day off beats the weekly pattern."""
    off = date(2026, 12, 3)  # a Thursday
    technician = Technician(
        "T1", "Invented", (EARLY,) * 5 + (None, None), GATE, GATE, days_off=frozenset({off})
    )
    assert technician.shift_on(off) is None
    assert technician.shift_on(date(2026, 12, 10)) == EARLY
    assert technician.shift_on(date(2026, 12, 5)) is None  # a Saturday


def test_a_technician_without_any_shift_is_refused_by_name() -> None:
    """Nobody could be sent: it is a gap in the table, not a technician."""
    with pytest.raises(InvalidValue, match="T1 has no shift"):
        Technician("T1", "Invented", NO_SHIFT, GATE, GATE)


def test_a_week_of_shifts_has_seven_entries() -> None:
    """Six entries would move every weekday by one."""
    with pytest.raises(InvalidValue, match="no shift"):
        Technician("T1", "Invented", (EARLY,) * 6, GATE, GATE)


@pytest.mark.parametrize(("id_", "name"), [("", "Invented"), ("T1", "")])
def test_a_technician_needs_id_and_name(id_: str, name: str) -> None:
    """Both are shown on the day sheet."""
    with pytest.raises(InvalidValue, match="id and a name"):
        Technician(id_, name, (EARLY,) * 7, GATE, GATE)


def test_a_payload_below_zero_is_refused() -> None:
    """A truck cannot carry less than nothing."""
    with pytest.raises(InvalidValue, match="below zero"):
        Technician("T1", "Invented", (EARLY,) * 7, GATE, GATE, payload_kg=-1)


@pytest.mark.parametrize(("start_s", "end_s"), [(3600, 3600), (7200, 3600), (0, 86_401), (-1, 60)])
def test_a_shift_that_is_empty_or_leaves_the_day_is_refused(start_s: int, end_s: int) -> None:
    """Shifts past midnight would break the arithmetic of seconds after midnight."""
    with pytest.raises(InvalidValue, match="shift"):
        Shift(start_s, end_s)


@pytest.mark.parametrize(("minutes", "from_s", "to_s"), [(0, 0, 60), (181, 0, 60), (30, 60, 0)])
def test_a_break_that_cannot_be_placed_is_refused(minutes: int, from_s: int, to_s: int) -> None:
    """A meal without length or without a span in which to begin fits no day."""
    with pytest.raises(InvalidValue, match="cannot be placed"):
        Break(minutes, from_s, to_s)
