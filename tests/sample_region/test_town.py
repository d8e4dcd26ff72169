"""The town as drawn, and towns of other sizes."""

from __future__ import annotations

from sample_region.terrain import TownSize
from sample_region.town import draw_town


def test_a_smaller_town_and_another_seed_are_drawn_too() -> None:
    """The size is a parameter, for tests that want less and measurements that want more."""
    small = draw_town(TownSize(radius_m=2600.0, seed=11))
    assert 300 < len(small.sheet.ways) < 1600
    assert small.houses
