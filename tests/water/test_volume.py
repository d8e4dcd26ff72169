"""Volumes against the trade's worked examples."""

from __future__ import annotations

import pytest

from dispatch.errors import InvalidValue
from dispatch.units import FOOT_M, gallons, litres
from dispatch.water.volume import (
    Shape,
    kidney_l,
    oval_l,
    rectangle_l,
    round_l,
    stadium_l,
    volume_by_measures,
    volume_by_salt,
)


def feet(*measures: float) -> tuple[float, ...]:
    return tuple(measure * FOOT_M for measure in measures)


def test_a_rectangle_meets_the_worked_example() -> None:
    """V1: 20 x 40 ft, 5.5 ft deep, 33,000 gal on a trade page (a); exact 32,914 (calc)."""
    found = gallons(rectangle_l(*feet(40, 20, 5.5)))
    assert found == pytest.approx(33_000, rel=0.005)
    assert found == pytest.approx(32_914, abs=1)


def test_a_round_pool_meets_the_worked_example() -> None:
    """V2: 24 ft, 4 ft deep, 13,600 gal on a trade page (a); exact 13,536 (calc)."""
    assert gallons(round_l(*feet(24, 4))) == pytest.approx(13_600, rel=0.01)
    assert gallons(round_l(*feet(24, 4))) == pytest.approx(13_536, abs=1)


def test_a_kidney_meets_the_trade_formula() -> None:
    """V3: 16 and 20 ft wide, 36 long, 5 deep: 0.45 x 36 x 36 x 5 x 7.5 = 21,870 (a formula)."""
    assert gallons(kidney_l(*feet(20, 16, 36, 5))) == pytest.approx(21_870, rel=0.005)


def test_an_ellipse_does_not_take_the_factor_of_a_stadium() -> None:
    """V4: 5.875 gal/ft3 is exact; 6.7 on one page is 14 % high for an ellipse (a)."""
    found = gallons(oval_l(*feet(30, 15, 4)))
    assert found == pytest.approx(30 * 15 * 4 * 5.875, rel=0.001)
    assert found < 30 * 15 * 4 * 6.7 * 0.9


def test_round_ends_are_two_half_circles() -> None:
    """30 x 15 m, 1 m deep: 15 x 15 + pi / 4 x 225 = 401.7 m3 by hand."""
    assert stadium_l(30, 15, 1) == pytest.approx(401_715, abs=1)


def test_an_inch_of_a_pool_is_319_gallons() -> None:
    """16 x 32 ft by one inch (calc)."""
    assert gallons(rectangle_l(*feet(32, 16, 1 / 12))) == pytest.approx(319, abs=0.5)


def test_an_estimate_says_what_it_is_good_for() -> None:
    """V1 and V2 again, with the measures that went in; salt would tell it better."""
    answer = volume_by_measures(Shape.RECTANGLE, *feet(40, 20, 5.5))
    assert gallons(answer.value) == pytest.approx(32_914, abs=1)
    assert [one.name for one in answer.inputs] == ["Length", "Width", "Average depth"]
    assert "10 to 15 %" in answer.notes[0]
    circle = volume_by_measures(Shape.ROUND, *feet(24, 24, 4))
    assert gallons(circle.value) == pytest.approx(13_536, abs=1)
    kidney = volume_by_measures(Shape.KIDNEY, *feet(36, 20, 5, 16))
    assert gallons(kidney.value) == pytest.approx(21_870, rel=0.005)


def test_measures_of_another_shape_are_refused() -> None:
    """Two diameters are an oval's, and only a kidney has two widths."""
    with pytest.raises(InvalidValue, match="as wide as long"):
        volume_by_measures(Shape.ROUND, 8, 6, 1.2)
    for shape, narrow in ((Shape.KIDNEY, None), (Shape.OVAL, 3.0)):
        with pytest.raises(InvalidValue, match="narrower width"):
            volume_by_measures(shape, 10, 5, 1.5, narrow)


def test_salt_measures_the_volume_back() -> None:
    """267.05 lb in 10,000 gal raise 3,200 ppm (D1), so they measure 10,000 gal back."""
    answer = volume_by_salt(267.05 * 0.45359237, 0, 3200)
    assert answer.value == pytest.approx(litres(10_000), rel=0.001)
    assert answer.unit == "l"


@pytest.mark.parametrize(("added", "before", "after"), [(0, 0, 100), (50, 3000, 3000)])
def test_no_rise_measures_nothing(added: float, before: float, after: float) -> None:
    """Salt that lies undissolved must not make a pool of infinite volume."""
    with pytest.raises(InvalidValue, match="dissolve"):
        volume_by_salt(added, before, after)


@pytest.mark.parametrize("measures", [(0, 5, 2), (10, -5, 2), (10, 5, float("inf"))])
def test_measures_that_are_none_are_refused(measures: tuple[float, float, float]) -> None:
    """A slip of the pen gives no volume."""
    with pytest.raises(InvalidValue, match="measure"):
        rectangle_l(*measures)


def test_a_stadium_wider_than_long_is_refused() -> None:
    """The two were swapped."""
    with pytest.raises(InvalidValue, match="swap"):
        stadium_l(10, 15, 1)
