"""Amounts within sentences, written in the units of whoever reads them."""

from __future__ import annotations

import pytest

from dispatch.measures import MEASURED, kept_amount, measured, measuring_in, told
from dispatch.words import reading_in


def test_a_sentence_made_before_its_reader_is_known_is_read_in_his_units() -> None:
    """150 kg are 331 lb at 0.45359237 kg a pound (NIST SP 811); the sentence is stored once."""
    stored = f"Needs 90 min, {kept_amount(150, 'kg')} on the truck"

    assert measured(stored) == "Needs 90 min, 150 kg on the truck"
    with measuring_in(customary=True):
        assert measured(stored) == "Needs 90 min, 331 lb on the truck"
    assert measured(stored) == "Needs 90 min, 150 kg on the truck"


@pytest.mark.parametrize(
    ("value", "unit", "metric", "customary"),
    [
        (7, "kg", "7 kg", "15 lb"),
        (0.8, "kg", "0.8 kg", "1.8 lb"),
        (-4, "kg", "-4 kg", "-8.8 lb"),
        (30, "l", "30 l", "7.9 gal"),
        (300, "m", "300 m", "984 ft"),
        (2200, "m", "2,200 m", "7,218 ft"),
        (20, "km", "20.0 km", "12.4 mi"),
        (200, "kPa", "200 kPa", "29 psi"),
        (28.8889, "°C", "28.9 °C", "84 °F"),
        (-0.5, "°C", "-0.5 °C", "31.1 °F"),
        (100, "L/min", "100 L/min", "26 gpm"),
    ],
)
def test_amounts_are_converted_and_rounded_for_reading(
    value: float, unit: str, metric: str, customary: str
) -> None:
    """Worked by hand: 1 gal 3.785411784 l, 1 mi 1,609.344 m, 1 psi 6.894757 kPa (NIST SP 811)."""
    assert told(value, unit, customary=False) == metric
    assert told(value, unit, customary=True) == customary
    assert unit in MEASURED


def test_what_was_stored_without_amounts_as_data_stays_as_it_is() -> None:
    """Plans of before, and what people typed themselves."""
    with measuring_in(customary=True), reading_in("en"):
        assert measured("The gate weighs 7 kg, he says.") == "The gate weighs 7 kg, he says."
