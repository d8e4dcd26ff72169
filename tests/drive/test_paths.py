"""Lines of legs: along the streets, cut at both ends, as long as the matrix says, and legal."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from dispatch.drive.compact import compact
from dispatch.drive.extract import Extract
from dispatch.drive.graph import RoadMap
from dispatch.drive.matrix import compute_matrix
from dispatch.drive.osm import read_streets
from dispatch.drive.osmnx_graph import graph_of
from dispatch.drive.paths import leg_edges, leg_line
from dispatch.drive.snap import Snap, snap_all
from dispatch.drive.speeds import SpeedModel
from dispatch.places import Place, straight_line_m
from tests.drive.drawing import roads

WayTurn = tuple[int, tuple[float, float], int]  # from way, lon and lat of the point, to way


def length_m(line: list[tuple[float, float]]) -> float:
    points = [Place(lat=lat, lon=lon) for lon, lat in line]
    return sum(straight_line_m(a, b) for a, b in pairwise(points))


def test_a_leg_runs_along_the_streets_from_place_to_place(tmp_path: Path) -> None:
    """From the middle of ab by the corner b to the middle of bc."""
    square = roads("""
a---b
|   |
d---c
""")
    road_map = square.road_map(tmp_path)
    places = {"x": square.at("ab", 0.5, off_m=5), "y": square.at("bc", 0.5)}
    snaps, _ = snap_all(road_map, places)
    line = leg_line(road_map, snaps["x"], snaps["y"])
    corner = square.points["b"]
    expected = [square.at("ab", 0.5), corner, square.at("bc", 0.5)]
    assert len(line) == 3
    for (lon, lat), place in zip(line, expected, strict=True):
        assert straight_line_m(Place(lat=lat, lon=lon), place) < 0.1


def test_a_leg_on_one_street_is_cut_from_it_in_the_direction_driven(tmp_path: Path) -> None:
    """Both ends lie within the edge; backwards the line runs backwards."""
    square = roads("""
a---b
|   |
d---c
""")
    road_map = square.road_map(tmp_path)
    snaps, _ = snap_all(road_map, {"x": square.at("ab", 0.2), "y": square.at("ab", 0.8)})
    there = leg_line(road_map, snaps["x"], snaps["y"])
    back = leg_line(road_map, snaps["y"], snaps["x"])
    assert length_m(there) == pytest.approx(60, abs=0.1)
    assert [point[0] for point in back] == pytest.approx([point[0] for point in there][::-1])


def test_a_leg_from_a_place_to_itself_is_a_line_of_two_equal_points(tmp_path: Path) -> None:
    """A GeoJSON line has at least two positions (RFC 7946, section 3.1.4)."""
    square = roads("a---b")
    road_map = square.road_map(tmp_path)
    snap = snap_all(road_map, {"x": square.at("ab", 0.5)})[0]["x"]
    line = leg_line(road_map, snap, snap)
    assert len(line) == 2
    assert line[0] == line[1]


def test_the_lines_of_a_route_join_at_its_places(
    helsinki: RoadMap, helsinki_places: dict[str, Snap]
) -> None:
    """Each line begins where the one before ended."""
    stops = list(helsinki_places.values())[:10]
    lines = [leg_line(helsinki, start, end) for start, end in pairwise(stops)]
    for before, after, stop in zip(lines, lines[1:], stops[1:], strict=False):
        assert before[-1] == pytest.approx(after[0], abs=1e-7)
        assert before[-1] == pytest.approx((stop.lon, stop.lat), abs=1e-6)


def test_lines_are_as_long_as_the_matrix_says(
    helsinki: RoadMap, helsinki_places: dict[str, Snap]
) -> None:
    """The line shows the way whose time is planned with; decimetres per edge are rounded."""
    matrix = compute_matrix(helsinki, helsinki_places)
    for start, end in pairwise(sorted(helsinki_places)):
        line = leg_line(helsinki, helsinki_places[start], helsinki_places[end])
        assert length_m(line) == pytest.approx(matrix.drive(start, end)[1], abs=3)


def turns_driven(extract: Extract, road_map: RoadMap, snaps: list[Snap]) -> set[WayTurn]:
    """Return every turn from way to way on drives between neighbours of a list of places."""
    way_of = {}
    for _, _, data in graph_of(extract).edges(data=True):
        points = [tuple(point) for point in data["geometry"].coords]
        way_of[points[0], points[1], points[-1]] = data["osmid"]
    turns = set()
    for start, end in pairwise(snaps):
        lines = [road_map.line(edge).tolist() for edge in leg_edges(road_map, start, end)]
        ways = [way_of[tuple(x[0]), tuple(x[1]), tuple(x[-1])] for x in lines]
        for i in range(len(lines) - 1):
            lon, lat = lines[i][-1]
            turns.add((ways[i], (lon, lat), ways[i + 1]))
    return turns


def broken(extract: Extract, turns: set[WayTurn]) -> set[WayTurn]:
    """Return the driven turns that a rule of the map forbids."""
    only: dict[tuple[int, tuple[float, float]], set[int]] = {}
    no = set()
    graph = graph_of(extract)
    read = set(extract.way.tolist())
    for rule in extract.turn_rules:
        if rule.via not in graph or rule.to_way not in read:
            continue  # nobody can be held to a street that no car may enter
        point = (graph.nodes[rule.via]["x"], graph.nodes[rule.via]["y"])
        if rule.only:
            only.setdefault((rule.from_way, point), set()).add(rule.to_way)
        elif rule.from_way != rule.to_way:
            no.add((rule.from_way, point, rule.to_way))
    strayed = {t for t in turns if t[2] not in only.get((t[0], t[1]), {t[2]})}
    return (turns & no) | strayed


def test_no_drive_in_helsinki_takes_a_forbidden_turn(
    helsinki_file: Path, helsinki: RoadMap, helsinki_places: dict[str, Snap]
) -> None:
    """The same drives without turn rules do break some, so that this can fail."""
    extract = read_streets(helsinki_file)
    chain = [*helsinki_places.values()] * 2
    chain = chain[::2] + chain[1::2] + chain[::3] + chain[::5] + chain[::7]
    assert not broken(extract, turns_driven(extract, helsinki, chain))
    lawless = compact(replace(extract, turn_rules=(), way_rules=()), SpeedModel(), "lawless")
    places = {str(i): Place(lat=snap.lat, lon=snap.lon) for i, snap in enumerate(chain)}
    snaps = list(snap_all(lawless, places)[0].values())
    assert broken(extract, turns_driven(extract, lawless, snaps))
