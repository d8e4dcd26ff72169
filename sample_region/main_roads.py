"""Main roads: their class, speed, name and crossings, drawn on the sheet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from shapely.geometry import LineString
from shapely.geometry import Point as Spot

from sample_region.frame import Frame, FrameEdge
from sample_region.names import Namer
from sample_region.plane import Point
from sample_region.sheet import Sheet, Tags
from sample_region.strokes import Piece, Stroke, strokes_of
from sample_region.terrain import Terrain

PRIMARY_M = 2900.0  # roads at least this long are primary, metres
SECONDARY_M = 1500.0  # and these secondary; the rest are tertiary
CENTRE_M = 1100.0  # radius within which speeds are those of a town centre, metres
ROUNDABOUT_M = 19.0  # radius of a roundabout, metres
ROUNDABOUTS = 3
DOORS_APART_M = 46.0  # least distance of a side street from a crossing or another one, metres
DOOR_SHIFT_M = 38.0  # a street facing one on the other side is led to it within, metres

_SPEEDS = {  # mph outside and inside the centre; common practice in towns of the United States
    "primary": (45, 30),
    "secondary": (40, 30),
    "tertiary": (35, 25),
}
_LANES = {"primary": "4", "secondary": "4", "tertiary": "2"}


@dataclass(frozen=True, slots=True)
class RoadClass:
    """Class and name of a frame edge."""

    highway: str
    name: str


@dataclass(frozen=True, slots=True)
class DrawnRoads:
    """Main roads on the sheet.

    The nodes of the frame's crossings (roundabouts have none), and the way and class of each edge.
    """

    crossings: dict[int, int]
    ways: tuple[int, ...]
    classes: tuple[RoadClass, ...]


def classes_of(frame: Frame, namer: Namer) -> list[RoadClass]:
    """Class and name of each edge: long straight-on roads are primary, short ones tertiary."""
    pieces = [
        Piece(e.a, e.b, tuple(e.line), "bank" if e.bank else "rim" if e.rim else "")
        for e in frame.edges
    ]
    classes: dict[int, RoadClass] = {}
    for stroke in strokes_of(pieces, math.radians(42)):
        highway = _class_of(stroke, frame.edges)
        name = namer.name("collector" if highway == "tertiary" else "main")
        for number, _ in stroke.parts:
            classes[number] = RoadClass(highway, name)
    return [classes[n] for n in range(len(frame.edges))]


def _class_of(stroke: Stroke, edges: Sequence[FrameEdge]) -> str:
    parts = [edges[n] for n, _ in stroke.parts]
    length_m = sum(e.length_m for e in parts)
    if parts[0].bank or parts[0].rim:
        return "tertiary"
    if length_m >= PRIMARY_M:
        return "primary"
    return "secondary" if length_m >= SECONDARY_M or any(e.crosses for e in parts) else "tertiary"


def open_door(sheet: Sheet, edge: FrameEdge, place: Point) -> int | None:
    """A node on the edge for a side street that reaches it at `place`, None where none fits.

    A street facing an opening on the other side is led to the same node.
    """
    line = LineString(edge.line)
    along_m = float(line.project(Spot(place)))
    for door_m, node in edge.doors:
        if abs(door_m - along_m) <= DOOR_SHIFT_M:
            return node
    margins = [along_m, line.length - along_m, *(abs(m - along_m) for m, _ in edge.doors)]
    if edge.crosses or min(margins) < DOORS_APART_M:
        return None
    spot = line.interpolate(along_m)
    node = sheet.add_node((spot.x, spot.y))
    edge.doors.append((along_m, node))
    return node


def draw_main_roads(
    sheet: Sheet, frame: Frame, classes: Sequence[RoadClass], terrain: Terrain, rng: Random
) -> DrawnRoads:
    """Draw all edges, with their doors, and roundabouts at a few crossings of tertiary roads."""
    rings = _roundabouts(frame, classes, rng)
    used = {n for e in frame.edges for n in (e.a, e.b)} - rings
    crossings = {n: sheet.add_node(frame.crossings[n]) for n in sorted(used)}
    ring_nodes: dict[int, list[int]] = {n: [] for n in rings}
    ways = []
    for edge, road in zip(frame.edges, classes, strict=True):
        nodes = _edge_nodes(sheet, edge, crossings, ring_nodes)
        ways.append(sheet.add_way(nodes, _tags(edge, road, terrain)))
    for n in sorted(rings):
        _draw_ring(sheet, frame.crossings[n], ring_nodes[n])
    return DrawnRoads(crossings, tuple(ways), tuple(classes))


def _roundabouts(frame: Frame, classes: Sequence[RoadClass], rng: Random) -> set[int]:
    at: dict[int, list[int]] = {}
    for number, edge in enumerate(frame.edges):
        for n in (edge.a, edge.b):
            at.setdefault(n, []).append(number)
    fit = [
        n
        for n, numbers in sorted(at.items())
        if len(numbers) in (3, 4)
        and all(classes[m].highway == "tertiary" and not frame.edges[m].bank for m in numbers)
    ]
    return set(rng.sample(fit, min(ROUNDABOUTS, len(fit))))


def _edge_nodes(
    sheet: Sheet, edge: FrameEdge, crossings: dict[int, int], rings: dict[int, list[int]]
) -> list[int]:
    """The nodes of an edge in order: crossing or ring, shape and doors, crossing or ring."""
    line = LineString(edge.line)
    stops: list[tuple[float, int | Point]] = list(edge.doors)
    along = 0.0
    for a, b in zip(edge.line, edge.line[1:-1], strict=False):
        along += math.dist(a, b)
        stops.append((along, b))
    trims = [ROUNDABOUT_M if n in rings else 0.0 for n in (edge.a, edge.b)]
    inner = [
        item if isinstance(item, int) else sheet.add_node(item)
        for m, item in sorted(stops, key=lambda stop: stop[0])
        if trims[0] + 4 < m < line.length - trims[1] - 4
    ]
    ends = []
    for n, m in ((edge.a, trims[0]), (edge.b, line.length - trims[1])):
        if n in rings:
            spot = line.interpolate(m)
            rings[n].append(sheet.add_node((spot.x, spot.y)))
            ends.append(rings[n][-1])
        else:
            ends.append(crossings[n])
    return [ends[0], *inner, ends[1]]


def _draw_ring(sheet: Sheet, middle: Point, arms: Sequence[int]) -> None:
    """A roundabout, driven counter-clockwise as traffic keeps to the right."""

    def turn(p: Point) -> float:
        return math.atan2(p[1] - middle[1], p[0] - middle[0])

    at = sorted((turn(sheet.points[n]), n) for n in arms)
    nodes: list[int] = []
    for (start, node), (stop, _) in zip(at, [*at[1:], at[0]], strict=True):
        span = (stop - start) % math.tau
        parts = max(1, round(span / 0.5))
        nodes.append(node)
        for k in range(1, parts):
            angle = start + span * k / parts
            east, north = ROUNDABOUT_M * math.cos(angle), ROUNDABOUT_M * math.sin(angle)
            nodes.append(sheet.add_node((middle[0] + east, middle[1] + north)))
    tags = {"highway": "tertiary", "junction": "roundabout", "oneway": "yes", "maxspeed": "20 mph"}
    sheet.add_way([*nodes, nodes[0]], tags)


def _tags(edge: FrameEdge, road: RoadClass, terrain: Terrain) -> Tags:
    middle = edge.line[len(edge.line) // 2]
    central = math.dist(middle, terrain.centre) < CENTRE_M
    tags = {
        "highway": road.highway,
        "name": road.name,
        "maxspeed": f"{_SPEEDS[road.highway][central]} mph",
        "lanes": _LANES[road.highway],
        "surface": "asphalt",
    }
    if edge.crosses:
        tags |= {"bridge": "yes", "layer": "1"}
    return tags
