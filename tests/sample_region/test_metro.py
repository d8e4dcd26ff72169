"""The metropolitan area, read back with osmium."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from pathlib import Path

import networkx as nx
import pytest

from sample_region.metro import write_metro
from tests.sample_region.region_file import RegionFile, directed_graph, read_region

JUNCTIONS = 4000


@pytest.fixture(scope="module")
def metro(tmp_path_factory: pytest.TempPathFactory) -> RegionFile:
    file = tmp_path_factory.mktemp("metro") / "metro.osm.pbf"
    write_metro(file, JUNCTIONS)
    return read_region(file)


def junctions_of(region: RegionFile) -> int:
    """Count the points where streets fork, cross or end."""
    arms: Counter[int] = Counter()
    for nodes, _ in region.streets.values():
        for a, b in pairwise(nodes):
            arms.update((a, b))
    return sum(count != 2 for count in arms.values())


def test_there_are_about_as_many_junctions_as_asked_for(metro: RegionFile) -> None:
    """Measurements speak of sizes."""
    assert junctions_of(metro) == pytest.approx(JUNCTIONS, rel=0.2)


def test_the_same_size_gives_the_same_bytes(tmp_path: Path) -> None:
    """Measurements are repeated on other machines."""
    files = [tmp_path / name for name in ("a.osm.pbf", "b.osm.pbf")]
    for file in files:
        write_metro(file, 600)
    assert files[0].read_bytes() == files[1].read_bytes()


def test_it_has_what_a_metropolitan_area_has(metro: RegionFile) -> None:
    """Each feature exercises a rule of the reader at scale."""
    classes = Counter(tags["highway"] for _, tags in metro.streets.values())
    assert set(classes) == {
        *("motorway", "motorway_link", "primary", "secondary", "tertiary", "residential")
    }
    ways = [tags for _, tags in metro.streets.values()]
    assert {"yes", "-1"} <= {tags.get("oneway", "") for tags in ways}
    assert sum(tags.get("access") == "private" for tags in ways) > 3
    assert sum("surface" in tags for tags in ways) > 50
    points = Counter(
        tags.get("highway") or tags.get("barrier") for tags in metro.node_tags.values()
    )
    assert points["traffic_signals"] > 30
    assert points["stop"] > 300
    assert points["gate"] > 3
    assert sum("addr:housenumber" in tags for tags in metro.node_tags.values()) > 2000


def test_turn_rules_join_their_streets(metro: RegionFile) -> None:
    """A rule whose ways do not meet would be passed over; some lead by way of a bridge."""
    kinds = Counter(members[1][0] for members, _ in metro.rules.values())
    assert kinds["n"] > 10
    assert kinds["w"] >= 8
    for members, _ in metro.rules.values():
        by_role = {role: number for _, number, role in members}
        ends = [{metro.ways[by_role[role]][0][n] for n in (0, -1)} for role in ("from", "to")]
        via = by_role["via"]
        if members[1][0] == "n":
            assert all(via in one for one in ends)
        else:
            bridge = {metro.ways[via][0][n] for n in (0, -1)}
            assert all(one & bridge for one in ends)


def test_nearly_all_of_it_can_be_reached_and_left(metro: RegionFile) -> None:
    """Thinned streets still hang together."""
    graph = directed_graph(metro)
    core = max(nx.strongly_connected_components(graph), key=len)
    assert len(core) / len(graph) > 0.99


def test_motorways_meet_other_streets_by_ramps_only(metro: RegionFile) -> None:
    """They cross everything else on bridges."""
    classes: dict[int, set[str]] = {}
    for nodes, tags in metro.streets.values():
        for node in nodes:
            classes.setdefault(node, set()).add(tags["highway"])
    met = set().union(*(found for found in classes.values() if "motorway" in found))
    assert met == {"motorway", "motorway_link"}
