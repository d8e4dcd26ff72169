"""What falls only by replacing water."""

from __future__ import annotations

import pytest

from dispatch.errors import InvalidValue
from dispatch.readings import ReadingKind
from dispatch.water.dilution import replace_share, water_to_replace


def test_the_share_to_replace_meets_the_worked_examples() -> None:
    """CYA 120 to 60 is half; CH 800 to 400 with fill at 150 is 400 / 650 = 61.5 % (calc)."""
    assert replace_share(120, 60) == pytest.approx(0.5)
    assert replace_share(800, 400, 150) == pytest.approx(0.615, abs=0.0005)


def test_the_answer_warns_of_draining() -> None:
    """An emptied pool can float or crack; the answer says so and defers to its builder."""
    answer = water_to_replace(ReadingKind.CYANURIC_ACID, 120, 60, 50_000)
    assert answer.text == "50.0 % of the pool"
    assert any("float" in caution for caution in answer.cautions)
    assert "25,000 l" in answer.notes[0]


@pytest.mark.parametrize(("now", "target", "fill"), [(100, 120, 0), (400, 200, 250), (0, 0, 0)])
def test_what_fresh_water_cannot_do_is_refused(now: float, target: float, fill: float) -> None:
    """Hard fill water cannot soften a pool below itself."""
    with pytest.raises(InvalidValue, match="between"):
        replace_share(now, target, fill)


def test_chlorine_is_not_drained_away() -> None:
    """It falls by itself."""
    with pytest.raises(InvalidValue, match="does not need draining"):
        water_to_replace(ReadingKind.FREE_CHLORINE, 8, 3, 50_000)
