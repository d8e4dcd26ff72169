"""What a filter's pressure says at the gate."""

from __future__ import annotations

from datetime import date

import pytest

from dispatch.equipment import Equipment, Filter, Media, Pump
from dispatch.phone.pressure import FilterFacts, filter_facts, pressure_meaning
from dispatch.units import kpa
from dispatch.upkeep_rules import DEFAULT_RULES

CLEAN_ON = date(2026, 11, 2)
SAND = FilterFacts("backwash", "Backwash", kpa(10), "Pump off first.", kpa(18))


@pytest.mark.parametrize(
    ("psi", "words", "due"),
    [
        (29, "Backwash now: 29 psi against 18 psi clean.", True),
        (28, "Backwash now: 28 psi against 18 psi clean.", True),  # 18 + 10
        (24, "24 psi against 18 psi clean: nothing to do before 28 psi.", False),
    ],
)
def test_a_pressure_is_judged_beside_the_clean_one(psi: float, words: str, due: bool) -> None:
    """The rise counts, 10 psi here, and not the pressure alone."""
    found = pressure_meaning(SAND, kpa(psi), None, customary=True)
    assert (found.words, found.due) == (words, due)
    assert found.caution == ("Pump off first." if due else "")


def test_pressures_of_other_speeds_are_not_compared() -> None:
    """A pump at 1,200 rpm makes a dirty filter look clean; 5 % is the same speed."""
    facts = FilterFacts("backwash", "Backwash", 68.9, "", 120, 2400, variable_speed=True)
    assert (
        "at 2400 rpm can be compared" in pressure_meaning(facts, 200, 1200, customary=False).words
    )
    assert "can be compared" in pressure_meaning(facts, 200, None, customary=False).words
    assert pressure_meaning(facts, 200, 2500, customary=False).due


def test_without_a_clean_pressure_nothing_is_concluded() -> None:
    """Nobody knows what is clean: read it after the next cleaning."""
    facts = FilterFacts("backwash", "Backwash", 68.9, "")
    assert "No clean pressure is known" in pressure_meaning(facts, 300, None, customary=False).words


def test_at_a_pump_of_several_speeds_the_speed_is_asked_for_too() -> None:
    """A pressure read without it would be worth nothing again."""
    facts = FilterFacts("backwash", "Backwash", 68.9, "", 120, variable_speed=True)
    told = pressure_meaning(facts, 300, 2400, customary=False).words
    assert told == (
        "No clean pressure with its pump speed is known: read both right after the next cleaning."
    )


def test_facts_come_from_the_register_and_the_table() -> None:
    """The site's own rise goes before that of the table."""
    own = Filter(Media.SAND, clean_kpa=120, clean_on=CLEAN_ON, rise_kpa=55)
    facts = filter_facts(Equipment(filter=own, pump=Pump(variable_speed=True)), DEFAULT_RULES)
    assert facts is not None
    assert (facts.kind, facts.deed, facts.rise_kpa) == ("backwash", "Backwash", 55)
    assert facts.variable_speed
    assert "Pump off" in facts.caution
    cartridge = filter_facts(Equipment(filter=Filter(Media.CARTRIDGE)), DEFAULT_RULES)
    assert cartridge is not None
    assert cartridge.deed == "Clean the cartridge"
    assert filter_facts(Equipment(), DEFAULT_RULES) is None
