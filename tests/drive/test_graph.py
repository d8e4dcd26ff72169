"""Building, storing and loading the road map."""

from __future__ import annotations

from pathlib import Path

import networkx as nx
import numpy as np
import pytest

from dispatch.drive.build import STREETS_FILE, build_road_map
from dispatch.drive.graph import (
    BASEMAP_FILE,
    ROADS_FILE,
    RoadMap,
    arrays_of,
    digest_of,
    load_road_map,
    save_road_map,
)
from dispatch.drive.speeds import SpeedModel
from dispatch.errors import NoMap, NoStreets, UnreadableMap
from tests.drive.drawing import roads

SQUARE = """
a---b
|   |
d---c
"""


def test_a_stored_map_comes_back_the_same(helsinki: RoadMap, tmp_path: Path) -> None:
    """Every array, name and address survives, and so does the digest."""
    save_road_map(helsinki, tmp_path / ROADS_FILE)
    again = load_road_map(tmp_path)
    for name, array in arrays_of(helsinki).items():
        assert np.array_equal(array, getattr(again, name))
    assert (again.names, again.addresses) == (helsinki.names, helsinki.addresses)
    assert again.summary == helsinki.summary
    assert again.digest == digest_of(arrays_of(again)) == helsinki.digest


def test_every_edge_reaches_every_edge(helsinki: RoadMap) -> None:
    """Reference: strongly connected parts by NetworkX over the allowed turns."""
    graph = nx.DiGraph(zip(helsinki.turn_source, helsinki.turn_target, strict=True))
    assert graph.number_of_nodes() == helsinki.summary.edges
    assert nx.is_strongly_connected(graph)


def test_the_map_changes_its_digest_with_a_speed(tmp_path: Path) -> None:
    """Matrices of the old speeds must not be used any more."""
    square = roads(SQUARE)
    for tags in square.streets.values():
        del tags["maxspeed"]
    one = square.road_map(tmp_path, SpeedModel(class_kmh={"residential": 40}))
    same = square.road_map(tmp_path, SpeedModel(class_kmh={"residential": 40}))
    other = square.road_map(tmp_path, SpeedModel(class_kmh={"residential": 41}))
    assert one.digest == same.digest != other.digest


def test_the_summary_counts_a_two_way_street_once(tmp_path: Path) -> None:
    """Four streets of 100 m, eight directed edges."""
    summary = roads(SQUARE).road_map(tmp_path).summary
    assert (summary.nodes, summary.edges, summary.street_km) == (4, 8, 0.4)
    assert summary.bounds == pytest.approx((-100 / 111_195, 0, 0, 100 / 111_195), abs=1e-6)


def test_both_directions_of_a_ring_are_kept(tmp_path: Path) -> None:
    """Without a turn about, whoever goes round a ring one way never goes round the other."""
    road_map = roads(SQUARE).road_map(tmp_path)
    assert len(road_map.tail) == 8
    assert (road_map.twin >= 0).all()


def test_a_build_tells_its_stages(tmp_path: Path) -> None:
    """A large map takes a minute; whoever waits sees what is done."""
    stages: list[str] = []
    build_road_map(roads(SQUARE).write(tmp_path), tmp_path / "map", stages.append)
    assert stages == [
        "Reading drawn.osm",
        "Cutting 4 streets at their junctions",
        "Speeds and turns for 4 pieces of street",
        "Drawing the map",
        "Storing the road map",
        "Putting the new map in place",
    ]


@pytest.mark.parametrize("stage", ["Reading", "Cutting", "Speeds", "Drawing", "Storing"])
def test_a_stopped_build_leaves_the_old_map(stage: str, tmp_path: Path) -> None:
    """Stopping is an exception from the progress call, at any stage."""
    folder = tmp_path / "map"
    old = build_road_map(roads(SQUARE).write(tmp_path), folder)
    before = {file.name: file.read_bytes() for file in folder.iterdir()}

    def stop(words: str) -> None:
        if words.startswith(stage):
            raise KeyboardInterrupt

    new = roads("a---b---c").write(tmp_path)
    with pytest.raises(KeyboardInterrupt):
        build_road_map(new, folder, stop)
    assert {file.name: file.read_bytes() for file in folder.iterdir()} == before
    assert load_road_map(folder).digest == old.digest


def test_a_failed_build_leaves_the_old_map(helsinki_file: Path, tmp_path: Path) -> None:
    """A broken download must not cost the map that works."""
    folder = tmp_path / "map"
    old = build_road_map(roads(SQUARE).write(tmp_path), folder)
    short = tmp_path / "short.osm.pbf"
    short.write_bytes(helsinki_file.read_bytes()[:400_000])
    with pytest.raises(UnreadableMap):
        build_road_map(short, folder)
    assert load_road_map(folder).digest == old.digest
    assert {file.name for file in folder.iterdir()} == {ROADS_FILE, STREETS_FILE, BASEMAP_FILE}


def test_a_missing_map_tells_how_to_build_one(tmp_path: Path) -> None:
    """The first thing that a newcomer meets."""
    with pytest.raises(NoMap, match="build one") as told:
        load_road_map(tmp_path)
    assert told.value.command == "dispatch map build FILE.osm.pbf"


def test_a_damaged_map_is_told(helsinki_folder: Path, tmp_path: Path) -> None:
    """Half a file, and a file with a changed byte."""
    whole = (helsinki_folder / ROADS_FILE).read_bytes()
    flipped = bytearray(whole)
    flipped[len(whole) // 2] ^= 0xFF
    for damaged in (whole[: len(whole) // 2], bytes(flipped), b"no map at all"):
        (tmp_path / ROADS_FILE).write_bytes(damaged)
        with pytest.raises(UnreadableMap, match="is damaged"):
            load_road_map(tmp_path)


@pytest.mark.parametrize("picture", ["a>>>b", "a>>>b>>>c"])
def test_streets_that_lead_nowhere_and_back_are_no_map(picture: str, tmp_path: Path) -> None:
    """On one-way streets in a row nobody returns."""
    with pytest.raises(NoStreets, match="lead to each other and back"):
        roads(picture).road_map(tmp_path)
