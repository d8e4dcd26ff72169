"""The saturation index against the trade's sample problems."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.errors import InvalidValue
from dispatch.units import celsius
from dispatch.water.index import (
    TEMPERATURE_FACTORS,
    Variant,
    Water,
    saturation_index,
    temperature_factor,
)
from tests.water.vectors import CARRIER_C, MISPRINTED_CALCIUM, TRADE_TABLE, IndexVector


def index_of(vector: IndexVector, variant: Variant, *, in_celsius: bool = False) -> float:
    water = Water(
        ph=vector.ph,
        temperature_c=vector.temperature if in_celsius else celsius(vector.temperature),
        calcium_ppm=vector.calcium,
        total_alkalinity_ppm=vector.alkalinity,
        cya_ppm=vector.cya,
        borate_ppm=vector.borate,
        tds_ppm=vector.tds,
    )
    return saturation_index(water, variant).value


@pytest.mark.parametrize("vector", TRADE_TABLE, ids=lambda one: f"{one.name}-{one.mark}")
def test_the_table_form_meets_the_sample_problems(vector: IndexVector) -> None:
    """Technicians check the figure against their course; sources stand beside each vector."""
    found = index_of(vector, Variant.TRADE_TABLE)
    assert found == pytest.approx(vector.expected, abs=vector.tolerance), vector.source


@pytest.mark.parametrize("vector", CARRIER_C, ids=lambda one: f"{one.name}-{one.mark}")
def test_the_carrier_form_meets_its_printed_example(vector: IndexVector) -> None:
    """The second variant has an example of its own, whose result is from memory."""
    found = index_of(vector, Variant.CARRIER, in_celsius=True)
    assert found == pytest.approx(vector.expected, abs=vector.tolerance), vector.source


def test_more_dissolved_solids_lower_the_carrier_form_as_published() -> None:
    """L12: TDS 525 to 3200 changes it by -0.08, a tenth of log10(3200 / 525) = 0.0785 (a)."""
    fresh, salty = (Water(7.5, 26, 300, 100, tds_ppm=tds) for tds in (525, 3200))
    change = (
        saturation_index(salty, Variant.CARRIER).value
        - saturation_index(fresh, Variant.CARRIER).value
    )
    assert change == pytest.approx(-0.0785, abs=0.005)


@pytest.mark.parametrize(("calcium", "misprint", "right"), MISPRINTED_CALCIUM)
def test_misprinted_calcium_factors_are_not_reproduced(
    calcium: float, misprint: float, right: float
) -> None:
    """Three pages print factors that are off by 0.1 to 0.6; the logarithm is the table."""
    water = Water(7.0, celsius(84), calcium, 100)
    found = saturation_index(water).value - (7.0 + 0.7 + 2.0 - 12.1)  # all else by hand
    assert found == pytest.approx(right, abs=0.05)
    assert abs(found - misprint) > 0.05


def test_ignoring_cyanurate_would_hide_aggressive_water() -> None:
    """L8 is -0.2 with cyanurate and borate taken off and 0.0 without: the wrong advice."""
    with_both = Water(7.6, celsius(76), 200, 100, cya_ppm=90, borate_ppm=50, tds_ppm=800)
    without = Water(7.6, celsius(76), 200, 100, tds_ppm=800)
    assert saturation_index(with_both).text == "-0.2"
    assert saturation_index(without).text == "0.0"


def test_the_misprinted_constant_is_not_used_at_900_ppm() -> None:
    """L6's page subtracts 12.2 in print and still says 0; up to 1,000 ppm it is 12.1."""
    (vector,) = (one for one in TRADE_TABLE if one.name == "L6")
    assert index_of(vector, Variant.TRADE_TABLE) > -0.07


@pytest.mark.parametrize("row", TEMPERATURE_FACTORS)
def test_the_rows_of_the_temperature_table_are_met(row: tuple[float, float]) -> None:
    """Interpolation must leave the printed rows as they are."""
    assert temperature_factor(celsius(row[0])) == pytest.approx(row[1])


def test_temperatures_beyond_the_table_keep_its_ends() -> None:
    """Nobody extrapolates a table of the trade."""
    assert temperature_factor(-1) == 0.0
    assert temperature_factor(60) == 1.0


@given(st.floats(7, 8), st.floats(5, 40), st.floats(50, 1000), st.floats(40, 240))
def test_each_of_ph_heat_calcium_and_alkalinity_raises_both_variants(
    ph: float, temperature_c: float, calcium: float, alkalinity: float
) -> None:
    """Whatever the water, more of any of the four brings it nearer to scale."""
    for variant in Variant:
        base = saturation_index(Water(ph, temperature_c, calcium, alkalinity), variant).value
        more = (
            Water(ph + 0.1, temperature_c, calcium, alkalinity),
            Water(ph, temperature_c + 1, calcium, alkalinity),
            Water(ph, temperature_c, calcium * 1.1, alkalinity),
            Water(ph, temperature_c, calcium, alkalinity * 1.1),
        )
        assert all(saturation_index(water, variant).value > base for water in more)


def test_an_index_names_its_method_and_what_was_assumed() -> None:
    """A number without its variant would be compared with one of the other."""
    answer = saturation_index(Water(7.5, 28, 250, 90))
    assert "trade table" in answer.method
    assert any(one.assumed and one.value == 1000 for one in answer.inputs)
    assert answer.cautions
    assert answer.text in ("-0.1", "0.0", "+0.1")


def test_salt_stands_in_for_dissolved_solids() -> None:
    """A salt pool has more than 2,000 ppm dissolved, so 12.3 is subtracted instead of 12.1."""
    salty = saturation_index(Water(7.5, 28, 250, 90, salt_ppm=3000)).value
    assert salty - saturation_index(Water(7.5, 28, 250, 90)).value == pytest.approx(-0.2)


@pytest.mark.parametrize(
    ("values", "word"),
    [((7.4, 120, 250, 90), "°C"), ((1, 25, 250, 90), "pH"), ((7.4, 25, 0, 90), "hardness")],
)
def test_what_is_no_pool_water_has_no_index(
    values: tuple[float, float, float, float], word: str
) -> None:
    """Exam sites print 32.5 and -3.2; such figures come from such inputs."""
    with pytest.raises(InvalidValue, match=word):
        Water(*values)


def test_water_whose_alkalinity_is_all_cyanurate_has_no_index() -> None:
    """The logarithm of nothing is no figure: 60 ppm less 200 x 0.33."""
    with pytest.raises(InvalidValue, match="whole alkalinity"):
        saturation_index(Water(7.6, 26, 250, 60, cya_ppm=200))
