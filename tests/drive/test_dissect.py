"""The order of streets: what is cut first is most important, and parts do not touch."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from dispatch.drive.compact import compact
from dispatch.drive.dissect import street_ranks
from dispatch.drive.graph import RoadMap
from dispatch.drive.osm import read_streets
from dispatch.drive.speeds import SpeedModel
from tests.drive.drawing import roads
from tests.grid_town import write_grid


def test_the_bridge_between_two_blocks_is_the_most_important_street(tmp_path: Path) -> None:
    """One street crosses the cut in the middle; every other cut has two or more."""
    drawing = roads("""
a---b       e---f
|   |       |   |
c---d-------g---h
""")
    road_map = drawing.road_map(tmp_path)
    rank = street_ranks(road_map)
    bridge = [road_map.names[road_map.name[edge]] for edge in np.argsort(rank)[-2:]]
    assert bridge == ["dg street", "dg street"]


@settings(max_examples=10, deadline=None)
@given(side=st.integers(2, 12))
def test_every_edge_has_a_rank_of_its_own(side: int, tmp_path_factory: object) -> None:
    """A rank given twice or left out would break the hierarchy without a word."""
    folder = tmp_path_factory.mktemp("grid")  # type: ignore[attr-defined]
    file = write_grid(folder / "grid.osm", side)
    road_map = compact(read_streets(file), SpeedModel(), "grid")
    assert sorted(street_ranks(road_map)) == list(range(len(road_map.tail)))


def test_directions_of_a_street_have_neighbouring_ranks(helsinki: RoadMap) -> None:
    """They lie beside each other in every cut."""
    rank = street_ranks(helsinki)
    both = np.flatnonzero(helsinki.twin >= 0)
    near = np.abs(rank[both] - rank[helsinki.twin[both]])
    assert np.median(near) == 1
    assert np.array_equal(rank, street_ranks(helsinki))
