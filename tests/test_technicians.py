"""Technicians, shifts and breaks."""

from dataclasses import replace
from datetime import date

import pytest

from dispatch.errors import InvalidValue
from dispatch.technicians import Break, Overtime, Shift, SupplyStop, Technician
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


def test_what_is_not_said_keeps_a_technician_as_plain_as_before() -> None:
    """Alone aboard, no overtime, no slack; the limit of chemicals is that of 49 CFR 173.6(d)."""
    plain = Technician("T1", "Invented", (EARLY,) * 7, GATE, GATE)
    assert (plain.overtime, plain.slack_share, plain.supply) == (None, 0.0, None)
    assert (plain.crew_on(date(2026, 12, 3)), plain.chemicals_most_kg) == (1, 200.0)


def test_persons_aboard_go_by_the_weekday() -> None:
    """A helper on Thursdays alone."""
    helped = Technician("T1", "Invented", (EARLY,) * 7, GATE, GATE, crew=(1, 1, 1, 2, 1, 1, 1))
    thursday = date(2026, 12, 3)
    assert [helped.crew_on(day) for day in (thursday, date(2026, 12, 4))] == [2, 1]


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"slack_share": 0.6}, "slack of 60%"),
        ({"slack_share": -0.1}, "slack"),
        ({"crew": (1,) * 6}, "persons aboard"),
        ({"crew": (0,) + (1,) * 6}, "persons aboard"),
        ({"chemicals_most_kg": -1.0}, "chemicals aboard"),
    ],
)
def test_rules_that_nobody_believes_are_refused(change: dict[str, object], match: str) -> None:
    """A slack of 60 where 6 was meant would leave half the week unplanned."""
    plain = Technician("T1", "Invented", (EARLY,) * 7, GATE, GATE)
    with pytest.raises(InvalidValue, match=match):
        replace(plain, **change)  # type: ignore[arg-type]


def test_overtime_is_paid_beyond_forty_hours_half_again_unless_told_otherwise() -> None:
    """29 U.S.C. 207(a); local law may say otherwise."""
    overtime = Overtime(day_most_min=600, week_most_min=3000)
    assert (overtime.week_regular_min, overtime.pay_factor) == (2400, 1.5)


@pytest.mark.parametrize(
    "figures",
    [(0, 3000, 2400, 1.5), (1441, 3000, 2400, 1.5), (600, 2000, 2400, 1.5), (600, 3000, 2400, 0.5)],
)
def test_overtime_out_of_order_is_refused(figures: tuple[int, int, int, float]) -> None:
    """A longest week shorter than the regular one cannot be kept."""
    with pytest.raises(InvalidValue, match=r"believable|fit together"):
        Overtime(*figures)


@pytest.mark.parametrize("minutes", [0, 181])
def test_a_supply_stop_takes_believable_minutes(minutes: int) -> None:
    """Three hours at a depot are a slip of the pen."""
    with pytest.raises(InvalidValue, match="supply stop"):
        SupplyStop(GATE, minutes)
