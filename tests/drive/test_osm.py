"""Reading extracts, whole, clipped and broken."""

from __future__ import annotations

import bz2
import gzip
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import osmium
import osmnx
import pytest

from dispatch.drive.osm import read_streets
from dispatch.drive.osmnx_graph import graph_of
from dispatch.errors import NoStreets, UnreadableMap
from tests.drive.drawing import roads


def edges_of(graph: object) -> set[tuple[int, int]]:
    return {(u, v) for u, v, _ in graph.edges(keys=True)}  # type: ignore[attr-defined]


def test_graph_equals_the_one_osmnx_reads_itself(tmp_path: Path) -> None:
    """OSMnx's own reader is the reference for directions and lengths."""
    drawing = roads("""
a-->b---c
|   |   ^
d---e---f
""")
    ours = graph_of(read_streets(drawing.write(tmp_path)))
    theirs = osmnx.graph_from_xml(tmp_path / "drawn.osm", simplify=False, retain_all=True)
    assert edges_of(ours) == edges_of(theirs)
    for u, v, length_m in ours.edges(data="length"):
        assert length_m == pytest.approx(
            theirs.edges[u, v, 0]["length"], abs=0.03
        )  # points are kept to 1e-7°


def test_ways_are_cut_where_another_passes(tmp_path: Path) -> None:
    """A point inside two ways is a junction although it ends neither."""
    drawing = roads("""
.   p   .
.   |   .
a---b---c
.   |   .
.   q   .
""")
    drawing.streets = {"abc": {"highway": "residential"}, "pbq": {"highway": "residential"}}
    graph = graph_of(read_streets(drawing.write(tmp_path)))
    assert graph.number_of_nodes() == 5
    assert graph.number_of_edges() == 8


def test_a_bend_is_no_junction(tmp_path: Path) -> None:
    """A point that only shapes one way stays in its line."""
    drawing = roads("a---b---c")
    drawing.streets = {"abc": {"highway": "residential"}}
    graph = graph_of(read_streets(drawing.write(tmp_path)))
    assert edges_of(graph) == {(1, 3), (3, 1)}
    assert len(graph.edges[1, 3, 0]["geometry"].coords) == 3


def test_a_bollard_parts_a_street_and_a_gate_does_not(tmp_path: Path) -> None:
    """A truck turns back at a bollard; a gate it opens."""
    drawing = roads("a---b---c")
    drawing.point_tags["b"] = {"barrier": "gate"}
    assert edges_of(graph_of(read_streets(drawing.write(tmp_path)))) == {
        (1, 2),
        (2, 1),
        (2, 3),
        (3, 2),
    }
    drawing.point_tags["b"] = {"barrier": "bollard"}
    parted = graph_of(read_streets(drawing.write(tmp_path)))
    assert parted.number_of_nodes() == 4
    assert 2 not in parted


def test_a_signal_within_a_street_counts_for_its_direction_only(tmp_path: Path) -> None:
    """Signals stand before the junction, on the lane that they stop."""
    drawing = roads("a---b---c")
    drawing.streets = {"abc": {"highway": "residential"}}
    drawing.point_tags["b"] = {
        "highway": "traffic_signals",
        "traffic_signals:direction": "backward",
    }
    graph = graph_of(read_streets(drawing.write(tmp_path)))
    assert "controls" not in graph.edges[1, 3, 0]
    assert graph.edges[3, 1, 0]["controls"] == ("signals",)


def test_a_signal_at_a_junction_counts_for_those_who_come_to_it(tmp_path: Path) -> None:
    """20 m before c it stops who drives to c; who comes from c waited on the other side of it."""
    drawing = roads("a---b---c")
    drawing.streets = {"abc": {"highway": "residential"}}
    drawing.points["b"] = drawing.at("ac", 0.9)
    drawing.point_tags["b"] = {"highway": "traffic_signals"}
    graph = graph_of(read_streets(drawing.write(tmp_path)))
    assert graph.edges[1, 3, 0]["controls"] == ("signals",)
    assert "controls" not in graph.edges[3, 1, 0]


def test_a_signal_for_walkers_between_junctions_counts_both_ways(tmp_path: Path) -> None:
    """100 m from both ends it belongs to neither."""
    drawing = roads("a---b---c")
    drawing.streets = {"abc": {"highway": "residential"}}
    drawing.point_tags["b"] = {"highway": "traffic_signals"}
    graph = graph_of(read_streets(drawing.write(tmp_path)))
    assert graph.edges[1, 3, 0]["controls"] == graph.edges[3, 1, 0]["controls"] == ("signals",)


def test_a_stop_sign_without_direction_holds_before_the_nearer_junction(tmp_path: Path) -> None:
    """The sign at c, one street short of d, is for those who drive towards d."""
    drawing = roads("a---b---c---d")
    drawing.streets = {"abcd": {"highway": "residential"}}
    drawing.point_tags["c"] = {"highway": "stop"}
    graph = graph_of(read_streets(drawing.write(tmp_path)))
    assert graph.edges[1, 4, 0]["controls"] == ("stop",)
    assert "controls" not in graph.edges[4, 1, 0]


def test_a_clipped_way_keeps_what_lies_inside(tmp_path: Path) -> None:
    """Extracts cut at a border name points that they do not hold."""
    file = roads("a---b---c---d").write(tmp_path)
    text = file.read_text().replace('<nd ref="1"/>', '<nd ref="77"/>')
    file.write_text(text)
    extract = read_streets(file)
    assert edges_of(graph_of(extract)) == {(2, 3), (3, 2), (3, 4), (4, 3)}
    assert extract.left_out == {"points without a place": 1}


def test_addresses_of_points_and_of_building_outlines(tmp_path: Path) -> None:
    """House numbers stand on points or on buildings; a building's place is its middle."""
    drawing = roads("""
a---b
|   |
d---c
""")
    drawing.houses = [("12", "Oak Street", "Millbrook", drawing.points["a"])]
    drawing.streets["abcda"] = {
        "building": "yes",
        "addr:housenumber": "14",
        "addr:street": "Oak Street",
    }
    first, second = read_streets(drawing.write(tmp_path)).addresses
    assert (first.number, first.town) == ("12", "Millbrook")
    assert (second.number, second.street) == ("14", "Oak Street")
    middle = drawing.at("ac", 0.5)
    assert (second.lat, second.lon) == pytest.approx((middle.lat, middle.lon), abs=1e-7)


def test_helsinki_is_read_with_its_turn_rules_and_addresses(helsinki_file: Path) -> None:
    """Counts taken from the extract with osmium alone: 48 rules are by way of one point."""
    extract = read_streets(helsinki_file)
    assert graph_of(extract).number_of_edges() > 1500
    assert len(extract.turn_rules) > 40
    assert {a.town for a in extract.addresses} >= {"Helsinki"}


def test_a_truncated_file_is_told_and_not_taken_for_a_smaller_map(
    helsinki_file: Path, tmp_path: Path
) -> None:
    """Downloads break off."""
    file = tmp_path / "short.osm.pbf"
    file.write_bytes(helsinki_file.read_bytes()[:400_000])
    with pytest.raises(UnreadableMap, match=r"short\.osm\.pbf cannot be read.*download"):
        read_streets(file)


@pytest.mark.parametrize(("ending", "pack"), [("gz", gzip.compress), ("bz2", bz2.compress)])
def test_packed_files_read_like_plain_ones(
    ending: str, pack: Callable[[bytes], bytes], tmp_path: Path
) -> None:
    """Downloads come packed."""
    plain = roads("a---b---c").write(tmp_path)
    packed = tmp_path / f"drawn.osm.{ending}"
    packed.write_bytes(pack(plain.read_bytes()))
    assert edges_of(graph_of(read_streets(packed))) == edges_of(graph_of(read_streets(plain)))


def test_a_truncated_gz_file_is_told(tmp_path: Path) -> None:
    """The unpacked beginning alone looks like a map."""
    whole = gzip.compress(roads("a---b").write(tmp_path).read_bytes())
    file = tmp_path / "short.osm.gz"
    file.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(UnreadableMap, match="cannot be read"):
        read_streets(file)


@pytest.mark.parametrize("name", ["map.osm", "map.osm.gz", "map.osm.bz2", "map.osm.pbf"])
def test_another_kind_of_file_behind_the_ending_is_told(name: str, tmp_path: Path) -> None:
    """People rename files."""
    file = tmp_path / name
    file.write_bytes(b"id,name,address\nS001,Invented,12 Oak Street\n")
    with pytest.raises(UnreadableMap, match="of another kind than its ending says"):
        read_streets(file)


def test_endings_that_can_be_read_are_named(tmp_path: Path) -> None:
    """The mend stands in the message."""
    file = tmp_path / "map.shp"
    file.write_bytes(b"x")
    with pytest.raises(UnreadableMap, match=r"\.osm, \.osm\.gz, \.osm\.bz2, \.osm\.pbf"):
        read_streets(file)


@pytest.mark.parametrize("made", [True, False])
def test_an_empty_or_missing_file_is_told(made: bool, tmp_path: Path) -> None:
    """Neither ends in a traceback of the reader."""
    file = tmp_path / "map.osm"
    if made:
        file.touch()
    with pytest.raises(UnreadableMap, match="is empty" if made else "There is no file"):
        read_streets(file)


def test_a_map_without_streets_is_told(tmp_path: Path) -> None:
    """An extract of footpaths is a map, but none to drive on."""
    drawing = roads("a---b")
    drawing.streets["ab"] = {"highway": "footway"}
    with pytest.raises(NoStreets, match="holds no street that can be driven"):
        read_streets(drawing.write(tmp_path))


def test_streets_without_the_places_of_their_points_are_told(tmp_path: Path) -> None:
    """An export without nodes has streets, but they lie nowhere."""
    file = roads("a---b").write(tmp_path)
    lines = [line for line in file.read_text().split("\n") if not line.startswith("<node")]
    file.write_text("\n".join(lines))
    with pytest.raises(UnreadableMap, match="none of their points has a place"):
        read_streets(file)


def test_helsinki_is_the_graph_that_osmnx_reads_itself(helsinki_file: Path, tmp_path: Path) -> None:
    """Lengths by way and both directions.

    OSMnx reads XML only, needs all points of a way, and knows no access by direction.
    """
    file = tmp_path / "helsinki.osm"
    things: Any = osmium.FileProcessor(str(helsinki_file), osmium.osm.NODE)
    known = {thing.id for thing in things}
    things = osmium.FileProcessor(str(helsinki_file))
    with osmium.SimpleWriter(str(file)) as writer:
        for thing in things:
            if thing.is_node():
                writer.add_node(thing)
            elif (
                thing.is_way()
                and known.issuperset(node.ref for node in thing.nodes)
                and not any("vehicle:" in tag.k for tag in thing.tags)
            ):
                writer.add_way(thing)
    theirs: dict[int, float] = {}
    graph = osmnx.graph_from_xml(file, simplify=False, retain_all=True)
    for _, _, data in graph.edges(data=True):
        theirs[data["osmid"]] = theirs.get(data["osmid"], 0.0) + data["length"]
    extract = read_streets(file)
    ours: dict[int, float] = {}
    for sides in extract.directions:
        for way, length_m in zip(extract.way[sides], extract.length_m[sides], strict=True):
            ours[int(way)] = ours.get(int(way), 0.0) + float(length_m)
    assert len(ours) > 500
    assert ours == {way: pytest.approx(theirs[way], abs=0.01) for way in ours}


def test_swapped_coordinates_are_told(tmp_path: Path) -> None:
    """112 degrees west taken for a latitude lies outside the globe."""
    file = roads("a---b").write(tmp_path)
    file.write_text(re.sub(r'lat="[^"]*"', 'lat="-112.1"', file.read_text()))
    with pytest.raises(UnreadableMap, match="latitude and longitude swapped"):
        read_streets(file)


def test_entities_that_grow_are_refused(tmp_path: Path) -> None:
    """A kilobyte of XML can be made to mean gigabytes."""
    file = tmp_path / "map.osm"
    entities = '<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">'
    file.write_text(f'<!DOCTYPE osm [{entities}]><osm version="0.6"><note>&b;</note></osm>')
    with pytest.raises(UnreadableMap, match="entities are not supported"):
        read_streets(file)


def test_places_of_points_may_come_after_the_streets(tmp_path: Path) -> None:
    """Some programs do not sort what they write."""
    file = roads("a---b---c").write(tmp_path)
    lines = file.read_text().split("\n")
    nodes = [line for line in lines if line.startswith("<node")]
    rest = [line for line in lines if not line.startswith(("<node", "</osm"))]
    unsorted = tmp_path / "unsorted.osm"
    unsorted.write_text("\n".join([*rest, *nodes, "</osm>"]))
    assert read_streets(unsorted).length_m.tolist() == read_streets(file).length_m.tolist()


def test_points_outside_the_box_that_the_file_names_are_told(tmp_path: Path) -> None:
    """Near the equator swapped coordinates are places, too: the drawing lies at 0.00 N, 0.00 E."""
    file = roads("a---b").write(tmp_path)
    text = file.read_text(encoding="utf-8")
    bounds = '<bounds minlat="24.9" minlon="60.1" maxlat="25.0" maxlon="60.2"/>'
    file.write_text(text.replace('version="0.6">', f'version="0.6">{bounds}'), encoding="utf-8")
    with pytest.raises(UnreadableMap, match="none of the 2 points of its streets lies there"):
        read_streets(file)
