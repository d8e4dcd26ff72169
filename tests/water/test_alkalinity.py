"""Carbonate alkalinity against the trade's examples."""

from __future__ import annotations

import pytest

from dispatch.errors import InvalidValue
from dispatch.water.alkalinity import (
    borate_factor,
    carbonate_ppm,
    cyanurate_factor,
)
from tests.water.vectors import CYANURATE_FACTORS


@pytest.mark.parametrize(("ph", "factor"), CYANURATE_FACTORS)
def test_the_closed_form_meets_the_printed_factors(ph: float, factor: float) -> None:
    """F7.0 to F8.0, a trade page (a), within 0.006."""
    assert cyanurate_factor(ph) == pytest.approx(factor, abs=0.006)


def test_borate_meets_the_one_printed_factor() -> None:
    """0.17 at pH 7.6: Service Industry News, 14 Sep 2021 (a)."""
    assert borate_factor(7.6) == pytest.approx(0.17, abs=0.003)


def test_cyanurate_comes_off_as_a_trade_page_has_it() -> None:
    """L9: TA 120, CYA 100, pH 7.2 leaves 93 (a)."""
    assert carbonate_ppm(120, 7.2, cya_ppm=100) == pytest.approx(93, abs=0.5)


def test_the_rule_of_a_third_is_met_at_usual_ph() -> None:
    """L10: TA 120, CYA 60 leaves 100 by the rule of a third (a); at pH 7.6 it is that rule."""
    assert carbonate_ppm(120, 7.6, cya_ppm=60) == pytest.approx(100, abs=0.5)


def test_cyanurate_and_borate_come_off_together() -> None:
    """L8: TA 100, CYA 90, borate 50, pH 7.6 leaves 61.8 (calc)."""
    assert carbonate_ppm(100, 7.6, 90, 50) == pytest.approx(61.8, abs=0.5)


def test_nothing_is_left_rather_than_less_than_nothing() -> None:
    """Carbonate cannot be negative, however coarse the tests."""
    assert carbonate_ppm(50, 7.6, cya_ppm=300) == 0


def test_a_negative_concentration_is_refused() -> None:
    """A test kit cannot read below zero."""
    with pytest.raises(InvalidValue, match="negative"):
        carbonate_ppm(-5, 7.4)
