"""The street file, read back with osmium."""

from __future__ import annotations

from collections import Counter, defaultdict

import networkx as nx
import shapely
from shapely.geometry import LineString, Polygon

from tests.sample_region.region_file import RegionFile, directed_graph

UNNAMED = {"service", "motorway_link"}


def test_nodes_ways_and_relations_come_in_turn_with_growing_positive_ids(
    region: RegionFile,
) -> None:
    """Readers that take a file in one pass rely on the usual order."""
    ranks = [("nwr".index(kind), number) for kind, number in region.order]
    assert ranks == sorted(set(ranks))
    assert min(number for _, number in ranks) > 0


def test_there_are_15000_directed_edges_between_crossings(region: RegionFile) -> None:
    """The size the demo promises: ways cut at shared nodes, two-way parts counted twice."""
    uses = Counter(n for nodes, _ in region.streets.values() for n in nodes)
    edges = 0
    for nodes, tags in region.streets.values():
        parts = 1 + sum(uses[n] > 1 for n in nodes[1:-1])
        edges += parts if "oneway" in tags else 2 * parts
    assert 15_000 <= edges <= 22_000


def test_nearly_all_streets_can_be_reached_and_left_again(region: RegionFile) -> None:
    """A site on a street outside the core could not be routed."""
    graph = directed_graph(region)
    core = max(nx.strongly_connected_components(graph), key=len)
    assert len(core) / len(graph) > 0.995


def test_without_its_few_bridges_the_river_parts_the_town(region: RegionFile) -> None:
    """A river matters to routing only if it can be crossed in few places."""
    water = next(w for w in region.ways.values() if w[1].get("water") == "river")
    river = Polygon([region.plane(n) for n in water[0]])
    bridges = {
        number: tags
        for number, (nodes, tags) in region.streets.items()
        if LineString([region.plane(n) for n in nodes]).intersects(river)
    }
    streets = [tags for tags in bridges.values() if tags["highway"] != "motorway"]
    assert all(tags["bridge"] == "yes" for tags in bridges.values())
    assert 3 <= len(streets) <= 7
    graph = nx.Graph()
    for number, (nodes, _) in region.streets.items():
        if number not in bridges:
            nx.add_path(graph, nodes)
    banks = sorted(map(len, nx.connected_components(graph)))[-2:]
    assert min(banks) > 5000


def test_the_motorway_meets_other_streets_by_ramps_only(region: RegionFile) -> None:
    """A shared node would let routes turn off a motorway bridge onto the street below."""
    classes = defaultdict(set)
    for nodes, tags in region.streets.values():
        for n in nodes:
            classes[n].add(tags["highway"])
    met = set().union(*(found for found in classes.values() if "motorway" in found))
    assert met == {"motorway", "motorway_link", "trunk"}
    links = [nodes for nodes, tags in region.streets.values() if tags["highway"] == "motorway_link"]
    assert len(links) >= 12
    for nodes in links:
        ends = classes[nodes[0]] | classes[nodes[-1]]
        assert "motorway" in ends
        assert ends & {"primary", "secondary"}


def test_streets_cross_without_a_common_node_only_at_different_layers(region: RegionFile) -> None:
    """On a drawn map such a crossing looks like one where a driver could turn."""
    numbers = list(region.streets)
    lines = [LineString([region.plane(n) for n in region.streets[k][0]]) for k in numbers]
    first, second = shapely.STRtree(lines).query(lines, predicate="crosses")
    for i, j in zip(first, second, strict=True):
        (nodes, tags), (other_nodes, other_tags) = (region.streets[numbers[k]] for k in (i, j))
        if tags.get("layer") != other_tags.get("layer"):
            continue
        shared = shapely.MultiPoint([region.plane(n) for n in set(nodes) & set(other_nodes)])
        strays = lines[i].intersection(lines[j]).difference(shared.buffer(0.05))
        assert strays.is_empty, (tags, other_tags)


def test_every_street_has_a_name_that_belongs_to_one_place(region: RegionFile) -> None:
    """Two streets of one name would send a technician to the wrong gate."""
    by_name = defaultdict(list)
    for nodes, tags in region.streets.values():
        if tags["highway"] in UNNAMED or "junction" in tags:
            continue
        assert tags["name"]
        by_name[tags["name"]].append((nodes, tags["highway"]))
    local = [ways for ways in by_name.values() if ways[0][1] == "residential"]
    assert len(local) > 1500
    assert all(len(ways) == 1 for ways in local)


def test_turn_rules_stand_at_the_ends_of_their_ways(region: RegionFile) -> None:
    """A rule whose ways do not meet at its node is ignored by readers, so it would say nothing."""
    kinds = Counter(tags["restriction"] for _, tags in region.rules.values())
    assert {"no_left_turn", "no_u_turn", "only_straight_on"} <= set(kinds)
    for members, _ in region.rules.values():
        by_role = {role: number for _, number, role in members}
        for role in ("from", "to"):
            nodes = region.ways[by_role[role]][0]
            assert by_role["via"] in (nodes[0], nodes[-1])


def test_a_forbidden_left_turn_is_one_to_the_left(region: RegionFile) -> None:
    """Driving on the right, it is the left turn that crosses the other traffic."""
    for members, tags in region.rules.values():
        if tags["restriction"] != "no_left_turn":
            continue
        by_role = {role: number for _, number, role in members}
        via = region.plane(by_role["via"])
        arms = []
        for role in ("from", "to"):
            nodes = region.ways[by_role[role]][0]
            beside = nodes[1] if nodes[0] == by_role["via"] else nodes[-2]
            spot = region.plane(beside)
            arms.append((spot[0] - via[0], spot[1] - via[1]))
        (x1, y1), (x2, y2) = arms
        # arriving along -arm 1 and leaving along arm 2: a left turn has a positive cross product
        assert -x1 * y2 + y1 * x2 > 0


def test_the_map_has_what_a_town_has(region: RegionFile) -> None:
    """Each feature exercises a rule of the reader; losing one would leave that rule untried."""
    node_kinds = Counter(
        value
        for tags in region.node_tags.values()
        for key, value in tags.items()
        if key in ("highway", "barrier")
    )
    assert node_kinds["traffic_signals"] > 50
    assert node_kinds["stop"] > 500
    assert node_kinds["turning_circle"] > 300
    assert node_kinds["gate"] >= 3
    ways = [tags for _, tags in region.streets.values()]
    assert {"primary", "secondary", "tertiary", "residential", "service", "motorway"} <= {
        tags["highway"] for tags in ways
    }
    assert sum(tags.get("junction") == "roundabout" for tags in ways) >= 2
    assert sum(tags["highway"] == "residential" and "oneway" in tags for tags in ways) >= 6
    assert sum(tags.get("access") == "private" for tags in ways) >= 5
    assert all(tags["maxspeed"].endswith(" mph") for tags in ways)
    areas = [tags for nodes, tags in region.ways.values() if "highway" not in tags]
    assert {"water", "park", "residential"} <= {v for tags in areas for v in tags.values()}


def test_a_gate_stands_on_private_streets_only(region: RegionFile) -> None:
    """The reader must let technicians through it as a destination, not as a short cut."""
    gates = {n for n, tags in region.node_tags.items() if tags.get("barrier") == "gate"}
    for nodes, tags in region.streets.values():
        if gates & set(nodes):
            assert tags.get("access") == "private"
