"""The sheet the town is drawn on: nodes, ways, areas and turn restrictions."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from shapely.geometry import Polygon

from sample_region.plane import Point, between

Tags = dict[str, str]


@dataclass(frozen=True, slots=True)
class Way:
    """A line of nodes, by their place on the sheet, with its tags."""

    nodes: tuple[int, ...]
    tags: Tags


@dataclass(frozen=True, slots=True)
class Restriction:
    """A turn rule: what may or must not follow `from_way` at the node `via` (all sheet places)."""

    rule: str
    from_way: int
    via: int
    to_way: int


@dataclass(frozen=True, slots=True)
class Area:
    """A polygon in metres, with its tags."""

    polygon: Polygon
    tags: Tags


@dataclass(slots=True)
class Sheet:
    """What has been drawn so far; the places of nodes and ways in their lists are their names."""

    points: list[Point] = field(default_factory=list)
    node_tags: dict[int, Tags] = field(default_factory=dict)
    ways: list[Way] = field(default_factory=list)
    restrictions: list[Restriction] = field(default_factory=list)
    areas: list[Area] = field(default_factory=list)

    def add_node(self, point: Point, tags: Mapping[str, str] | None = None) -> int:
        """Draw a node and say where it stands on the sheet."""
        self.points.append(point)
        node = len(self.points) - 1
        if tags:
            self.node_tags[node] = dict(tags)
        return node

    def tag_node(self, node: int, **tags: str) -> None:
        """Add tags to a node."""
        self.node_tags.setdefault(node, {}).update(tags)

    def add_way(self, nodes: Sequence[int], tags: Mapping[str, str]) -> int:
        """Draw a way and say where it stands on the sheet."""
        self.ways.append(Way(tuple(nodes), dict(tags)))
        return len(self.ways) - 1

    def add_line(self, first: int, inner: Sequence[Point], last: int) -> list[int]:
        """Node places of a line between two drawn nodes; the inner points are drawn."""
        return [first, *(self.add_node(point) for point in inner), last]

    def with_node(self, nodes: Sequence[int], at_m: float, tags: Mapping[str, str]) -> list[int]:
        """The line of nodes with one more, `at_m` metres along it (at most its middle)."""
        steps = [math.dist(self.points[a], self.points[b]) for a, b in itertools.pairwise(nodes)]
        left_m = min(at_m, sum(steps) / 2)
        for n, step_m in enumerate(steps):
            if left_m < step_m:
                spot = between(self.points[nodes[n]], self.points[nodes[n + 1]], left_m / step_m)
                return [*nodes[: n + 1], self.add_node(spot, tags), *nodes[n + 1 :]]
            left_m -= step_m
        return list(nodes)
