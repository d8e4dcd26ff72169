"""Conditions that bring upkeep about, each with figures worked by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from dispatch.equipment import (
    Anode,
    CoverState,
    DrainCovers,
    Equipment,
    Filter,
    Media,
    Pump,
    SaltCell,
)
from dispatch.readings import ReadingKind, UpkeepDone
from dispatch.units import kpa
from dispatch.upkeep import UpkeepDue, upkeep_due
from dispatch.upkeep_causes import DueBy
from dispatch.upkeep_conditions import NO_HISTORY, History
from tests.histories import Seen, cell_visit, history, pressure, speed
from tests.pools import W49, pool

NOV_3, NOV_10, NOV_17, NOV_24 = (date(2026, 11, day) for day in (3, 10, 17, 24))
CHANGED = date(2025, 5, 1)  # media young enough to be left alone by the calendar
SAND = Filter(
    Media.SAND, CHANGED, 136.0, date(2026, 10, 27), kpa(18), date(2026, 10, 27)
)  # 18 psi when clean


def due_at(equipment: Equipment, past: History = NO_HISTORY) -> dict[str, UpkeepDue]:
    found = upkeep_due([pool(equipment=equipment)], W49, histories={"S001": past})
    return {one.kind: one for one in found}


def words(due: UpkeepDue) -> str:
    assert due.cause is not None
    return due.cause.words(customary=True)


def test_ten_psi_over_the_clean_baseline_asks_for_a_backwash_at_that_visit() -> None:
    """18 psi clean, 29 read: 11 over, threshold 10."""
    found = due_at(Equipment(filter=SAND), history(pressure(NOV_17, 24), pressure(NOV_24, 29)))
    backwash = found["backwash"]
    assert (backwash.due_on, backwash.latest_on) == (NOV_24, date(2026, 11, 30))
    assert words(backwash) == "pressure 29 psi, clean baseline 18 psi, threshold +10 psi"
    assert backwash.cause is not None
    assert backwash.cause.by is DueBy.CONDITION
    assert backwash.cause.words() == "pressure 200 kPa, clean baseline 124 kPa, threshold +69 kPa"
    assert backwash.is_urgent


@pytest.mark.parametrize(("psi_", "due"), [(27.9, False), (28.1, True)])
def test_the_threshold_is_ten_psi_and_not_less(psi_: float, due: bool) -> None:
    """18 + 10 = 28."""
    found = due_at(Equipment(filter=SAND), history(pressure(NOV_24, psi_)))
    assert ("backwash" in found) is due


def test_a_site_has_a_threshold_of_its_own() -> None:
    """+8 psi at this site: 27 is over 18 + 8 = 26."""
    media = replace(SAND, rise_kpa=kpa(8))
    assert "backwash" in due_at(Equipment(filter=media), history(pressure(NOV_24, 27)))


def test_the_first_reading_over_the_threshold_dates_it_and_a_lower_one_takes_it_back() -> None:
    """The id of an upkeep must not move at every visit that finds the same."""
    over = [pressure(NOV_10, 29), pressure(NOV_17, 30), pressure(NOV_24, 31)]
    assert due_at(Equipment(filter=SAND), history(*over))["backwash"].due_on == NOV_10
    back = history(*over, pressure(date(2026, 11, 28), 20))
    assert "backwash" not in due_at(Equipment(filter=SAND), back)


def test_a_backwash_done_since_answers_the_reading() -> None:
    """The reading of 24 November led to the backwash of that day."""
    media = replace(SAND, cleaned_on=NOV_24)
    assert due_at(Equipment(filter=media), history(pressure(NOV_24, 29))) == {}


def test_pressure_at_another_pump_speed_says_nothing() -> None:
    """A pump of variable speed gives no valid pressure without its speed (common practice)."""
    media = replace(SAND, clean_rpm=2400)
    variable = Equipment(filter=media, pump=Pump(variable_speed=True))
    high = pressure(NOV_24, 29)
    assert "backwash" not in due_at(variable, history(high))
    assert "backwash" not in due_at(variable, history(high, speed(NOV_24, 3000)))
    assert "backwash" not in due_at(variable, history(high, speed(NOV_17, 2400)))
    assert "backwash" in due_at(variable, history(high, speed(NOV_24, 2450)))
    no_speed_known = Equipment(filter=SAND, pump=Pump(variable_speed=True))
    assert "backwash" not in due_at(no_speed_known, history(high, speed(NOV_24, 2400)))


@pytest.mark.parametrize(
    ("media", "kind"), [(Media.CARTRIDGE, "cartridge-clean"), (Media.DE, "de-recharge")]
)
def test_each_filter_has_its_own_answer_to_pressure(media: Media, kind: str) -> None:
    """A cartridge is rinsed, DE recharged."""
    recently = replace(SAND, media=media, media_changed_on=date(2026, 9, 1))
    found = due_at(Equipment(filter=recently), history(pressure(NOV_24, 29)))
    assert found[kind].due_on == NOV_24


def test_a_filter_cleaned_four_times_in_a_month_wants_new_media() -> None:
    """More than 2 to 3 backwashes a month: three are borne, the fourth is not."""
    days = [date(2026, 11, day) for day in (2, 9, 16, 23)]
    deeds = [UpkeepDone("backwash", day) for day in days]
    equipment = Equipment(filter=replace(SAND, cleaned_on=days[-1]))
    assert due_at(equipment, history(done=deeds[:3])) == {}
    found = due_at(equipment, history(done=deeds))["sand-change"]
    assert words(found) == "cleaned 4 times in 30 days, 3 at most are usual"
    assert found.due_on == days[-1]
    assert found.latest_on == date(2027, 1, 4)  # six weeks


def test_a_green_pool_brought_back_in_four_days_tells_nothing_of_the_sand() -> None:
    """Dead algae clog the best of filters: a backwash on each of four days is one trouble."""
    days = [date(2026, 11, day) for day in (2, 17, 18, 19, 20)]
    equipment = Equipment(filter=replace(SAND, cleaned_on=days[-1]))
    assert due_at(equipment, history(done=[UpkeepDone("backwash", day) for day in days])) == {}


def test_backwashes_of_the_old_sand_are_not_held_against_the_new() -> None:
    """The count begins with the media."""
    deeds = [UpkeepDone("backwash", date(2026, 11, day)) for day in (2, 9, 16, 23)]
    fresh = Filter(Media.SAND, NOV_24, 136.0, NOV_24)
    assert due_at(Equipment(filter=fresh), history(done=deeds)) == {}


def test_a_baseline_that_a_backwash_does_not_bring_back_wants_new_media() -> None:
    """Half of 10 psi over 18 is 23: 24 psi a week after the backwash is no clean filter."""
    equipment = Equipment(filter=replace(SAND, cleaned_on=NOV_17))
    found = due_at(equipment, history(pressure(NOV_24, 24)))
    assert words(found["sand-change"]) == (
        "pressure 24 psi in the days after cleaning, clean baseline 18 psi not regained"
    )
    assert due_at(equipment, history(pressure(NOV_24, 22))) == {}


def test_half_an_anode_is_swapped_whatever_its_age() -> None:
    """A year old, and half gone: hard water."""
    young = Anode(date(2025, 11, 1), date(2026, 11, 2))
    eye = ReadingKind.ANODE_REMAINING
    assert due_at(Equipment(anode=young), history((NOV_24, eye, 0.6))) == {}
    found = due_at(Equipment(anode=young), history((NOV_24, eye, 0.45)))["anode-swap"]
    assert words(found) == "45% of the anode left on 24 Nov 2026, swapped at 50%"
    judged = Anode(date(2025, 11, 1), date(2026, 11, 2), 0.5, NOV_24)
    assert "anode-swap" in due_at(Equipment(anode=judged))


def test_what_was_left_of_the_old_anode_says_nothing_of_the_new() -> None:
    """The reading is older than the anode."""
    new = Anode(NOV_24)
    assert due_at(Equipment(anode=new), history((NOV_3, ReadingKind.ANODE_REMAINING, 0.2))) == {}


LOOKED = SaltCell(date(2026, 1, 1), date(2026, 10, 20), date(2026, 10, 20))
SUMMER: list[Seen] = [
    one for n in range(5) for one in cell_visit(date(2026, 8, 3) + timedelta(weeks=n), 6.0)
]


def test_a_low_cell_with_good_salt_and_warm_water_is_inspected() -> None:
    """4 A of a usual 6 is below 70 %."""
    cell = Equipment(salt_cell=LOOKED)
    found = due_at(cell, history(*SUMMER, *cell_visit(NOV_24, 4.0)))["cell-inspection"]
    assert words(found) == (
        "cell current 4.0 A, usual 6.0 A, with salt 3,100 ppm and water at 79 °F"
    )
    assert due_at(cell, history(*SUMMER, *cell_visit(NOV_24, 4.3))) == {}


@pytest.mark.parametrize(
    ("salt", "water_c"),
    [(2400, 26), (3100, 14), (3100, 15.5)],
)
def test_little_salt_or_cold_water_never_sends_anybody_to_the_cell(
    salt: float, water_c: float
) -> None:
    """Below 60 °F, 15.6 °C, a cell cuts itself out; low salt wants salt."""
    past = history(*SUMMER, *cell_visit(NOV_24, 0.5, salt=salt, water_c=water_c))
    assert due_at(Equipment(salt_cell=LOOKED), past) == {}


def test_a_cell_is_not_judged_where_salt_or_warmth_were_not_read() -> None:
    """Nothing is concluded from what nobody looked at."""
    alone = history(*SUMMER, (NOV_24, ReadingKind.CELL_CURRENT, 2.0))
    assert due_at(Equipment(salt_cell=LOOKED), alone) == {}


def test_little_flow_explains_a_low_cell() -> None:
    """300 of a usual 400 L/min is above 70 %, 200 is not."""
    flows = [(day, ReadingKind.FLOW, 400.0) for day, kind, _ in SUMMER if "current" in kind]
    low = cell_visit(NOV_24, 4.0)
    cell = Equipment(salt_cell=LOOKED)
    weak = history(*SUMMER, *flows, *low, (NOV_24, ReadingKind.FLOW, 200.0))
    fair = history(*SUMMER, *flows, *low, (NOV_24, ReadingKind.FLOW, 300.0))
    assert due_at(cell, weak) == {}
    assert "cell-inspection" in due_at(cell, fair)


def test_an_inspection_since_answers_the_low_reading() -> None:
    """Looked at after the reading: the next low one will tell."""
    looked = replace(LOOKED, inspected_on=NOV_24)
    past = history(*SUMMER, *cell_visit(NOV_24, 4.0))
    assert due_at(Equipment(salt_cell=looked), past) == {}


def test_acid_follows_scale_and_only_scale() -> None:
    """Needless acid strips the coating: not even the yearly backstop asks for it."""
    old = SaltCell(date(2024, 1, 1), NOV_24, date(2025, 1, 1))
    assert "cell-cleaning" in due_at(Equipment(salt_cell=old))
    assert "cell-cleaning" not in due_at(Equipment(salt_cell=replace(old, scaled=False)))
    young = SaltCell(date(2024, 1, 1), NOV_24, date(2026, 10, 1), scaled=True)
    found = due_at(Equipment(salt_cell=young))["cell-cleaning"]
    assert words(found) == "scale seen on 24 Nov 2026"
    cleaned = replace(young, cleaned_on=NOV_24)
    assert "cell-cleaning" not in due_at(Equipment(salt_cell=cleaned))


def test_a_clean_cell_that_makes_too_little_is_replaced() -> None:
    """An output test below half of the rating, and no scale to blame."""
    cell = SaltCell(date(2024, 1, 1), NOV_24, date(2026, 11, 1), output_share=0.4, tested_on=NOV_24)
    found = due_at(Equipment(salt_cell=cell))["cell-replacement"]
    assert words(found) == "output 40% of its rating when clean, replaced below 50%"
    assert "cell-replacement" not in due_at(Equipment(salt_cell=replace(cell, scaled=True)))


@pytest.mark.parametrize("state", [CoverState.LOOSE, CoverState.CRACKED, CoverState.MISSING])
def test_an_unsound_drain_cover_closes_the_pool_at_once(state: CoverState) -> None:
    """Entrapment kills; the next day is the last."""
    covers = DrainCovers(date(2030, 1, 1), NOV_24, state)
    found = due_at(Equipment(covers=covers))["drain-cover-change"]
    assert found.closes_pool
    assert found.is_urgent
    assert found.latest_on == date(2026, 11, 25)
    assert words(found) == f"drain cover {state}: close the pool"


def test_a_cover_past_its_date_closes_the_pool_and_one_before_it_does_not() -> None:
    """The date on the cover is the last day."""
    expired = due_at(Equipment(covers=DrainCovers(date(2026, 11, 20), NOV_3)))
    assert expired["drain-cover-change"].closes_pool
    soon = due_at(Equipment(covers=DrainCovers(date(2027, 1, 20), NOV_3)))
    assert not soon["drain-cover-change"].closes_pool
    assert words(soon["drain-cover-change"]) == "the date on the drain covers is 20 Jan 2027"
    assert due_at(Equipment(covers=DrainCovers(date(2028, 1, 20), NOV_3))) == {}


def test_condition_beats_a_calendar_that_has_come_too() -> None:
    """Six years old sand that is tired as well: the reason is what was read."""
    old = replace(SAND, media_changed_on=date(2020, 6, 1), cleaned_on=NOV_17)
    found = due_at(Equipment(filter=old), history(pressure(NOV_24, 24)))["sand-change"]
    assert found.due_on == date(2025, 6, 1)
    assert "not regained" in words(found)
