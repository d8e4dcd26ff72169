"""The register of equipment refuses what cannot be."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.equipment import (
    Anode,
    CoverState,
    DrainCovers,
    Filter,
    Media,
    SaltCell,
    SeasonHours,
)
from dispatch.errors import InvalidValue

DAY = date(2026, 11, 2)


@pytest.mark.parametrize(
    ("make", "what"),
    [
        (lambda: Filter(Media.SAND, media_mass_kg=0), "filling of 0 kg"),
        (lambda: Filter(Media.SAND, clean_kpa=900, clean_on=DAY), "10 psi are 69 kPa"),
        (lambda: Filter(Media.SAND, clean_kpa=124), "without its day"),
        (lambda: Filter(Media.SAND, rise_kpa=5), "rise of pressure of 5"),
        (lambda: Filter(Media.SAND, clean_rpm=40), "pump speed of 40"),
        (lambda: Anode(remaining_share=50, judged_on=DAY), "as 0.5 for half"),
        (lambda: Anode(remaining_share=0.5), "without its day"),
        (lambda: SaltCell(rated_hours=3), "run-hours"),
        (lambda: SaltCell(output_share=80, tested_on=DAY), "as 0.8"),
        (lambda: SaltCell(output_share=0.8), "without its day"),
        (lambda: SeasonHours(8, 8, 25, 8), "give 0 to 24"),
        (lambda: DrainCovers(state=CoverState.CRACKED), "without its day"),
    ],
)
def test_facts_that_cannot_be_are_refused(make: Callable[[], object], what: str) -> None:
    """A slip of the unit in the register would send people to the wrong pools for years."""
    with pytest.raises(InvalidValue, match=what):
        make()


@pytest.mark.parametrize(
    ("day", "hours"),
    [
        (date(2026, 12, 1), 4),
        (date(2027, 2, 28), 4),
        (date(2027, 3, 1), 8),
        (date(2027, 6, 1), 12),
        (date(2027, 11, 30), 6),
    ],
)
def test_hours_a_day_follow_the_quarter(day: date, hours: float) -> None:
    """December belongs with January, not with November."""
    assert SeasonHours(4, 8, 12, 6).on(day) == hours


@given(st.dates())
def test_every_day_has_its_quarter(day: date) -> None:
    """A month without a quarter would stop the clock of a cell."""
    assert SeasonHours(1, 2, 3, 4).on(day) == [1, 1, 2, 2, 2, 3, 3, 3, 4, 4, 4, 1][day.month - 1]
