"""Which places are within some minutes."""

from __future__ import annotations

from pathlib import Path

import pytest

from dispatch.drive.graph import RoadMap
from dispatch.drive.matrix import compute_matrix
from dispatch.drive.reach import Reached, within
from dispatch.drive.snap import Snap, snap_all
from dispatch.errors import InvalidValue
from tests.drive.drawing import roads


def test_places_within_a_time_come_nearest_first(tmp_path: Path) -> None:
    """100 m take 9 s: y is 50 m away, z 100 m, w 150 m (13.5 s, rounded to 14) and out at 13 s."""
    line = roads("a---b---c")
    road_map = line.road_map(tmp_path)
    spots = {"x": ("ab", 0.5), "z": ("bc", 0.5), "w": ("bc", 1.0), "y": ("ab", 1.0)}
    places = {name: line.at(*spot) for name, spot in spots.items()}
    snaps, _ = snap_all(road_map, places)
    start = snaps.pop("x")
    assert within(road_map, start, snaps, 13) == [Reached("y", 5, 50), Reached("z", 9, 100)]
    assert within(road_map, start, snaps, 14)[-1] == Reached("w", 14, 150)
    assert within(road_map, start, snaps, 0) == []


def test_it_agrees_with_the_matrix_on_helsinki(
    helsinki: RoadMap, helsinki_places: dict[str, Snap]
) -> None:
    """Another search, the same times: from every place, everything within two minutes."""
    matrix = compute_matrix(helsinki, helsinki_places)
    for i, name in enumerate(matrix.ids):
        found = within(helsinki, helsinki_places[name], helsinki_places, 120)
        expected = {
            Reached(other, int(matrix.drive_s[i, j]), int(matrix.drive_m[i, j]))
            for j, other in enumerate(matrix.ids)
            if matrix.drive_s[i, j] <= 120
        }
        assert set(found) == expected
        assert 1 < len(found) < len(matrix.ids)


def test_a_negative_time_is_refused(helsinki: RoadMap, helsinki_places: dict[str, Snap]) -> None:
    """Minutes and seconds are easily mixed up with a sign."""
    with pytest.raises(InvalidValue, match="-5 s"):
        within(helsinki, next(iter(helsinki_places.values())), helsinki_places, -5)
