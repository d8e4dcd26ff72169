from __future__ import annotations

import pytest

from dispatch.costs import MONTH_WEEKS, Rates, overtime_s
from dispatch.errors import InvalidValue


def test_cost_is_hours_and_kilometres() -> None:
    """10 h at 30 and 100 km at 0.40 are 340; 2 of the hours as overtime cost 15 each besides."""
    rates = Rates(30.0, 0.4)

    assert rates.cost(36_000, 100_000) == pytest.approx(340)
    assert rates.cost(36_000, 100_000, 7200) == pytest.approx(370)


def test_overtime_begins_after_forty_hours_or_the_rule_of_the_technician() -> None:
    """29 U.S.C. 207(a)(1): 40 h in a workweek, unless less was agreed."""
    assert overtime_s(42 * 3600) == 7200
    assert overtime_s(39 * 3600) == 0
    assert overtime_s(39 * 3600, 36 * 60) == 3 * 3600


def test_a_month_has_a_twelfth_of_the_weeks_of_a_year() -> None:
    """A weekly customer is visited 4.33 times a month, not four times."""
    assert pytest.approx(4.333, abs=0.001) == MONTH_WEEKS


@pytest.mark.parametrize("values", [(-1.0, 0.4, 1.5), (30.0, -0.1, 1.5), (30.0, 0.4, 0.5)])
def test_costs_that_cannot_be_are_refused(values: tuple[float, float, float]) -> None:
    """A slip of the pen would make every account look profitable."""
    with pytest.raises(InvalidValue):
        Rates(*values)
