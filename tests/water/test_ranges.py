"""Ranges of pool water and where a reading lies in them."""

from __future__ import annotations

import pytest

from dispatch.errors import InvalidValue
from dispatch.readings import ReadingKind
from dispatch.water.ranges import DEFAULT_TARGETS, PUBLISHED, Range, Standing, chlorine_target

CHLORINE = DEFAULT_TARGETS[ReadingKind.FREE_CHLORINE]


@pytest.mark.parametrize("one", PUBLISHED, ids=lambda one: f"{one.kind}-{one.source}")
def test_no_range_is_without_its_source(one: Range) -> None:
    """A figure of a standard without text and edition is hearsay."""
    assert one.source
    assert one.edition or one.source == "common practice"


def test_what_is_from_memory_says_so() -> None:
    """Only p. 34 of the industry standard and the older table were read again."""
    read_again = {one.source for one in PUBLISHED if not one.from_memory}
    assert read_again == {
        "ANSI/APSP/ICC-11, p. 34",
        "older trade-institute table in a pool manual",
        "common practice",
    }
    assert "(from memory)" in CHLORINE.told


@pytest.mark.parametrize(
    ("value", "standing"),
    [
        (0.5, Standing.BELOW),
        (1.0, Standing.LOW),
        (2.0, Standing.IDEAL),
        (4.0, Standing.IDEAL),
        (4.5, Standing.ABOVE),
    ],
)
def test_a_reading_has_one_standing(value: float, standing: Standing) -> None:
    """The ends belong to the better side."""
    assert CHLORINE.standing(value) is standing


def test_four_ppm_is_not_too_much_with_cyanuric_acid() -> None:
    """80 ppm CYA needs 80 / 20 = 4 ppm: it is the low end of the ideal, not 'high'."""
    raised = chlorine_target(CHLORINE, 80)
    assert raised.standing(4.0) is Standing.IDEAL
    assert raised.standing(3.5) is Standing.LOW
    assert raised.least == 1  # only the text closes a pool
    assert raised.most == 6  # 4 + the width of the ideal, 2


def test_little_cyanuric_acid_moves_nothing() -> None:
    """40 ppm CYA needs 2 ppm, which the ideal begins with anyway."""
    assert chlorine_target(CHLORINE, 40) is CHLORINE
    assert chlorine_target(CHLORINE, None) is CHLORINE


@pytest.mark.parametrize(
    "figures",
    [(3, 2, 1, 0), (None, None, None, None), (1, 2, 4, 500)],
)
def test_a_range_that_cannot_be_is_refused(
    figures: tuple[float | None, float | None, float | None, float | None],
) -> None:
    """A company edits its targets by hand."""
    with pytest.raises(InvalidValue):
        Range(ReadingKind.FREE_CHLORINE, *figures, "our own", "")


def test_a_range_needs_its_source() -> None:
    """Whoever sets a target stands for it."""
    with pytest.raises(InvalidValue, match="text it stands in"):
        Range(ReadingKind.PH, 7.2, 7.4, 7.6, 7.8, "", "")


def test_the_aim_is_the_middle_of_the_ideal() -> None:
    """Doses lead there."""
    assert CHLORINE.aim == 3
    assert DEFAULT_TARGETS[ReadingKind.CYANURIC_ACID].aim == 40
