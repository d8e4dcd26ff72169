"""The clocks of upkeep, worked by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.clock import IsoWeek
from dispatch.equipment import (
    DrainCovers,
    Equipment,
    Filter,
    Heater,
    Media,
    Pump,
    SaltCell,
    SeasonHours,
)
from dispatch.upkeep import upkeep_due, upkeep_unknown
from dispatch.upkeep_causes import DueBy
from dispatch.upkeep_dates import day_of_hours, hours_until, window_of
from dispatch.upkeep_rules import rule_of
from tests.pools import W49, pool

ALL_YEAR = SeasonHours(8, 8, 8, 8)
SUMMER_ONLY = SeasonHours(0, 10, 10, 0)
CELL = rule_of("cell-replacement")


def test_run_hours_of_the_trade_come_out() -> None:
    """10,000 h are 3.4 years at 8 h a day and 5.6 at 10 h in half the year (184 days here)."""
    start = date(2022, 1, 1)
    assert day_of_hours(start, ALL_YEAR, 10_000) == date(2025, 6, 4)  # 1,250 days
    half_year = day_of_hours(start, SUMMER_ONLY, 10_000)
    assert half_year is not None
    assert (half_year - start).days / 365.25 == pytest.approx(5.4, abs=0.2)


def test_a_cell_that_never_runs_is_never_spent() -> None:
    """Nought hours a day must not loop for ever, nor give a date."""
    assert day_of_hours(date(2022, 1, 1), SeasonHours(0, 0, 0, 0), 100) is None


HOURS = st.builds(SeasonHours, *[st.floats(0, 24)] * 4)


@given(st.dates(date(2000, 1, 1), date(2030, 1, 1)), HOURS, st.integers(0, 4000))
def test_hours_counted_by_quarter_are_those_counted_day_by_day(
    start: date, hours: SeasonHours, days: int
) -> None:
    """The quick way against the plain one."""
    plain = sum(hours.on(start + timedelta(days=n)) for n in range(days))
    assert hours_until(start, hours, start + timedelta(days=days)) == pytest.approx(plain)


@given(st.dates(date(2000, 1, 1), date(2030, 1, 1)), HOURS, st.floats(1, 20_000))
def test_the_day_of_the_hours_is_the_first_with_so_many(
    start: date, hours: SeasonHours, wanted: float
) -> None:
    """On the evening of that day they are reached, on its morning not yet."""
    day = day_of_hours(start, hours, wanted)
    if day is not None:
        assert hours_until(start, hours, day) <= wanted + 1e-6
        assert hours_until(start, hours, day + timedelta(days=1)) >= wanted - 1e-6


def test_run_hours_beat_the_calendar_when_they_come_first() -> None:
    """10,000 h at 12 h a day are 833 days; the calendar would say 7 years."""
    cell = SaltCell(date(2024, 1, 1), hours_per_day=SeasonHours(12, 12, 12, 12))
    window = window_of(CELL, Equipment(salt_cell=cell))
    assert window is not None
    assert window.due_on == date(2026, 4, 13)
    assert window.cause.by is DueBy.RUN_HOURS
    assert "10,000 run-hours" in window.cause.words()


def test_a_maker_s_figure_and_a_shutdown_are_counted() -> None:
    """5,000 rated hours; a quarter of nought hours takes nothing from the life."""
    cell = SaltCell(date(2024, 3, 1), rated_hours=5000, hours_per_day=SUMMER_ONLY)
    window = window_of(CELL, Equipment(salt_cell=cell))
    assert window is not None
    # 184 days x 10 h in each of 2024 and 2025 are 3,680; 1,320 h more are 132 days of 2026
    assert window.due_on == date(2026, 3, 1) + timedelta(days=132)


def test_without_hours_the_calendar_stands_alone() -> None:
    """Seven years after it was put in."""
    window = window_of(CELL, Equipment(salt_cell=SaltCell(date(2024, 2, 29))))
    assert window is not None
    assert (window.due_on, window.cause.by) == (date(2031, 2, 28), DueBy.CALENDAR)


def test_an_early_swap_begins_the_next_span_early() -> None:
    """Counted from the day done, never from the day due."""
    seal = rule_of("shaft-seal")
    window = window_of(seal, Equipment(pump=Pump(seal_changed_on=date(2026, 3, 31))))
    assert window is not None
    assert window.due_on == date(2030, 9, 30)  # 54 months, cut to the month's end
    assert window.cause.words() == "last done 31 Mar 2026, due after 54 months"


def test_after_skipped_visits_one_upkeep_is_due_and_not_many() -> None:
    """Two years without a visit: one inspection of the cell, not eight."""
    cell = SaltCell(date(2024, 1, 1), date(2024, 11, 1), date(2024, 11, 1))
    kinds = [due.kind for due in upkeep_due([pool(equipment=Equipment(salt_cell=cell))], W49)]
    assert kinds.count("cell-inspection") == 1


def test_a_new_seal_renews_the_o_ring_and_spares_its_change() -> None:
    """The basket is open anyway."""
    old = Pump(seal_changed_on=date(2021, 6, 1), oring_changed_on=date(2024, 11, 1))
    kinds = [due.kind for due in upkeep_due([pool(equipment=Equipment(pump=old))], W49)]
    assert kinds == ["shaft-seal"]


def test_heavy_work_waits_for_its_season_unless_its_latest_day_would_pass() -> None:
    """Sand of January 2022 is due in January 2027; in June 2027 it waits for September."""
    sand = pool(equipment=Equipment(filter=Filter(Media.SAND, date(2022, 1, 10), 136.0)))
    june, september = IsoWeek.of(date(2027, 6, 7)), IsoWeek.of(date(2027, 9, 6))
    assert [due.kind for due in upkeep_due([sand], W49)] == ["sand-change"]
    assert upkeep_due([sand], june) == ()
    assert [due.kind for due in upkeep_due([sand], september)] == ["sand-change"]
    late = pool(equipment=Equipment(filter=Filter(Media.SAND, date(2021, 7, 10), 136.0)))
    assert [due.kind for due in upkeep_due([late], june)] == ["sand-change"]  # by 10 July


def test_a_kind_taken_out_of_the_table_never_falls_due() -> None:
    """A company that leaves heaters to another trade hears nothing of them."""
    site = pool(equipment=Equipment(heater=Heater(serviced_on=date(2020, 11, 1))))
    heater = rule_of("heater-service")
    assert len(upkeep_due([site], W49, [heater])) == 1
    assert upkeep_due([site], W49, [replace(heater, active=False)]) == ()
    assert upkeep_unknown([pool(equipment=Equipment(heater=Heater()))], [heater])
    off = [replace(heater, active=False)]
    assert upkeep_unknown([pool(equipment=Equipment(heater=Heater()))], off) == ()


def test_covers_without_a_date_are_asked_for() -> None:
    """A date that nobody knows must not pass unseen."""
    site = pool(equipment=Equipment(covers=DrainCovers(checked_on=date(2026, 11, 1))))
    (unknown,) = upkeep_unknown([site])
    assert unknown.mend == (
        "Nobody knows the date on the drain covers at Pool S001: read it at the next visit and "
        "enter it."
    )
