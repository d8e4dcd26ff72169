"""A company's changes to its table of upkeep."""

from __future__ import annotations

import pytest

from dispatch.errors import InvalidValue
from dispatch.intake.upkeep_edits import COMPANY_SOURCE, edited, texts_of
from dispatch.upkeep_rules import DEFAULT_RULES, Interval, Part, UpkeepRule, rule_of

SAND, BACKWASH = rule_of("sand-change"), rule_of("backwash")


@pytest.mark.parametrize("rule", DEFAULT_RULES, ids=lambda rule: rule.kind)
def test_every_kind_is_the_same_after_being_written_and_read(rule: UpkeepRule) -> None:
    """The form shows what is there; sending it back unchanged must change nothing."""
    again = edited(rule, texts_of(rule))
    assert texts_of(again) == texts_of(rule)
    assert (again.earliest, again.due, again.latest) == (rule.earliest, rule.due, rule.latest)
    assert (again.parts, again.media, again.months) == (rule.parts, rule.media, rule.months)


def test_a_change_is_marked_as_the_company_s_own() -> None:
    """The source of the old number is not that of the new one."""
    changed = edited(SAND, {"due": "5 years", "minutes": "120", "months": "10-2"})
    assert changed.due == Interval(60)
    assert changed.minutes == 120
    assert changed.months == frozenset({10, 11, 12, 1, 2})
    assert changed.source == COMPANY_SOURCE
    assert changed.caution == SAND.caution


@pytest.mark.parametrize("rule", DEFAULT_RULES, ids=lambda rule: rule.kind)
def test_us_units_come_back_as_they_were_written(rule: UpkeepRule) -> None:
    """Psi and lb, rounded to be read: written again they are the same texts."""
    texts = texts_of(rule, customary=True)
    assert " kg" not in texts["parts"] + texts["filling_kg"]
    again = edited(rule, texts, customary=True)
    assert texts_of(again, customary=True) == texts


def test_a_bare_number_is_in_the_units_of_whoever_writes_it() -> None:
    """300 lb are 136.078 kg and 8 psi 55.2 kPa (NIST SP 811); another unit may be named."""
    assert edited(BACKWASH, {"threshold": "8"}, customary=True).threshold == 55.2
    assert edited(BACKWASH, {"threshold": "60 kPa"}, customary=True).threshold == 60.0
    for text, mass_kg in (("300", 136.0777), ("136 kg", 136.0)):
        media = edited(SAND, {"filling_kg": text}, customary=True).media
        assert media is not None
        assert media.default_kg == pytest.approx(mass_kg)
    parts = edited(SAND, {"parts": "1 x Wet vacuum (20 lb)"}).parts
    assert parts[0].mass_kg == pytest.approx(9.0718, abs=1e-4)


@pytest.mark.parametrize(("text", "kpa_"), [("8 psi", 55.2), ("55", 55.0), ("60 kPa", 60.0)])
def test_a_threshold_of_pressure_may_be_given_in_psi(text: str, kpa_: float) -> None:
    """8 psi are 55.2 kPa."""
    assert edited(BACKWASH, {"threshold": text}).threshold == kpa_


def test_parts_are_written_with_number_name_and_mass() -> None:
    """A comma may stand in the name."""
    changed = edited(SAND, {"parts": "2 x Laterals, long (3.5 kg); 1 x Wet vacuum (9 kg)"})
    assert changed.parts == (Part("Laterals, long", 2, 3.5), Part("Wet vacuum", 1, 9.0))
    assert edited(SAND, {"parts": "none"}).parts == ()


@pytest.mark.parametrize(
    ("field", "text", "what"),
    [
        ("colour", "blue", "has no field 'colour'"),
        ("due", "soon", "is no interval"),
        ("due", "0 months", "leads nowhere"),
        ("due", "4 years", "do not rise"),
        ("minutes", "-5", "whole number"),
        ("minutes", "900", "does not fit into a day"),
        ("crew", "0", "crew of 0"),
        ("months", "13", "names no months"),
        ("threshold", "ten", "is no number"),
        ("parts", "a vacuum", "is no part"),
        ("wet_factor", "12", "wet factor 12"),
        ("caution", "", "0 characters"),
        ("active", "perhaps", "neither yes nor no"),
    ],
)
def test_a_slip_is_told_with_its_field(field: str, text: str, what: str) -> None:
    """Nothing of a bad change is kept."""
    with pytest.raises(InvalidValue, match=what):
        edited(SAND, {field: text})


def test_a_backwash_has_no_filling() -> None:
    """Only a change of media carries one out and back."""
    with pytest.raises(InvalidValue, match="renews no filling"):
        edited(BACKWASH, {"filling_kg": "100"})
