"""Reads a written street file back, with osmium alone and nothing of the generator."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

import networkx as nx
import osmium

Tags = dict[str, str]
Spot = tuple[float, float]
METRES_PER_DEGREE = 111_195.0  # metres; sphere of 6,371,008.8 m


@dataclass
class RegionFile:
    """Nodes, ways and relations by id, in the order of the file."""

    nodes: dict[int, Spot] = field(default_factory=dict)  # (longitude, latitude), degrees
    node_tags: dict[int, Tags] = field(default_factory=dict)
    ways: dict[int, tuple[list[int], Tags]] = field(default_factory=dict)
    rules: dict[int, tuple[list[tuple[str, int, str]], Tags]] = field(default_factory=dict)
    order: list[tuple[str, int]] = field(default_factory=list)

    @property
    def streets(self) -> dict[int, tuple[list[int], Tags]]:
        """The ways that are streets."""
        return {n: way for n, way in self.ways.items() if "highway" in way[1]}

    def plane(self, node: int) -> Spot:
        """A node in metres east and north of 31 north, 130 west."""
        lon, lat = self.nodes[node]
        return (lon + 130.0) * METRES_PER_DEGREE * 0.857167, (lat - 31.0) * METRES_PER_DEGREE


def read_region(file: Path) -> RegionFile:
    """Read the whole file."""
    region = RegionFile()
    for thing in osmium.FileProcessor(str(file)):
        tags = {tag.k: tag.v for tag in thing.tags}
        if isinstance(thing, osmium.osm.Node):
            region.nodes[thing.id] = (thing.location.lon, thing.location.lat)
            region.node_tags[thing.id] = tags
        elif isinstance(thing, osmium.osm.Way):
            region.ways[thing.id] = ([node.ref for node in thing.nodes], tags)
        elif isinstance(thing, osmium.osm.Relation):
            members = [(m.type, m.ref, m.role) for m in thing.members]
            region.rules[thing.id] = (members, tags)
        region.order.append((thing.type_str(), thing.id))
    return region


def directed_graph(region: RegionFile) -> nx.DiGraph:
    """Every step between two neighbouring nodes that a driver may take."""
    graph = nx.DiGraph()
    for nodes, tags in region.streets.values():
        for a, b in pairwise(nodes):
            if tags.get("oneway") != "-1":
                graph.add_edge(a, b)
            if tags.get("oneway", "no") in ("no", "-1"):
                graph.add_edge(b, a)
    return graph
