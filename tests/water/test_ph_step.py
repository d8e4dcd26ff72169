"""Steps of pH: an estimate by a balance, added by halves."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.errors import InvalidValue
from dispatch.units import litres
from dispatch.water.ph_step import Buffers, acid_meq, ph_step, soda_ash_mmol
from tests.water.vectors import ACID_STEPS

GAL_10000_L = litres(10_000)


@pytest.mark.parametrize(("alkalinity", "cya", "ph", "target", "fl_oz"), ACID_STEPS)
def test_the_first_half_is_half_of_the_balance(
    alkalinity: float, cya: float, ph: float, target: float, fl_oz: float
) -> None:
    """Whole steps computed by hand from pK1 6.32, pK2 10.2 and pKcya 6.83; the answer is half."""
    answer = ph_step(Buffers(alkalinity, cya), ph, target, GAL_10000_L)
    assert answer.unit == "fl oz"
    assert 2 * answer.value == pytest.approx(fl_oz, abs=0.06)
    assert f"{fl_oz} fl oz" in answer.notes[0]


def test_a_step_is_never_told_as_exact() -> None:
    """A chart gives 12 fl oz where the balance gives 5.1: half first, then test again."""
    answer = ph_step(Buffers(100), 7.8, 7.6, GAL_10000_L)
    assert "first half" in answer.title
    assert "not exact" in answer.notes[0]
    assert any("Acid into water" in caution for caution in answer.cautions)


def test_more_acid_than_a_pool_is_given_at_a_time_is_told_of() -> None:
    """One quart in 10,000 gal, so two in 20,000; a strong buffer wants more, even of the half."""
    (_, most) = ph_step(Buffers(400), 8.6, 7.4, 2 * GAL_10000_L).notes
    assert "at most 2.0 qt in this pool" in most
    (_, most) = ph_step(Buffers(400), 8.6, 7.4, 40_000, customary=False).notes
    assert "at most 1.0 l in this pool" in most
    assert len(ph_step(Buffers(100), 8.6, 7.4, GAL_10000_L).notes) == 1
    assert len(ph_step(Buffers(400), 6.8, 7.4, GAL_10000_L).notes) == 1  # soda ash


def test_soda_ash_raises_ph_by_a_worked_example() -> None:
    """TA 80, no CYA, 7.0 to 7.4, worked by hand.

    80 / 50.04 = 1.599 meq/l; charge(7.0) = (1 + 2 x 0.00063) / (0.20893 + 1 + 0.00063) = 0.8278;
    charge(7.4) = (1 + 2 x 0.00158) / (0.08318 + 1 + 0.00158) = 0.9248; carbon 1.599 / 0.8278 =
    1.9312; x = 1.9312 x 0.0970 / (2 - 0.9248) = 0.1742 mmol/l.
    """
    assert soda_ash_mmol(Buffers(80), 7.0, 7.4) == pytest.approx(0.1742, abs=0.0005)
    answer = ph_step(Buffers(80), 7.0, 7.4, GAL_10000_L, customary=False)
    assert answer.text == "349.5 g"  # half of 0.1742 x 105.99 x 37,854 l / 1000 = 699 g
    assert "Soda ash" in answer.title


@given(st.floats(40, 240), st.floats(0, 80), st.floats(7.2, 8.2), st.floats(0.1, 0.4))
def test_two_small_steps_cost_what_one_large_does(
    alkalinity: float, cya: float, ph: float, step: float
) -> None:
    """The balance has no memory: acid for a to b and b to c is acid for a to c.

    After the first step the alkalinity has fallen by the acid, 50.04 ppm for each meq/l.
    """
    first = acid_meq(Buffers(alkalinity, cya), ph, ph - step / 2)
    left = Buffers(alkalinity - first * 50.04, cya)
    second = acid_meq(left, ph - step / 2, ph - step)
    whole = acid_meq(Buffers(alkalinity, cya), ph, ph - step)
    assert first + second == pytest.approx(whole, rel=1e-6)


@pytest.mark.parametrize(("ph", "target"), [(9.5, 7.5), (7.5, 5), (7.4, 7.4)])
def test_steps_beyond_the_balance_are_refused(ph: float, target: float) -> None:
    """Outside 6.5 to 8.6 an acid demand test is the way."""
    with pytest.raises(InvalidValue, match="demand test"):
        ph_step(Buffers(100), ph, target, GAL_10000_L)


def test_water_without_alkalinity_is_refused() -> None:
    """It holds no pH, so any estimate would be wild."""
    with pytest.raises(InvalidValue, match="alkalinity"):
        Buffers(0)
    with pytest.raises(InvalidValue, match="whole alkalinity"):
        acid_meq(Buffers(20, cya_ppm=200), 7.8, 7.6)
