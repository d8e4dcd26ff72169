"""In which part of a large week the rounds of a search are made."""

from __future__ import annotations

import numpy as np
import pytest

from dispatch.planning.ruin import PART, STAY, UNITS_CACHED, part_at


def _rounds_around(total: int, units: int) -> list[int]:
    """How many rounds of a search are made around each unit."""
    around = np.zeros(units, dtype=np.int64)
    for n in range(total):
        first, count = part_at(n, total, units)
        around[(first + np.arange(count)) % units] += 1
    return [int(rounds) for rounds in around]


def test_a_week_that_fits_the_cache_is_searched_as_a_whole() -> None:
    assert part_at(0, 100_000, UNITS_CACHED) == (0, UNITS_CACHED)
    assert part_at(99_999, 100_000, UNITS_CACHED) == (0, UNITS_CACHED)


@pytest.mark.parametrize("total", [2_000, 30_000, 200_000])
def test_no_pool_of_a_large_week_is_neglected(total: int) -> None:
    """Every one has its share of the rounds, in a short search and in a long one."""
    units = 3_000
    around = _rounds_around(total, units)
    fair = total * PART / units
    assert min(around) > 0.6 * fair
    assert max(around) < 1.5 * fair


def test_a_large_week_is_searched_part_by_part() -> None:
    """Rounds that follow each other stay where the drives are at hand."""
    total = 1_000_000
    parts = [part_at(n, total, 3_000) for n in range(4 * STAY)]
    assert [len(set(parts[k * STAY : (k + 1) * STAY])) for k in range(4)] == [1, 1, 1, 1]
    assert len(set(parts)) == 4


def test_all_times_of_a_search_reach_everywhere() -> None:
    """Cold rounds too: each tenth of the search goes around every pool."""
    total, units = 300_000, 3_000
    for tenth in range(10):
        seen = np.zeros(units, dtype=bool)
        for n in range(tenth * total // 10, (tenth + 1) * total // 10, STAY):
            first, count = part_at(n, total, units)
            seen[(first + np.arange(count)) % units] = True
        assert seen.all(), tenth
