"""Roads closed in an area, against maps drawn by hand."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from dispatch.drive.closures import Area, closed_edges, matrix_around
from dispatch.drive.graph import RoadMap
from dispatch.drive.matrix import compute_matrix
from dispatch.drive.snap import Snap, snap_all
from dispatch.places import Place
from tests.drive.drawing import Drawing, roads

# a-b is 100 m; the way round over c and d is 300 m
BLOCK = """
a---b
|   |
c---d
"""
NO_WAY = 10**9
PLACES = {"a": ("ac", 0.1), "b": ("bd", 0.1), "d": ("cd", 0.9)}


@dataclass(frozen=True)
class Drawn:
    """A drawn map, read, and the places on it."""

    block: Drawing
    road_map: RoadMap
    snaps: dict[str, Snap]


@pytest.fixture
def drawn(tmp_path: Path) -> Drawn:
    block = roads(BLOCK)
    road_map = block.road_map(tmp_path)
    places = {name: block.at(*where) for name, where in PLACES.items()}
    return Drawn(block, road_map, snap_all(road_map, places)[0])


def test_drives_go_round_a_closed_street(drawn: Drawn) -> None:
    """From near a to near b: 10 + 100 + 10 m over ab; round by c and d 90 + 100 + 90 m."""
    block, road_map, snaps = drawn.block, drawn.road_map, drawn.snaps
    area = Area(block.at("ab", 0.5), 20.0)
    assert closed_edges(road_map, area).sum() == 2  # both directions of ab
    plain = compute_matrix(road_map, snaps).drive("a", "b")
    round_ = matrix_around(road_map, snaps, [area], NO_WAY).drive("a", "b")
    assert plain[1] == pytest.approx(120, abs=2)
    assert round_[1] == pytest.approx(280, abs=2)
    assert round_[0] > plain[0]


def test_an_area_without_a_street_changes_nothing(drawn: Drawn) -> None:
    """The middle of the block."""
    block, road_map, snaps = drawn.block, drawn.road_map, drawn.snaps
    middle = Area(Place(lat=block.at("ab", 0.5).lat - 0.00045, lon=block.at("ab", 0.5).lon), 10.0)
    found, plain = matrix_around(road_map, snaps, [middle], NO_WAY), compute_matrix(road_map, snaps)
    assert (found.drive_s == plain.drive_s).all()


def test_a_place_on_a_closed_street_can_be_left_but_not_reached(drawn: Drawn) -> None:
    """Who is inside is let out; nobody is sent in."""
    block, road_map = drawn.block, drawn.road_map
    inside = snap_all(road_map, {"inside": block.at("ab", 0.5)})[0]
    snaps = {**drawn.snaps, **inside}
    found = matrix_around(road_map, snaps, [Area(block.at("ab", 0.5), 20.0)], NO_WAY)
    assert found.drive("d", "inside")[0] == NO_WAY
    assert found.drive("inside", "d")[0] < 3600
