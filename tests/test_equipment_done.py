"""How the register moves when upkeep was done."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.equipment import (
    Anode,
    CoverState,
    DrainCovers,
    Equipment,
    Filter,
    Media,
    Pump,
    SaltCell,
    SeasonHours,
)
from dispatch.equipment_done import equipment_after, with_clean_pressure
from dispatch.errors import InvalidValue
from dispatch.readings import Finding, Reading, ReadingAt, ReadingKind, UpkeepDone
from dispatch.upkeep_rules import DEFAULT_RULES

DAY = date(2026, 11, 24)
OLD = date(2021, 11, 30)
CLEAN = Filter(Media.SAND, OLD, 136.0, OLD, clean_kpa=124.0, clean_on=OLD)


def done(kind: str, on: date = DAY, share: float | None = None, found: Finding | None = None):  # type: ignore[no-untyped-def]
    return UpkeepDone(kind, on, share, finding=found)


def reading(kind: ReadingKind, value: float, hour: int = 17) -> ReadingAt:
    return ReadingAt("S1", datetime(2026, 11, 24, hour, tzinfo=UTC), Reading(kind, value))


@pytest.mark.parametrize("kind", [rule.kind for rule in DEFAULT_RULES])
def test_every_kind_of_the_table_moves_the_register(kind: str) -> None:
    """A kind that moved nothing would stay due for ever after it was done."""
    assert equipment_after(Equipment(), done(kind)) != Equipment()


def test_new_media_ask_for_a_new_clean_pressure() -> None:
    """The baseline of the old sand says nothing about the new one."""
    after = equipment_after(Equipment(filter=CLEAN), done("sand-change")).filter
    assert after == Filter(Media.SAND, DAY, 136.0, DAY)


def test_a_backwash_keeps_the_media_and_the_baseline() -> None:
    """Only the day of the last cleaning moves."""
    after = equipment_after(Equipment(filter=CLEAN), done("backwash")).filter
    assert after == Filter(Media.SAND, OLD, 136.0, DAY, clean_kpa=124.0, clean_on=OLD)


def test_upkeep_of_another_kind_of_filter_is_refused() -> None:
    """One of the two is wrong, and nobody can guess which."""
    with pytest.raises(InvalidValue, match="the filter holds sand"):
        equipment_after(Equipment(filter=CLEAN), done("de-recharge"))


def test_a_swapped_anode_begins_whole_and_a_cleaned_one_keeps_what_was_seen() -> None:
    """Half an anode, judged while cleaning, is what the next swap is decided by."""
    old = Equipment(anode=Anode(OLD))
    assert equipment_after(old, done("anode-swap")).anode == Anode(DAY, None, 1.0, DAY)
    judged = equipment_after(old, done("anode-cleaning", share=0.5)).anode
    assert judged == Anode(OLD, DAY, 0.5, DAY)


def test_an_inspection_says_whether_there_is_scale() -> None:
    """Acid is used when scale was seen, and cleaning takes the finding off again."""
    cell = Equipment(salt_cell=SaltCell(OLD))
    scaled = equipment_after(cell, done("cell-inspection", found=Finding.SCALED))
    assert scaled.salt_cell == SaltCell(OLD, DAY, scaled=True)
    clean = equipment_after(cell, done("cell-inspection", found=Finding.NO_SCALE))
    assert clean.salt_cell is not None
    assert clean.salt_cell.scaled is False
    cleaned = equipment_after(scaled, done("cell-cleaning")).salt_cell
    assert cleaned == SaltCell(OLD, DAY, DAY, scaled=None)


def test_a_new_cell_keeps_its_hours_and_loses_its_past() -> None:
    """The pump runs as before; scale and output were those of the old cell."""
    hours = SeasonHours(4, 8, 12, 8)
    cell = SaltCell(OLD, OLD, OLD, 10_000, hours, True, 0.4, OLD)
    after = equipment_after(Equipment(salt_cell=cell), done("cell-replacement")).salt_cell
    assert after == SaltCell(DAY, rated_hours=10_000, hours_per_day=hours)


def test_a_new_cover_is_sound_and_its_date_is_still_to_be_read() -> None:
    """The old cover's date must not stand for the new one."""
    covers = DrainCovers(OLD, OLD, CoverState.CRACKED)
    after = equipment_after(Equipment(covers=covers), done("drain-cover-change")).covers
    assert after == DrainCovers(None, DAY, CoverState.SOUND)
    loose = equipment_after(Equipment(), done("drain-cover-check", found=Finding.LOOSE)).covers
    assert loose == DrainCovers(None, DAY, CoverState.LOOSE)


def test_a_kind_that_nobody_knows_is_refused_with_those_there_are() -> None:
    """A slip must not vanish in the register."""
    with pytest.raises(InvalidValue, match="no upkeep 'sandchange': give one of anode-cleaning"):
        equipment_after(Equipment(), done("sandchange"))


KINDS = st.sampled_from([rule.kind for rule in DEFAULT_RULES if "filter" not in rule.kind])
FOUND = st.none() | st.sampled_from(Finding)
DEEDS = st.builds(
    UpkeepDone,
    KINDS.filter(lambda kind: not kind.startswith(("cartridge", "de-"))),
    st.dates(date(2020, 1, 1), date(2026, 12, 31)),
    st.none() | st.floats(0, 1),
    finding=FOUND,
)


@given(st.lists(DEEDS, max_size=6), DEEDS)
def test_a_record_sent_twice_counts_once(before: list[UpkeepDone], deed: UpkeepDone) -> None:
    """Phones send again when the answer got lost."""
    equipment = Equipment()
    for one in before:
        equipment = equipment_after(equipment, one)
    once = equipment_after(equipment, deed)
    assert equipment_after(once, deed) == once


@given(DEEDS.filter(lambda deed: deed.kind != "drain-cover-check"))
def test_a_record_that_arrives_late_moves_no_date_back(deed: UpkeepDone) -> None:
    """What was done later stays known."""
    late = UpkeepDone(deed.kind, deed.on + timedelta(days=30))
    known = equipment_after(Equipment(), late)
    assert _dates(equipment_after(known, deed)) == _dates(known)


def _dates(equipment: Equipment) -> list[date | None]:
    media, anode, cell = equipment.filter, equipment.anode, equipment.salt_cell
    pump, heater, covers = equipment.pump or Pump(), equipment.heater, equipment.covers
    return [
        *((media.media_changed_on, media.cleaned_on) if media else ()),
        *((anode.installed_on, anode.cleaned_on) if anode else ()),
        *((cell.installed_on, cell.inspected_on, cell.cleaned_on) if cell else ()),
        *(pump.seal_changed_on, pump.oring_changed_on),
        heater and heater.serviced_on,
        covers and covers.checked_on,
    ]


def test_the_last_pressure_of_the_day_of_a_backwash_is_the_clean_one() -> None:
    """A filter is read before and after; at a pump of several speeds the speed goes with it."""
    fresh = Equipment(filter=Filter(Media.SAND, OLD, cleaned_on=DAY))
    readings = [
        reading(ReadingKind.FILTER_PRESSURE, 200, 16),
        reading(ReadingKind.FILTER_PRESSURE, 124, 17),
        reading(ReadingKind.PUMP_SPEED, 2400, 17),
    ]
    after = with_clean_pressure(fresh, readings).filter
    assert after is not None
    assert (after.clean_kpa, after.clean_on, after.clean_rpm) == (124, DAY, 2400)


def test_a_worse_pressure_never_becomes_the_norm() -> None:
    """Else a filter that clogs for good would never be over its baseline."""
    known = Filter(Media.SAND, OLD, cleaned_on=DAY, clean_kpa=124, clean_on=OLD)
    worse = [reading(ReadingKind.FILTER_PRESSURE, 150)]
    better = [reading(ReadingKind.FILTER_PRESSURE, 118)]
    assert with_clean_pressure(Equipment(filter=known), worse).filter == known
    lower = with_clean_pressure(Equipment(filter=known), better).filter
    assert lower is not None
    assert (lower.clean_kpa, lower.clean_on) == (118, DAY)


def test_a_clean_pressure_without_its_speed_gives_way_to_one_with_it() -> None:
    """At a pump of several speeds it says nothing; the next cleaning must be able to mend it."""
    known = Filter(Media.SAND, OLD, cleaned_on=DAY, clean_kpa=110, clean_on=OLD)
    equipment = Equipment(filter=known, pump=Pump(variable_speed=True))
    pressure = reading(ReadingKind.FILTER_PRESSURE, 124)
    speed = reading(ReadingKind.PUMP_SPEED, 2400)
    assert with_clean_pressure(equipment, [pressure]).filter == known
    after = with_clean_pressure(equipment, [pressure, speed]).filter
    assert after is not None
    assert (after.clean_kpa, after.clean_on, after.clean_rpm) == (124, DAY, 2400)


def test_what_was_found_at_an_old_cell_says_nothing_of_its_successor() -> None:
    """The record of a look or a cleaning of last week arrives after that of the new cell."""
    new = equipment_after(Equipment(salt_cell=SaltCell(OLD)), done("cell-replacement"))
    before = DAY - timedelta(days=7)
    for kind in ("cell-inspection", "cell-cleaning"):
        late = done(kind, before, share=0.3, found=Finding.SCALED)
        assert equipment_after(new, late) == new


def test_a_swap_that_arrives_late_leaves_what_was_found_at_the_new_part() -> None:
    """The new cell was seen scaled, the new anode half gone: both came before the swap's record."""
    since = DAY + timedelta(days=7)
    cell = SaltCell(OLD, since, scaled=True, output_share=0.6, tested_on=since)
    after = equipment_after(Equipment(salt_cell=cell), done("cell-replacement")).salt_cell
    assert after == replace(cell, installed_on=DAY)
    anode = Anode(OLD, since, 0.5, since)
    swapped = equipment_after(Equipment(anode=anode), done("anode-swap")).anode
    assert swapped == replace(anode, installed_on=DAY)


def test_a_sand_change_that_arrives_late_leaves_the_clean_pressure_read_since() -> None:
    """Backwashed a week after the change and read at once: that is the new sand's own pressure."""
    since = DAY + timedelta(days=7)
    read = replace(CLEAN, cleaned_on=since, clean_kpa=118.0, clean_on=since)
    after = equipment_after(Equipment(filter=read), done("sand-change")).filter
    assert after == replace(read, media_changed_on=DAY)


def test_the_day_of_a_reading_is_the_local_one() -> None:
    """Half past seven in the evening, UTC, is half past twelve in Arizona, and the night is over.

    Half past one in the afternoon, UTC, is early morning there: still the night shift of the day
    before, to which the visit and its cleaning belong.
    """
    fresh = Equipment(filter=Filter(Media.SAND, OLD, cleaned_on=DAY))
    at = datetime(2026, 11, 25, 13, 30, tzinfo=UTC)
    late = ReadingAt("S1", at, Reading(ReadingKind.FILTER_PRESSURE, 124))
    assert with_clean_pressure(fresh, [late]) == fresh
    arizona = timezone(timedelta(hours=-7))
    too_late = replace(late, at=at + timedelta(hours=6))
    assert with_clean_pressure(fresh, [too_late], arizona) == fresh
    local = with_clean_pressure(fresh, [late], arizona).filter
    assert local is not None
    assert local.clean_kpa == 124
