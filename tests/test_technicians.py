"""Technicians, shifts and breaks."""

from dataclasses import replace
from datetime import date

import pytest

from dispatch.clock import parse_time
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


@pytest.mark.parametrize(("start_s", "end_s"), [(3600, 3600), (7200, 3600), (0, 172_801), (-1, 60)])
def test_a_shift_that_is_empty_or_leaves_the_day_is_refused(start_s: int, end_s: int) -> None:
    """Nothing is planned beyond the night that follows a day."""
    with pytest.raises(InvalidValue, match="shift"):
        Shift(start_s, end_s)


@pytest.mark.parametrize("shift", [Shift(86_400, 90_000), Shift(3600, 90_001)])
def test_a_weekly_shift_begins_on_its_day_and_lasts_24_hours_at_most(shift: Shift) -> None:
    """One that begins after midnight is a shift of the next weekday."""
    with pytest.raises(InvalidValue, match="Mon begins on another day or lasts more than 24"):
        Technician("T1", "Invented", (shift,) + (None,) * 6, GATE, GATE)


@pytest.mark.parametrize(
    ("clock", "hours"),
    [("20:30", 20.5), ("01:00", 25), ("19:00", 19), ("02:30", 26.5), ("13:30", 13.5)],
)
def test_a_time_on_the_clock_falls_into_the_night_shift_nearest_to_it(
    clock: str, hours: float
) -> None:
    """20:00 to 02:00: one o'clock is after its midnight; 13:30 lies nearer to its beginning."""
    assert Shift(20 * 3600, 26 * 3600).nearest(parse_time(clock)) == hours * 3600
    assert EARLY.nearest(parse_time(clock)) == parse_time(clock)


def test_a_night_shift_is_over_at_noon_at_the_latest() -> None:
    """Somebody who forgot to end it is not looked for for ever."""
    assert (EARLY.over_s, Shift(20 * 3600, 26 * 3600).over_s) == (24 * 3600, 36 * 3600)
    assert Shift(20 * 3600, 40 * 3600).over_s == 40 * 3600  # but never before its end


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
