"""Conversions against figures of NIST Special Publication 811."""

from __future__ import annotations

import pytest

from dispatch.units import (
    FLUID_OUNCE_L,
    QUART_L,
    celsius,
    fahrenheit,
    gallons,
    kpa,
    litres,
    psi,
)


def test_temperatures_meet_their_fixed_points() -> None:
    """Ice and steam, and the one degree at which both scales agree."""
    assert (celsius(32), celsius(212)) == (0, 100)
    assert fahrenheit(-40) == -40


def test_pressures_and_volumes_meet_the_tables() -> None:
    """10 psi are 68.95 kPa; a gallon is 3.785 l, 4 quarts and 128 fluid ounces."""
    assert kpa(10) == pytest.approx(68.95, abs=0.005)
    assert psi(100) == pytest.approx(14.504, abs=0.0005)
    assert litres(1) == pytest.approx(3.785, abs=0.0005)
    assert gallons(1000) == pytest.approx(264.17, abs=0.005)
    assert litres(1) == pytest.approx(4 * QUART_L) == pytest.approx(128 * FLUID_OUNCE_L)
