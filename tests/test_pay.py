"""Overtime by the piece."""

from __future__ import annotations

import pytest

from dispatch.errors import InvalidValue
from dispatch.pay import regular_rate_overtime


def test_the_regulations_own_example_comes_out() -> None:
    """P1: 46 hours of pieces for $491 and 4 of waiting at $8: 29 CFR 778.111(a), within 0.01."""
    found = regular_rate_overtime(50, 491, 4 * 8)
    assert found.regular_rate == pytest.approx(10.46, abs=0.01)
    assert found.premium == pytest.approx(52.30, abs=0.01)
    assert found.total == pytest.approx(575.30, abs=0.01)


def test_a_week_of_forty_hours_owes_no_premium() -> None:
    """Only hours beyond the fortieth count, so a short week is paid as earned."""
    for hours in (12, 40):
        assert regular_rate_overtime(hours, 480).total == 480
    assert regular_rate_overtime(41, 492).premium == 6  # half of 12 for one hour


def test_impossible_weeks_are_refused() -> None:
    """A slip of the pen must not become a pay cheque."""
    with pytest.raises(InvalidValue, match="A week of 0 hours"):
        regular_rate_overtime(0, 100)
    with pytest.raises(InvalidValue, match="A pay of -8 is below zero"):
        regular_rate_overtime(40, 100, -8)
