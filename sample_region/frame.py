"""The frame of main roads: what bounds the blocks, and what crosses river and motorway.

Blocks are Voronoi cells around points set out in a turned square pattern per district; so most
are four-sided, and odd shapes arise by themselves where districts meet, as in grown towns.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from random import Random

import shapely
from shapely.geometry import LineString, MultiPoint, Polygon
from shapely.geometry import Point as Spot

from sample_region.plane import Point, resampled, sway, turned
from sample_region.terrain import MOTORWAY_STRIP_M, RIVER_STRIP_M, District, Terrain

HILL_M = 1150.0  # no other block begins nearer to the hill's top, metres
SHORTEST_M = 215.0  # shorter pieces between crossings are drawn together, metres
SHORTEST_BANK_M = 130.0  # the same along river and motorway, metres
BRIDGES_APART_M = 1350.0  # between two bridges over the river, metres
OVERPASSES_APART_M = 800.0  # between two streets over the motorway, metres


@dataclass(slots=True)
class FrameEdge:
    """A main road between two crossings a and b; `doors` are (metre along it, sheet node).

    A bank runs along river or motorway, a rim around the town.
    """

    a: int
    b: int
    line: list[Point]
    crosses: str = ""  # "river", "motorway" or nothing
    bank: bool = False
    rim: bool = False
    doors: list[tuple[float, int]] = field(default_factory=list)

    @property
    def length_m(self) -> float:
        """Length in metres."""
        return float(LineString(self.line).length)


@dataclass(frozen=True, slots=True)
class Frame:
    """Crossings (metres) and the roads between them; blocks are the polygons they bound."""

    crossings: tuple[Point, ...]
    edges: tuple[FrameEdge, ...]
    blocks: tuple[Polygon, ...]


def frame_of(terrain: Terrain) -> Frame:
    """Draw the main roads on the land."""
    rng = Random(terrain.size.seed + 1)
    river = terrain.river.buffer(RIVER_STRIP_M, cap_style="flat")
    motorway = terrain.motorway.buffer(MOTORWAY_STRIP_M, cap_style="flat")
    barrier = river.union(motorway)
    pieces = _cut(_cell_lines(terrain, rng), barrier)
    crossings, edges = _joined(pieces, barrier)
    edges = _without_dead_ends(edges)
    for name in ("river", "motorway"):
        edges += _crossings_of(name, crossings, edges, terrain)
    faces = shapely.polygonize([LineString(e.line) for e in edges]).geoms
    outside = shapely.union_all(faces).boundary
    for edge in edges:
        middle = LineString(edge.line).interpolate(0.5, normalized=True)
        edge.rim = not edge.bank and not edge.crosses and outside.distance(middle) < 1
    inner = barrier.buffer(-8)
    blocks = [f for f in faces if not inner.contains(f.representative_point()) and f.area > 4000]
    return Frame(tuple(crossings), tuple(edges), tuple(blocks))


def _seeds(terrain: Terrain, rng: Random) -> list[Point]:
    """Middle points of the blocks, also of those just outside the town, which shape its rim."""
    wide = terrain.outline.buffer(1400)
    middles = [d.middle for d in terrain.districts]
    seeds: list[Point] = [terrain.hill]
    for number, district in enumerate(terrain.districts):
        for spot in _pattern(district, rng):
            nearest = min(range(len(middles)), key=lambda n: math.dist(spot, middles[n]))
            if nearest != number or not wide.contains(Spot(spot)):
                continue
            if math.dist(spot, terrain.hill) < HILL_M:
                continue
            if all(math.dist(spot, other) > 0.62 * district.block_m for other in seeds):
                seeds.append(spot)
    return seeds


def _pattern(district: District, rng: Random) -> Iterable[Point]:
    """A turned, slightly shaken square pattern of points, metres."""
    reach = math.ceil(3300 / district.block_m)
    for i in range(-reach, reach + 1):
        for j in range(-reach, reach + 1):
            shaken = (
                (i + 0.5 + rng.uniform(-0.06, 0.06)) * district.block_m,
                (j + 0.5 + rng.uniform(-0.06, 0.06)) * district.block_m,
            )
            east, north = turned(shaken, district.angle)
            yield district.middle[0] + east, district.middle[1] + north


def _cell_lines(terrain: Terrain, rng: Random) -> list[list[Point]]:
    """The edges of the blocks inside the outline, short ones drawn together, gently bent."""
    seeds = _seeds(terrain, rng)
    cells = shapely.voronoi_polygons(MultiPoint(seeds)).geoms
    inside = [s for s in seeds if terrain.outline.contains(Spot(s))]
    tree = shapely.STRtree(cells)
    kept = sorted({int(tree.query(Spot(s), predicate="within")[0]) for s in inside})
    borders: set[tuple[Point, Point]] = set()
    for number in kept:
        ring = [(round(x, 2), round(y, 2)) for x, y in cells[number].exterior.coords]
        borders |= {(min(a, b), max(a, b)) for a, b in itertools.pairwise(ring)}
    moved = _drawn_together([(a, b, math.dist(a, b)) for a, b in sorted(borders)], SHORTEST_M)
    straight = {tuple(sorted((moved.get(a, a), moved.get(b, b)))) for a, b in borders}
    phase = rng.uniform(0, 6)
    return [
        [sway(p, phase) for p in resampled([a, b], 45.0)] for a, b in sorted(straight) if a != b
    ]


def _drawn_together(
    edges: Sequence[tuple[Point, Point, float]], shortest_m: float
) -> dict[Point, Point]:
    """New places of points whose edges are too short: the mean of all points joined by such."""
    leader: dict[Point, Point] = {}

    def lead(p: Point) -> Point:
        while leader.get(p, p) != p:
            p = leader[p]
        return p

    for a, b, length_m in edges:
        if length_m < shortest_m:
            first, second = sorted((lead(a), lead(b)))
            leader[second] = first
            leader.setdefault(first, first)
    groups: dict[Point, list[Point]] = {}
    for p in leader:
        groups.setdefault(lead(p), []).append(p)
    mean = {
        k: (sum(x for x, _ in g) / len(g), sum(y for _, y in g) / len(g)) for k, g in groups.items()
    }
    return {p: mean[lead(p)] for p in leader}


def _cut(lines: Sequence[Sequence[Point]], barrier: Polygon) -> list[LineString]:
    """Lines and banks outside the barrier, cut wherever they meet (on a 1 m raster)."""
    drawn = [LineString(line) for line in lines]
    reach = shapely.convex_hull(shapely.union_all(drawn))
    banks = barrier.boundary.simplify(3).intersection(reach)
    noded = shapely.union_all([*drawn, banks], grid_size=1.0)
    inner = barrier.buffer(-3)
    return [
        LineString(piece)
        for piece in shapely.line_merge(noded).geoms
        if not inner.contains(piece.interpolate(0.5, normalized=True))
    ]


def _joined(pieces: Sequence[LineString], barrier: Polygon) -> tuple[list[Point], list[FrameEdge]]:
    """Crossings and edges, pieces too short drawn together."""
    ends = [(piece.coords[0], piece.coords[-1], float(piece.length)) for piece in pieces]
    moved = _drawn_together(ends, SHORTEST_BANK_M)
    places: dict[Point, int] = {}
    edges: list[FrameEdge] = []
    for piece, (start, stop, _) in zip(pieces, ends, strict=True):
        a, b = (moved.get(p, p) for p in (start, stop))
        if a == b:
            continue
        bank = barrier.boundary.distance(piece.interpolate(0.5, normalized=True)) < 6
        numbers = [places.setdefault(p, len(places)) for p in (a, b)]
        edges.append(
            FrameEdge(numbers[0], numbers[1], _refitted(list(piece.coords), a, b), "", bank)
        )
    return list(places), edges


def _refitted(line: list[Point], a: Point, b: Point) -> list[Point]:
    """The line with its ends led to a and b over its outer thirds."""
    length = LineString(line).length
    fitted = []
    for p in resampled(line, max(20.0, length / 24)):
        along = LineString(line).project(Spot(p)) / length
        from_a, from_b = max(0.0, 1 - 3 * along), max(0.0, 3 * along - 2)
        dx = (a[0] - line[0][0]) * from_a + (b[0] - line[-1][0]) * from_b
        dy = (a[1] - line[0][1]) * from_a + (b[1] - line[-1][1]) * from_b
        fitted.append((p[0] + dx, p[1] + dy))
    return [a, *fitted[1:-1], b]


def _crossings_of(
    name: str, places: Sequence[Point], edges: Sequence[FrameEdge], terrain: Terrain
) -> list[FrameEdge]:
    """Short, well-spaced roads over the river or the motorway, from bank to bank."""
    line, other, strip_m, apart_m = (
        (terrain.river, terrain.motorway, RIVER_STRIP_M, BRIDGES_APART_M)
        if name == "river"
        else (terrain.motorway, terrain.river, MOTORWAY_STRIP_M, OVERPASSES_APART_M)
    )
    roads = shapely.STRtree([LineString(e.line) for e in edges])
    degree = Counter(n for e in edges for n in (e.a, e.b))
    ends = [
        n for n in sorted(degree) if degree[n] > 2 and 30 < line.distance(Spot(places[n])) < 170
    ]
    wished = []
    for a, b in itertools.combinations(ends, 2):
        road = LineString([places[a], places[b]])
        if road.length < 3.0 * strip_m and road.crosses(line) and road.distance(other) > 420:
            wished.append((float(road.length), a, b))
    found: list[FrameEdge] = []
    stations: list[float] = []
    for length_m, a, b in sorted(wished):
        road = LineString([places[a], places[b]])
        station = line.project(road.intersection(line).centroid)
        middle = LineString([road.interpolate(2), road.interpolate(length_m - 2)])
        if len(roads.query(middle, predicate="intersects")) == 0 and all(
            abs(station - s) >= apart_m for s in stations
        ):
            stations.append(station)
            found.append(FrameEdge(a, b, [places[a], places[b]], name))
    return found


def _without_dead_ends(edges: list[FrameEdge]) -> list[FrameEdge]:
    """The edges that lead on at both ends."""
    while True:
        degree: dict[int, int] = {}
        for edge in edges:
            for n in (edge.a, edge.b):
                degree[n] = degree.get(n, 0) + 1
        kept = [e for e in edges if degree[e.a] > 1 and degree[e.b] > 1]
        if len(kept) == len(edges):
            return kept
        edges = kept
