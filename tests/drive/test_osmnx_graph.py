"""GraphML out and in, and graphs that OSMnx made itself."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import osmnx
import pytest

from dispatch.drive.build import build_road_map
from dispatch.drive.compact import compact
from dispatch.drive.edge_times import drive_seconds
from dispatch.drive.extract import Extract, load_extract, save_extract
from dispatch.drive.osm import read_streets
from dispatch.drive.osmnx_graph import extract_of, graph_of, read_graphml, save_graphml
from dispatch.drive.speeds import SpeedModel, add_travel_times
from dispatch.errors import MapError, UnreadableMap
from tests.drive.drawing import Drawing, roads


def full_drawing() -> Drawing:
    """Return a map with something of everything."""
    drawing = roads("""
a---b---c---d
|   |   |   |
e>>>f---g---h
""")
    drawing.streets["bf"] |= {"highway": "primary", "maxspeed": "30 mph", "surface": "gravel"}
    drawing.streets["cg"] |= {"access": "private"}
    drawing.point_tags["b"] = {"highway": "traffic_signals"}
    drawing.point_tags["g"] = {"barrier": "gate", "access": "private"}
    drawing.rules = [("no_left_turn", "ab", "b", "bf"), ("no_right_turn", "ab", "bc", "cg")]
    drawing.houses = [("12", "Oak Street", "Millbrook", drawing.points["h"])]
    return drawing


def same(a: Extract, b: Extract) -> bool:
    maps = [compact(one, SpeedModel(), "same") for one in (a, b)]
    assert maps[0].summary == maps[1].summary
    assert maps[0].addresses == maps[1].addresses
    return maps[0].digest == maps[1].digest


def test_a_map_comes_back_the_same_from_graphml(tmp_path: Path) -> None:
    """Times, turns, rules by way of streets, gates and addresses: the digest covers them."""
    extract = read_streets(full_drawing().write(tmp_path))
    save_graphml(extract, tmp_path / "map.graphml")
    assert same(extract, read_graphml(tmp_path / "map.graphml"))


def test_helsinki_comes_back_the_same_from_graphml(helsinki_file: Path, tmp_path: Path) -> None:
    """A real town has what nobody thinks of."""
    extract = read_streets(helsinki_file)
    save_graphml(extract, tmp_path / "map.graphml")
    again = read_graphml(tmp_path / "map.graphml")
    maps = [compact(one, SpeedModel(), "same") for one in (extract, again)]
    assert np.array_equal(maps[0].drive_ms, maps[1].drive_ms)
    assert np.array_equal(maps[0].turn_target, maps[1].turn_target)
    assert maps[0].addresses == maps[1].addresses


def test_osmnx_reads_what_is_exported(tmp_path: Path) -> None:
    """The file is for its users too."""
    save_graphml(read_streets(full_drawing().write(tmp_path)), tmp_path / "map.graphml")
    graph = osmnx.load_graphml(tmp_path / "map.graphml")
    assert sorted(graph.nodes) == list(range(1, 9))
    assert osmnx.shortest_path(graph, 1, 8, weight="length") is not None
    assert graph.edges[1, 2, 0]["name"] == "ab street"


@pytest.mark.parametrize("simplify", [False, True])
def test_a_graph_that_osmnx_made_is_built_from(simplify: bool, tmp_path: Path) -> None:
    """Simplified graphs join ways and have lists for values. Seven streets of 100 m and a bend."""
    drawing = roads("""
a---b---c
|   |   |
d>>>e---f
""")
    drawing.streets["abc"] = {"highway": "secondary", "name": "Long Street", "maxspeed": "50"}
    del drawing.streets["ab"], drawing.streets["bc"]
    graph = osmnx.graph_from_xml(drawing.write(tmp_path), simplify=simplify, retain_all=True)
    file = tmp_path / "theirs.graphml"
    osmnx.save_graphml(graph, file)
    road_map = build_road_map(file, tmp_path / "map")
    assert road_map.summary.street_km == 0.7
    assert {"be street", "de street"} <= set(road_map.names)


def test_ways_that_no_truck_drives_are_left_out_of_a_graph_too(tmp_path: Path) -> None:
    """Graphs may have been made for walking."""
    drawing = roads("a---b---c")
    drawing.streets["bc"]["highway"] = "footway"
    graph = osmnx.graph_from_xml(drawing.write(tmp_path), simplify=False, retain_all=True)
    assert extract_of(graph).way.tolist() == [100]


def test_something_else_behind_the_ending_is_told(tmp_path: Path) -> None:
    """And a file that is missing, and one that cannot be written."""
    file = tmp_path / "map.graphml"
    with pytest.raises(UnreadableMap, match="There is no file"):
        read_graphml(file)
    for text in ("id,name\n", "<graphml>", "<html></html>", ""):
        file.write_text(text)
        with pytest.raises(UnreadableMap, match="cannot be read as a GraphML file"):
            read_graphml(file)
    extract = read_streets(full_drawing().write(tmp_path))
    with pytest.raises(MapError, match="cannot be written"):
        save_graphml(extract, file / "below.graphml")


def test_an_extract_comes_back_the_same_from_its_file(tmp_path: Path) -> None:
    """It is kept beside the map."""
    extract = read_streets(full_drawing().write(tmp_path))
    save_extract(extract, tmp_path / "streets.npz")
    again = load_extract(tmp_path / "streets.npz")
    assert same(extract, again)
    assert (again.streets, again.way_rules) == (extract.streets, extract.way_rules)


def test_times_by_kind_are_those_of_osmnx_on_every_edge(helsinki_file: Path) -> None:
    """OSMnx is asked once for each kind of edge; asked for each edge it says the same."""
    extract = read_streets(helsinki_file)
    timed = add_travel_times(graph_of(extract), SpeedModel())
    forward, backward = extract.directions
    for way, against in ((forward, False), (backward, True)):
        piece = np.flatnonzero(way)
        ours = drive_seconds(extract, piece, np.full(len(piece), against), SpeedModel())
        for p, seconds in zip(piece.tolist(), ours.tolist(), strict=True):
            ends = [int(extract.node_id[end[p]]) for end in (extract.tail, extract.head)]
            edges = timed[ends[against]][ends[not against]].values()
            assert seconds in [pytest.approx(e["travel_time"]) for e in edges if e["piece"] == p]
