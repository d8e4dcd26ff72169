"""Which streets are driven on."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import osmnx

from dispatch.drive.compact import edges_of
from dispatch.drive.osm import read_streets
from dispatch.drive.osmnx_graph import graph_of
from dispatch.drive.settle import strong_core
from tests.drive.drawing import roads


def test_the_core_is_the_one_osmnx_finds(helsinki_file: Path) -> None:
    """By the junctions' own numbers, on a clipped town with many loose ends."""
    extract = read_streets(helsinki_file)
    edges = edges_of(extract)
    core = strong_core(edges.tail, edges.head)
    theirs = osmnx.truncate.largest_component(graph_of(extract), strongly=True)
    ours = set(extract.node_id[edges.tail[core]].tolist())
    assert ours == set(theirs.nodes)
    assert int(core.sum()) == theirs.number_of_edges()
    assert int((~core).sum()) > 0


def test_of_two_parts_of_one_size_the_first_is_the_core() -> None:
    """The same map must give the same core on every run."""
    tail, head = np.array([4, 5, 0, 1]), np.array([5, 4, 1, 0])
    assert strong_core(tail, head).tolist() == [False, False, True, True]


def test_a_street_kept_only_in_one_manner_of_coming_to_it_is_kept(tmp_path: Path) -> None:
    """By ab alone one comes to bc, and that binds; bc is still a street to stop on."""
    drawing = roads("""
a>>>b>>>c>>>d
^   .   |   |
|   .   f---g
e<<<<<<<h---i
""")
    drawing.streets["fh"] = {"highway": "residential", "name": "fh street"}
    drawing.rules = [("no_right_turn", "ab", "bc", "cf")]
    road_map = drawing.road_map(tmp_path)
    bc = [edge for edge in range(len(road_map.tail)) if road_map.street(edge) == "bc street"]
    assert len(bc) == 1
    assert road_map.copy_of.tolist() == bc
    into = road_map.turn_target[np.isin(road_map.turn_source, np.arange(len(road_map.tail)))]
    assert bc[0] not in into.tolist()
