"""Intervals, filter fillings and the table of upkeep rules."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.errors import InvalidValue, NotFound
from dispatch.upkeep_rules import (
    DEFAULT_RULES,
    Interval,
    MediaLoad,
    Part,
    UpkeepRule,
    rule_of,
)

SAND = next(rule for rule in DEFAULT_RULES if rule.kind == "sand-change")


@pytest.mark.parametrize(
    ("months", "done_on", "due_on"),
    [
        (6, date(2026, 8, 31), date(2027, 2, 28)),
        (6, date(2027, 8, 31), date(2028, 2, 29)),  # a leap year
        (12, date(2028, 2, 29), date(2029, 2, 28)),
        (60, date(2021, 11, 30), date(2026, 11, 30)),
        (3, date(2026, 11, 30), date(2027, 2, 28)),
    ],
)
def test_months_are_cut_at_the_end_of_a_short_month(
    months: int, done_on: date, due_on: date
) -> None:
    """Worked by hand: a recurrence rule would skip the month and lose the upkeep."""
    assert Interval(months).after(done_on) == due_on


@given(st.dates(date(2000, 1, 1), date(2060, 12, 31)), st.integers(1, 120))
def test_an_interval_lands_in_the_month_that_counting_months_gives(day: date, months: int) -> None:
    """Counted without a calendar library: month number plus months, the day kept or cut."""
    landed = Interval(months).after(day)
    assert landed.year * 12 + landed.month == day.year * 12 + day.month + months
    if landed.day != day.day:
        assert landed.day < day.day
        assert (landed + timedelta(days=1)).day == 1


def test_days_are_added_after_months() -> None:
    """31 January plus a month is 28 February, and 15 days on it is 15 March."""
    assert Interval(1, 15).after(date(2026, 1, 31)) == date(2026, 3, 15)


@pytest.mark.parametrize(("months", "days"), [(0, 0), (-1, 0), (1, -1)])
def test_an_interval_leads_forward(months: int, days: int) -> None:
    """An upkeep due on the day it was done would be due for ever."""
    with pytest.raises(InvalidValue, match="leads nowhere"):
        Interval(months, days)


BAGS = MediaLoad("sand", default_kg=136.0, wet_factor=1.2, unit_kg=22.7)


@pytest.mark.parametrize(
    ("filling_kg", "bags"),
    [
        (22.7, 1),
        (23.0, 1),  # 0.3 kg over: nobody loads a bag for it
        (24.0, 2),
        (136.08, 6),  # 300 lb are six bags of 50 lb
        (226.8, 10),  # 500 lb
        (5.0, 1),
        (None, 6),  # not known: a filter of 24 in
    ],
)
def test_sand_is_loaded_in_whole_bags(filling_kg: float | None, bags: int) -> None:
    """Bags are 50 lb; half a bag cannot be bought."""
    part = BAGS.part(filling_kg)
    assert part.quantity == bags
    assert part.mass_kg == pytest.approx(bags * 22.7)


def test_a_filling_without_bags_is_one_piece_of_its_own_mass() -> None:
    """A cartridge is one element, whatever it weighs."""
    cartridge = MediaLoad("cartridge", default_kg=4.0, wet_factor=1.5)
    assert cartridge.part(None) == Part("cartridge", 1, 4.0)
    assert cartridge.part(6.5) == Part("cartridge", 1, 6.5)


def test_old_sand_comes_back_wet_and_heavier() -> None:
    """300 lb of sand out are 350 lb and more back (common practice): at least a sixth more."""
    assert BAGS.waste_kg(136.0) >= 136.0 * 350 / 300
    assert BAGS.waste_kg(None) == BAGS.waste_kg(136.0)


@pytest.mark.parametrize("rule", DEFAULT_RULES, ids=lambda rule: rule.kind)
def test_each_rule_says_what_the_technician_and_the_reader_need(rule: UpkeepRule) -> None:
    """A caution for the one, a source for the other, and neither left empty."""
    assert rule.caution.endswith(".")
    assert "(a)" in rule.source or "(c)" in rule.source


def test_the_table_holds_each_kind_once() -> None:
    """The kind is the key under which upkeep is put off and recorded."""
    kinds = [rule.kind for rule in DEFAULT_RULES]
    assert len(set(kinds)) == len(kinds) == 16
    assert {kind for rule in DEFAULT_RULES for kind in rule.spares} <= set(kinds)


def test_acid_goes_into_water_wherever_acid_is_used() -> None:
    """The other way round it spits; the caution must say it on the spot."""
    cleaning = next(rule for rule in DEFAULT_RULES if rule.kind == "cell-cleaning")
    assert "acid into water, never the other way" in cleaning.caution
    assert "Only when scale is seen" in cleaning.caution


def test_intervals_of_a_rule_must_rise() -> None:
    """A window that closes before it opens could never be met."""
    with pytest.raises(InvalidValue, match="sand-change"):
        replace(SAND, earliest=Interval(61))
    with pytest.raises(InvalidValue, match="sand-change"):
        replace(SAND, latest=Interval(59))


@pytest.mark.parametrize("minutes", [0, 481])
def test_minutes_of_a_rule_must_fit_into_a_day(minutes: int) -> None:
    """An upkeep longer than a shift could never be placed."""
    with pytest.raises(InvalidValue, match="minutes"):
        replace(SAND, minutes=minutes)


@pytest.mark.parametrize("rule", DEFAULT_RULES, ids=lambda rule: rule.kind)
def test_each_number_of_a_rule_is_marked_with_its_source(rule: UpkeepRule) -> None:
    """A default without a mark would be taken for a fact."""
    marks = ("(a)", "(a-low)", "(c)", "common practice")
    assert any(mark in rule.source for mark in marks)


def test_what_a_reading_decides_alone_needs_no_interval() -> None:
    """A backwash by the calendar wastes water; without any clock a kind could never fall due."""
    backwash = rule_of("backwash")
    assert (backwash.earliest, backwash.due, backwash.latest) == (None, None, None)
    with pytest.raises(InvalidValue, match="Nothing brings the upkeep 'backwash' about"):
        replace(backwash, trigger=None)
    with pytest.raises(InvalidValue, match="do not rise"):
        replace(SAND, latest=None)


@pytest.mark.parametrize(
    ("field", "value", "what"),
    [
        ("crew", 0, "crew of 0"),
        ("crew", 5, "crew of 5"),
        ("gross_minutes", 20, "lasts 20 minutes but adds 150"),
        ("months", frozenset(), "in no month"),
        ("months", frozenset({13}), "in no month"),
        ("threshold", 0.0, "always be passed"),
    ],
)
def test_numbers_that_nobody_can_mean_are_refused(field: str, value: object, what: str) -> None:
    """A company edits the table; the slip is told where it is made."""
    with pytest.raises(InvalidValue, match=what):
        replace(SAND, **{field: value})  # type: ignore[arg-type]


def test_an_unknown_kind_is_answered_with_those_there_are() -> None:
    """The person at the shell reads what to write."""
    with pytest.raises(NotFound, match="anode-cleaning, anode-swap"):
        rule_of("sandchange")
