"""Places on streets."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely

from dispatch.drive.graph import RoadMap
from dispatch.drive.snap import OFF_STREET_LIMIT_M, Snap, snap_all
from dispatch.errors import InvalidValue
from dispatch.measures import measured
from dispatch.places import Place, straight_line_m
from tests.drive.drawing import Drawing, roads

HALF_AS_WIDE = (0.4975, 1.0)  # a degree east over a degree north at 60.17°: its cosine
SQUARE = """
a---b
|   |
d---c
"""


def snapped(drawing: Drawing, place: Place, folder: Path) -> Snap:
    snaps, problems = snap_all(drawing.road_map(folder), {"site:S1": place})
    assert not problems
    return snaps["site:S1"]


def problem(drawing: Drawing, place: Place, folder: Path) -> str:
    snaps, problems = snap_all(drawing.road_map(folder), {"site:S1": place})
    assert not snaps
    return problems["site:S1"]


def test_a_place_is_put_at_its_own_point_of_the_street(tmp_path: Path) -> None:
    """30 m along a street of 100 m and 20 m off it: share 0.3, detour 20 m, and no crossing."""
    square = roads(SQUARE)
    snap = snapped(square, square.at("ab", 0.3, off_m=20), tmp_path)
    assert snap.street == "ab street"
    assert snap.fraction == pytest.approx(0.3, abs=1e-3)
    assert snap.detour_m == pytest.approx(20, abs=0.1)
    gate = square.at("ab", 0.3)
    assert straight_line_m(gate, Place(lat=snap.lat, lon=snap.lon)) < 0.05


def test_the_share_is_counted_along_the_edge_that_is_named(helsinki: RoadMap) -> None:
    """The middle of an edge on which trucks stop comes back as the middle of it or of its twin."""
    middles = {}
    for edge in np.flatnonzero(helsinki.stopping)[::10].tolist():
        line = shapely.LineString(helsinki.line(edge) * HALF_AS_WIDE)
        point = line.interpolate(0.5, normalized=True)
        middles[str(edge)] = Place(lat=point.y, lon=point.x / HALF_AS_WIDE[0])
    snaps, _ = snap_all(helsinki, middles)
    on_own = [
        snap
        for name, snap in snaps.items()
        if int(name) in (snap.edge, int(helsinki.twin[snap.edge]))
    ]
    assert len(on_own) > 0.9 * len(snaps)  # where two streets share a line, either may be named
    assert all(snap.fraction == pytest.approx(0.5, abs=0.01) for snap in on_own)


def test_nearest_is_the_nearest_by_brute_force(helsinki: RoadMap) -> None:
    """The tree must find what trying every street finds."""
    south, west, north, east = helsinki.summary.bounds
    place = Place(lat=0.4 * south + 0.6 * north, lon=0.7 * west + 0.3 * east)
    least_m = min(
        straight_line_m(place, Place(lat=lat, lon=lon))
        for edge in range(len(helsinki.tail))
        if helsinki.stopping[edge]
        for lon, lat in [_foot(helsinki, edge, place)]
    )
    snap = snap_all(helsinki, {"p": place})[0]["p"]
    assert snap.detour_m == pytest.approx(least_m, abs=0.2)


def _foot(road_map: RoadMap, edge: int, place: Place) -> tuple[float, float]:
    """Return the nearest point of an edge, lon and lat."""
    wide, _ = HALF_AS_WIDE
    line = shapely.LineString(road_map.line(edge) * HALF_AS_WIDE)
    point = line.interpolate(line.project(shapely.Point(place.lon * wide, place.lat)))
    return point.x / wide, point.y


def test_nobody_is_served_from_a_motorway(tmp_path: Path) -> None:
    """The street behind the noise wall is farther, and right."""
    drawing = roads("""
a---b
|   |
d---c
""")
    for street in drawing.streets:
        drawing.streets[street]["oneway"] = "no"
    drawing.streets["ab"]["highway"] = "motorway"
    snap = snapped(drawing, drawing.at("ab", 0.5, off_m=10), tmp_path)
    assert snap.street != "ab street"


def test_a_place_on_an_island_is_told_with_the_street_of_the_island(tmp_path: Path) -> None:
    """A street that touches no other cannot be driven to, however near it is."""
    two = roads("""
a---b...............p---q
|   |...................
d---c...................
""")
    words = measured(problem(two, two.at("pq", 0.5, off_m=10), tmp_path))
    assert words == (
        "Site S1 at 0.00009, 0.00495 is 10 m from pq street, which no drive can both reach and "
        "leave: it lies on an island or is cut off at the edge of the map. The nearest street of "
        "the network is ab street, 450 m away. Correct the place, or build the map from an extract "
        "of a larger area."
    )


def test_a_street_that_only_leads_away_is_no_place_to_serve(tmp_path: Path) -> None:
    """A one-way street out of the map: whoever goes there never comes back."""
    drawing = roads("""
a---b>>>>>>>>>>>>>>>>>>>>>>>>>>>p
|   |
d---c
""")
    assert "no drive can both reach and leave" in problem(drawing, drawing.points["p"], tmp_path)


def test_a_place_far_off_is_told_with_distance_and_street(tmp_path: Path) -> None:
    """The limit is 300 m; this one lies 400 m beyond the corner of a 100 m square."""
    square = roads(SQUARE)
    place = square.at("ab", 0.5, off_m=OFF_STREET_LIMIT_M + 100)
    words = measured(problem(square, place, tmp_path))
    assert "is 400 m from the nearest street, ab street; more than 300 m is too far" in words
    assert "outside the street map, which covers latitude" in words


def test_a_place_far_off_within_the_map_is_not_told_to_be_outside(tmp_path: Path) -> None:
    """In the middle of a block of 1 km the map is right and the place is wrong."""
    wide = roads("a" + "-" * 39 + "b\n" + ("|" + " " * 39 + "|\n") * 19 + "c" + "-" * 39 + "d")
    words = measured(problem(wide, Place(lat=-0.0045, lon=0.0045), tmp_path))
    assert "Correct its latitude and longitude, or give the place of its gate" in words


def test_swapped_coordinates_are_recognised(helsinki: RoadMap) -> None:
    """60 north 25 east is Helsinki; 25 north 60 east is the sea."""
    south, west, _, _ = helsinki.summary.bounds
    _, problems = snap_all(helsinki, {"start:T1": Place(lat=west + 0.01, lon=south + 0.01)})
    assert problems["start:T1"].startswith("The start of T1 at 24.9")
    assert "Swap latitude and longitude" in problems["start:T1"]


def test_no_places_give_no_snaps(helsinki: RoadMap) -> None:
    """A company begins without sites."""
    assert snap_all(helsinki, {}) == ({}, {})


def test_an_impossible_share_is_refused() -> None:
    """A share beyond the end is another edge."""
    with pytest.raises(InvalidValue, match=r"fraction 1\.2"):
        Snap(0, 1.2, 0.0, "Oak Street", 0.0, 0.0)
