"""Upkeep due: windows from the day done, what spares what, and what nobody knows."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.clock import IsoWeek
from dispatch.equipment import Anode, Equipment, Filter, Media, SaltCell
from dispatch.errors import InvalidValue
from dispatch.sites import Sanitizer, Site
from dispatch.upkeep import (
    DEFAULT_RULES,
    Part,
    UpkeepDue,
    upkeep_due,
    upkeep_unknown,
)
from dispatch.upkeep_rules import rule_of
from tests.pools import pool

W49 = IsoWeek(2026, 49)  # Monday 30 November to Sunday 6 December 2026


def kinds(equipment: Equipment, week: IsoWeek = W49) -> list[str]:
    return [due.kind for due in upkeep_due([pool(equipment=equipment)], week)]


def sand(changed_on: date | None, mass_kg: float | None = None) -> Equipment:
    return Equipment(filter=Filter(Media.SAND, changed_on, mass_kg))


def test_a_sand_change_has_its_window_from_the_day_it_was_done() -> None:
    """Done on 30 November 2021: 4 1/2, 5 and 6 years later, by hand."""
    (due,) = upkeep_due([pool(equipment=sand(date(2021, 11, 30), 136.0))], W49)
    assert (due.earliest_on, due.due_on, due.latest_on) == (
        date(2026, 5, 30),
        date(2026, 11, 30),
        date(2027, 11, 30),
    )
    assert (due.minutes, due.skill, due.id) == (150, "media", "S001/sand-change/2026-11-30")


def test_a_sand_change_loads_bags_and_brings_wet_sand_back() -> None:
    """136 kg are six bags of 22.7 kg; 1.2 times 136 kg come back, which is the heavier way."""
    (due,) = upkeep_due([pool(equipment=sand(date(2021, 11, 30), 136.0))], W49)
    assert due.parts[0] == Part("Filter sand, bag", 6, 136.2)
    assert due.waste_kg == pytest.approx(163.2)
    assert due.mass_kg == pytest.approx(163.2)  # 136.2 + 13 kg of tools go out


def test_an_upkeep_is_listed_from_the_week_in_which_its_window_opens() -> None:
    """Four and a half years after 6 June 2022 is Sunday 6 December 2026, the last day of W49."""
    assert kinds(sand(date(2022, 6, 6))) == ["sand-change"]
    assert kinds(sand(date(2022, 6, 7))) == []


def test_overdue_upkeep_never_drops_out() -> None:
    """Twenty years late it is still listed, with its latest day in the past."""
    (due,) = upkeep_due([pool(equipment=sand(date(2001, 1, 1)))], W49)
    assert due.latest_on == date(2007, 1, 1)


@pytest.mark.parametrize(
    ("media", "kind", "skill"),
    [
        (Media.SAND, "sand-change", "media"),
        (Media.CARTRIDGE, "cartridge-change", None),
        (Media.DE, "de-change", "media"),
    ],
)
def test_each_media_has_its_own_change(media: Media, kind: str, skill: str | None) -> None:
    """A cartridge is lifted out by anybody; sand and DE need a tank to be opened and rebuilt."""
    (due,) = upkeep_due([pool(equipment=Equipment(Filter(media, date(2015, 1, 1))))], W49)
    assert (due.kind, due.skill) == (kind, skill)


def test_anode_cleaning_counts_from_the_later_of_cleaning_and_swap() -> None:
    """A new anode has no film, whatever was cleaned on the old one."""
    old_film = Anode(installed_on=date(2026, 9, 1), cleaned_on=date(2026, 3, 1))
    assert kinds(Equipment(anode=old_film)) == []
    assert kinds(Equipment(anode=Anode(date(2025, 9, 1), date(2026, 6, 1)))) == ["anode-cleaning"]


def test_a_swap_that_comes_in_time_spares_the_cleaning() -> None:
    """Swap due on 1 November 2026, cleaning by 1 February 2027: the film goes with the anode."""
    anode = Anode(installed_on=date(2023, 11, 1), cleaned_on=date(2026, 6, 1))
    assert kinds(Equipment(anode=anode)) == ["anode-swap"]


def test_a_swap_that_comes_too_late_does_not_spare_the_cleaning() -> None:
    """The swap may be done but is due in June 2027; the cleaning must be done by January."""
    anode = Anode(installed_on=date(2024, 6, 1), cleaned_on=date(2026, 5, 10))
    assert kinds(Equipment(anode=anode)) == ["anode-swap", "anode-cleaning"]


def test_a_cell_is_looked_at_every_three_months_from_any_handling_of_it() -> None:
    """Cleaning includes looking; due 3 months later, on the list 2 weeks earlier."""
    cell = SaltCell(date(2024, 1, 1), inspected_on=date(2026, 5, 1), cleaned_on=date(2026, 9, 20))
    (due,) = upkeep_due([pool(equipment=Equipment(salt_cell=cell))], W49)
    assert (due.kind, due.due_on) == ("cell-inspection", date(2026, 12, 20))
    fresh = SaltCell(date(2024, 1, 1), date(2026, 11, 1), date(2026, 9, 20))
    assert kinds(Equipment(salt_cell=fresh)) == []


def test_cell_cleaning_is_a_yearly_backstop_that_an_inspection_does_not_reset() -> None:
    """A look is no cleaning: 10 months after the last acid the backstop is on the list."""
    cell = SaltCell(date(2024, 1, 1), date(2026, 11, 1), cleaned_on=date(2026, 2, 1))
    (due,) = upkeep_due([pool(equipment=Equipment(salt_cell=cell))], W49)
    assert (due.kind, due.due_on, due.minutes) == ("cell-cleaning", date(2027, 2, 1), 15)


def test_equipment_without_dates_is_listed_as_unknown() -> None:
    """Nothing is dropped silently: each undated kind is named with what to do about it."""
    site = pool(
        equipment=Equipment(Filter(Media.SAND), Anode(cleaned_on=date(2026, 6, 1)), SaltCell())
    )
    unknown = upkeep_unknown([site])
    assert [entry.kind for entry in unknown] == [
        "sand-change",
        "anode-swap",
        "cell-inspection",
        "cell-cleaning",
        "cell-replacement",
    ]
    assert unknown[0].mend == (
        "Nobody knows when the sand change was last done at Pool S001: look at the next visit, or "
        "ask the customer, and enter the date."
    )


def test_a_window_out_of_order_is_refused() -> None:
    """Whoever builds one by hand hears of it at once."""
    with pytest.raises(InvalidValue, match="not in this order"):
        UpkeepDue("S1", "k", "T", date(2026, 2, 1), date(2026, 1, 1), date(2026, 3, 1), 10)


def test_the_heavier_of_out_and_back_counts_against_the_truck() -> None:
    """The truck carries one or the other, never both."""
    day = date(2026, 1, 1)
    parts = (Part("a", 1, 3.0), Part("b", 2, 4.0))
    assert UpkeepDue("S1", "k", "T", day, day, day, 10, parts=parts).mass_kg == 7.0
    assert UpkeepDue("S1", "k", "T", day, day, day, 10, parts=parts, waste_kg=9).mass_kg == 9.0


DATES = st.none() | st.dates(date(2010, 1, 1), date(2026, 12, 6))


@st.composite
def equipped_sites(draw: st.DrawFn) -> Site:
    """A site with any equipment of any age."""
    filters = st.none() | st.builds(Filter, st.sampled_from(Media), DATES)
    return pool(
        sanitizer=Sanitizer.SALT,
        equipment=Equipment(
            draw(filters),
            draw(st.none() | st.builds(Anode, DATES, DATES)),
            draw(st.none() | st.builds(SaltCell, DATES, DATES, DATES)),
        ),
    )


@given(equipped_sites(), st.integers(0, 60))
def test_upkeep_once_listed_stays_until_it_is_done(site: Site, weeks: int) -> None:
    """Only another kind that spares it may take its place, and that one is due earlier."""
    later = IsoWeek.of(W49.monday + timedelta(weeks=weeks))
    now = {due.kind: due for due in upkeep_due([site], W49)}
    then = {due.kind: due for due in upkeep_due([site], later)}
    for kind, due in now.items():
        rule = rule_of(kind)
        waits = later.sunday < due.latest_on and not rule.is_offered_in(later.monday)
        if kind not in then and not waits:
            sparing = [one.kind for one in DEFAULT_RULES if kind in one.spares]
            spared_by = [then[other].due_on for other in sparing if other in then]
            assert min(spared_by) <= max(due.latest_on, later.sunday)


@given(equipped_sites())
def test_every_piece_of_equipment_is_dated_or_listed_as_unknown(site: Site) -> None:
    """Far in the future everything dated is due, so the two lists cover all there is."""
    listed = [due.kind for due in upkeep_due([site], IsoWeek(2090, 1))]
    listed += [entry.kind for entry in upkeep_unknown([site])]
    equipment = site.equipment
    expected: set[str] = set()
    if equipment.filter:
        expected.add(f"{equipment.filter.media}-change")
        expected |= {"cartridge-clean"} if equipment.filter.media is Media.CARTRIDGE else set()
    if equipment.anode:
        expected |= {"anode-swap", "anode-cleaning"}
    if equipment.salt_cell:
        expected |= {"cell-inspection", "cell-cleaning", "cell-replacement"}
    assert len(listed) == len(set(listed))
    assert set(listed) <= expected
    for missing in expected - set(listed):  # spared by another kind that is listed
        assert any(missing in rule.spares for rule in DEFAULT_RULES if rule.kind in listed)


@given(equipped_sites())
def test_all_that_is_listed_may_be_done_in_the_week(site: Site) -> None:
    """Nothing is done before its earliest day."""
    assert all(due.earliest_on <= W49.sunday for due in upkeep_due([site], W49))
