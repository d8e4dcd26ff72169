"""Doses against the trade's charts, right and wrong ones."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.errors import InvalidValue
from dispatch.units import litres
from dispatch.water.amounts import MASS_KG, VOLUME_L
from dispatch.water.dosing import dose, dose_kg, dose_l
from dispatch.water.products import FACTS, Product
from dispatch.words import reading_in
from tests.pseudo import pseudo_language
from tests.water.vectors import DOSES, MISPRINTED_DOSES, DoseVector


def amount_of(
    product: Product, gallons: float, change: float, unit: str, strength: float | None
) -> float:
    """The dose in `unit`, whatever unit the answer would choose."""
    if FACTS[product].liquid:
        return dose_l(product, litres(gallons), change, strength) / VOLUME_L[unit]
    return dose_kg(product, litres(gallons), change, strength) / MASS_KG[unit]


@pytest.mark.parametrize("vector", DOSES, ids=lambda one: f"{one.name}-{one.mark}")
def test_a_dose_meets_the_chart(vector: DoseVector) -> None:
    """A technician compares with the chart on the wall; sources stand beside each vector."""
    found = amount_of(vector.product, vector.gallons, vector.change, vector.unit, vector.strength)
    assert found == pytest.approx(vector.expected, rel=vector.tolerance), vector.source


@pytest.mark.parametrize(
    ("product", "gallons", "change", "unit", "misprint", "right"),
    [row[1:] for row in MISPRINTED_DOSES],
    ids=[row[0] for row in MISPRINTED_DOSES],
)
def test_wrong_tables_are_not_reproduced(
    product: Product, gallons: float, change: float, unit: str, misprint: float, right: float
) -> None:
    """Charts in circulation are up to 40 % off; whoever copies one overdoses pools."""
    found = amount_of(product, gallons, change, unit, None)
    assert found == pytest.approx(right, rel=0.005)
    assert abs(found / misprint - 1) > 0.05


def test_a_low_course_table_for_calcium_is_within_its_known_error() -> None:
    """D11: 585,900 l by 200 ppm is 129.9 kg (calc); a course table gives 117.4, 9.6 % low (a)."""
    found = dose_kg(Product.CALCIUM_CHLORIDE, 585_900, 200, 100)
    assert found == pytest.approx(129.9, abs=0.05)
    assert found == pytest.approx(117.4, rel=0.11)


def test_the_salt_rule_of_thirty_pounds_overshoots() -> None:
    """D3: 30 lb for 1,000 gal is 3,595 ppm (calc), 12 % over the 3,200 it is said to give."""
    pounds_for_3595 = dose_kg(Product.SALT, litres(1000), 3595) / MASS_KG["lb"]
    assert pounds_for_3595 == pytest.approx(30, abs=0.01)


def test_a_dose_is_told_in_the_unit_on_the_jug() -> None:
    """25.6 fl oz at 10,000 gal is under a quart, 1.6 qt at 20,000 over it, 6.4 qt over a gallon."""
    texts = [
        dose(Product.MURIATIC_ACID, litres(gallons), 10).text
        for gallons in (10_000, 20_000, 80_000)
    ]
    assert texts == ["25.6 fl oz", "1.6 qt", "1.6 gal"]
    assert dose(Product.MURIATIC_ACID, litres(10_000), 10, customary=False).text == "756.0 ml"


def test_bags_are_whole_and_tell_what_they_are_over() -> None:
    """D2: 367.2 lb is 10 bags of 40 lb, 32.8 lb over (calc)."""
    answer = dose(Product.SALT, litres(20_000), 2200)
    assert answer.text == "367.2 lb"
    assert "10 bags of 40 lb: 32.8 lb more than computed." in answer.notes


def test_half_the_strength_is_twice_the_dose() -> None:
    """Old hypochlorite is weak; the strength is an input."""
    fresh = dose_l(Product.LIQUID_CHLORINE, 50_000, 2, 125)
    assert dose_l(Product.LIQUID_CHLORINE, 50_000, 2, 62.5) == pytest.approx(2 * fresh)


def test_what_rises_besides_is_told() -> None:
    """3 ppm of chlorine from trichlor bring 1.8 ppm of cyanuric acid that only draining removes."""
    assert any(
        "cyanuric acid by about 1.8 ppm" in note for note in dose(Product.TRICHLOR, 5e4, 3).notes
    )


@pytest.mark.parametrize("product", FACTS)
def test_every_dose_is_told_in_the_readers_language(product: Product) -> None:
    """What it is for and what rises besides, too: acid to lower must not be read as to raise."""
    with pseudo_language() as code, reading_in(code):
        found = dose(product, 50_000, 3)
        said = [*found.title.split(), *" ".join(found.notes).split()]
    assert not {"raise", "lower", "salt", "calcium", "cyanuric"} & set(said)


@pytest.mark.parametrize("product", FACTS)
def test_every_dose_shows_inputs_method_and_cautions(product: Product) -> None:
    """No figure stands alone: the label comes first, and acid is never near chlorine."""
    answer = dose(product, 50_000, 5)
    assert answer.method == "mass balance"
    assert {one.name for one in answer.inputs} == {"Volume", "Change", "Strength"}
    assert "label" in answer.cautions[0]
    chlorine = "chlorine" in FACTS[product].effect
    if chlorine or (product in (Product.MURIATIC_ACID, Product.DRY_ACID)):
        assert any("lorine" in caution for caution in answer.cautions[1:])


@given(st.sampled_from(sorted(FACTS)), st.floats(1e3, 1e6), st.floats(0.1, 3000))
def test_a_dose_is_in_step_with_volume_and_change(
    product: Product, volume_l: float, change: float
) -> None:
    """Twice the pool or twice the change is twice the product."""
    measure = dose_l if FACTS[product].liquid else dose_kg
    once = measure(product, volume_l, change)
    assert measure(product, 2 * volume_l, change) == pytest.approx(2 * once)
    assert measure(product, volume_l, 2 * change) == pytest.approx(2 * once)


@pytest.mark.parametrize(
    ("volume_l", "change", "strength", "word"),
    [
        (0, 10, None, "volume"),
        (float("nan"), 10, None, "volume"),
        (5e4, 0, None, "change"),
        (5e4, -3, None, "change"),
        (5e4, 10, 0, "label"),
        (5e4, 10, 130, "label"),
    ],
)
def test_a_dose_for_nothing_is_refused(
    volume_l: float, change: float, strength: float | None, word: str
) -> None:
    """Each refusal says what to mend."""
    with pytest.raises(InvalidValue, match=word):
        dose(Product.BICARBONATE, volume_l, change, strength)


def test_an_unknown_product_has_no_dose() -> None:
    """Whatever 'other' is, only its label knows."""
    with pytest.raises(InvalidValue, match="label"):
        dose(Product.OTHER, 5e4, 10)
