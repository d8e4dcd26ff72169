"""The local streets inside one block: a bent pattern, thinned to rows, loops and dead ends."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as Spot

from sample_region.plane import Point, turned

HILL_LAP_M = 4776.0  # metres of pattern to one round of the hill
SPINE_M2 = 250_000.0  # larger blocks have a collector through their middle, square metres
DOOR_REACH_M = 150.0  # longest street from a block's inside to the main road, metres


@dataclass(frozen=True, slots=True)
class Style:
    """How a block is laid out; lengths in metres, shares 0 to 1.

    `row_m` lies between rows, `cross_m` between the streets across them; `bend_m` is how far rows
    swing; `rows` and `across` are the shares of streets kept beyond those needed to reach all;
    `open` is the share of streets that go through to the main road.
    """

    name: str
    row_m: float
    cross_m: float
    bend_m: float
    rows: float
    across: float
    open: float
    inset_m: float = 52.0


CENTRE = Style("centre", 96, 104, 5, 1.0, 0.97, 0.95, 40.0)
GRID = Style("grid", 84, 128, 14, 0.95, 0.55, 0.45)
ROWS = Style("rows", 68, 92, 48, 0.8, 0.17, 0.22)
LOOPS = Style("loops", 70, 82, 62, 0.5, 0.2, 0.16)
WIDE = Style("wide", 104, 128, 60, 0.6, 0.2, 0.2)
HILL = Style("hill", 92, 120, 0, 0.75, 0.05, 0.1)


@dataclass(frozen=True, slots=True)
class Link:
    """A street between two points of the block; `row` is its row's number, None if across."""

    a: int
    b: int
    line: tuple[Point, ...]
    row: int | None
    alley: bool = False


@dataclass(frozen=True, slots=True)
class Door:
    """Where a street leaves the block: from one of its points to the main road."""

    inside: int
    place: Point
    row: int | None


@dataclass(frozen=True, slots=True)
class Layout:
    """The streets of one block, the doors it asks for (best first), and the row that collects."""

    points: tuple[Point, ...]
    links: tuple[Link, ...]
    doors: tuple[Door, ...]
    spine: int | None


class _Bend:
    """Maps pattern coordinates (row direction, across) to metres on the plane."""

    def __init__(self, style: Style, middle: Point, angle: float, rng: Random) -> None:
        self.style, self.middle, self.angle = style, middle, angle
        self.long_m = rng.uniform(520, 900)
        self.phase = rng.uniform(0, math.tau)
        self.swing_m = style.bend_m * rng.uniform(0.7, 1.15)

    def __call__(self, along: float, across: float) -> Point:
        if self.style is HILL:
            return self._around(along, across)
        across += self.swing_m * math.sin(math.tau * along / self.long_m + self.phase)
        along += 0.5 * self.swing_m * math.sin(math.tau * across / self.long_m + 2 * self.phase)
        east, north = turned((along, across), self.angle)
        return self.middle[0] + east, self.middle[1] + north

    def _around(self, along: float, across: float) -> Point:
        """Rows wind around the middle as one spiral, folded like the contour lines of a hill."""
        turn = along / HILL_LAP_M * math.tau
        fold = 1 + 0.13 * math.sin(3 * turn + self.phase) + 0.05 * math.sin(7 * turn)
        reach = (across + self.style.row_m * along / HILL_LAP_M) * fold
        return (
            self.middle[0] + reach * math.cos(turn),
            self.middle[1] + 0.86 * reach * math.sin(turn),
        )


def lay_out(block: Polygon, style: Style, angle: float, middle: Point, rng: Random) -> Layout:
    """Streets of a block in the given style, rows running at `angle` radians."""
    spots, bend = _spots(block, style, angle, middle, rng)
    spine = None if style is HILL or block.area < SPINE_M2 else _spine(spots)
    links = _thinned(_neighbours(spots, bend, block), style, spine, rng)
    groups = _groups(links)
    used = sorted({n for group in groups if len(group) >= 4 for n in group})
    number = {key: n for n, key in enumerate(used)}
    points = tuple(spots[key][2] for key in used)
    kept = tuple(Link(number[a], number[b], line, row) for a, b, line, row in links if a in number)
    if style is CENTRE:
        alleys, middles = _alleys(used, kept)
        halves = _halved(kept, middles, len(points))
        points = (*points, *(kept[n].line[len(kept[n].line) // 2] for n in middles))
        kept = (*halves, *(_alley(points, a, b, len(used), middles) for a, b in alleys))
    homes = [sorted(number[key] for key in group) for group in groups if len(group) >= 4]
    doors = _doors(block, points, kept, style, spine, rng, homes)
    return Layout(points, kept, doors, spine)


_Key = tuple[int, int]
_Spots = dict[_Key, tuple[float, float, Point]]
_RawLink = tuple[_Key, _Key, tuple[Point, ...], int | None]


def _spots(
    block: Polygon, style: Style, angle: float, middle: Point, rng: Random
) -> tuple[_Spots, _Bend]:
    """Pattern points inside the block, clear of the main roads."""
    bend = _Bend(style, middle, angle, rng)
    inner = block.buffer(-style.inset_m)
    reach = math.hypot(*(block.bounds[2] - block.bounds[0], block.bounds[3] - block.bounds[1]))
    wide, high = math.ceil(reach / style.cross_m), math.ceil(reach / style.row_m)
    columns = range(-wide, wide)
    rows = range(-high, high)
    if style is HILL:
        columns, rows = range(round(HILL_LAP_M / style.cross_m)), range(2, high)
    spots: _Spots = {}
    for j in rows:
        offset = rng.uniform(-0.06, 0.06)
        for i in columns:
            along = (i + rng.uniform(-0.13, 0.13)) * style.cross_m
            across = (j + offset) * style.row_m
            spots[i, j] = (along, across, bend(along, across))
    keys = list(spots)
    within = shapely.contains_xy(inner, [spots[k][2] for k in keys])
    return {k: spots[k] for k, ok in zip(keys, within, strict=True) if ok}, bend


def _neighbours(spots: _Spots, bend: _Bend, block: Polygon) -> list[_RawLink]:
    """Links between neighbouring pattern points that stay inside the block."""
    shapely.prepare(block)
    lap = round(HILL_LAP_M / bend.style.cross_m) if bend.style is HILL else None
    links: list[_RawLink] = []
    for (i, j), (along, across, _) in spots.items():
        for other, row in (((i + 1, j), j), ((i, j + 1), None)):
            wraps = other[0] == lap
            key = (0, j + 1) if wraps else other
            if key not in spots:
                continue
            along_2, across_2 = spots[key][:2]
            if wraps:  # the end of a row of the spiral is the beginning of the next
                along_2, across_2 = along_2 + HILL_LAP_M, across_2 - bend.style.row_m
            parts = 5 if row is not None else 3
            inside = [
                bend(
                    along + (along_2 - along) * n / parts, across + (across_2 - across) * n / parts
                )
                for n in range(1, parts)
            ]
            line = (spots[i, j][2], *inside, spots[key][2])
            if block.contains(LineString(line)):
                links.append(((i, j), key, line, row))
    return links


def _spine(spots: _Spots) -> int | None:
    """The row through the middle, which leads right through the block and collects its traffic."""
    rows = sorted(j for _, j in spots)
    return rows[len(rows) // 2] if rows else None


def _thinned(
    links: Sequence[_RawLink], style: Style, spine: int | None, rng: Random
) -> list[_RawLink]:
    """A random spanning forest that prefers rows, and a share of the other links."""

    def weight(row: int | None) -> float:
        if spine is not None and row == spine:
            return -1.0
        return rng.random() + (0.0 if row is not None else 0.75 * (1 - style.across))

    weighed = sorted((weight(link[3]), n) for n, link in enumerate(links))
    leader: dict[_Key, _Key] = {}

    def lead(key: _Key) -> _Key:
        while leader.get(key, key) != key:
            key = leader[key]
        return key

    kept = []
    for _, n in weighed:
        first, second = lead(links[n][0]), lead(links[n][1])
        share = style.rows if links[n][3] is not None else style.across
        if first != second:
            leader[second] = first
            kept.append(n)
        elif rng.random() < share:
            kept.append(n)
    return [links[n] for n in sorted(kept)]


def _groups(links: Sequence[_RawLink]) -> list[set[_Key]]:
    """The connected groups of points."""
    beside: dict[_Key, list[_Key]] = {}
    for a, b, _, _ in links:
        beside.setdefault(a, []).append(b)
        beside.setdefault(b, []).append(a)
    groups: list[set[_Key]] = []
    seen: set[_Key] = set()
    for key in beside:
        if key in seen:
            continue
        group, todo = {key}, [key]
        while todo:
            for other in beside[todo.pop()]:
                if other not in group:
                    group.add(other)
                    todo.append(other)
        seen |= group
        groups.append(group)
    return groups


def _doors(
    block: Polygon,
    points: Sequence[Point],
    links: Sequence[Link],
    style: Style,
    spine: int | None,
    rng: Random,
    homes: Sequence[Sequence[int]],
) -> tuple[Door, ...]:
    """Doors wished for: streets led on straight to the rim, then for each group the shortest way.

    The caller takes as many as fit; the last ones are those every group needs.
    """
    if not points:
        return ()
    wished = _through_doors(block.exterior, links, style, spine, rng)
    wished += _near_doors(block.exterior, points, homes)
    streets = shapely.STRtree([LineString(link.line) for link in links])
    free: list[Door] = []
    ways: list[LineString] = []
    for door in wished:
        way = LineString([points[door.inside], door.place])
        if not 12 < way.length < DOOR_REACH_M:
            continue
        ahead = LineString([way.interpolate(4), door.place])
        crowded = any(other.distance(ahead) < 25 for other in ways)
        if not crowded and len(streets.query(ahead, predicate="intersects")) == 0:
            free.append(door)
            ways.append(way)
    return tuple(free)


def _through_doors(
    rim: LineString, links: Sequence[Link], style: Style, spine: int | None, rng: Random
) -> list[Door]:
    """Doors at which streets lead straight on to the rim, those of the spine first."""
    wished: list[Door] = []
    for link in links:
        for here, line in ((link.b, link.line), (link.a, link.line[::-1])):
            door = _led_on(here, line, rim, link.row)
            if door and spine is not None and door.row == spine:
                wished.insert(0, door)
            elif door and rng.random() < style.open:
                wished.append(door)
    return wished


def _near_doors(
    rim: LineString, points: Sequence[Point], homes: Sequence[Sequence[int]]
) -> list[Door]:
    """For each group of streets, doors by the shortest way to the rim, more than it needs."""
    wished = []
    for group in homes:
        near = sorted(group, key=lambda n: rim.distance(Spot(points[n])))
        for n in [*near[:3], near[len(near) // 3], near[len(near) // 2]]:
            spot = rim.interpolate(rim.project(Spot(points[n])))
            wished.append(Door(n, (spot.x, spot.y), None))
    return wished


def _led_on(here: int, line: Sequence[Point], rim: LineString, row: int | None) -> Door | None:
    """The street led on straight from its last point to the rim, if it meets it fairly square."""
    (x1, y1), (x2, y2) = line[-2], line[-1]
    length = math.hypot(x2 - x1, y2 - y1)
    far = (x2 + (x2 - x1) / length * DOOR_REACH_M, y2 + (y2 - y1) / length * DOOR_REACH_M)
    hit = rim.intersection(LineString([(x2, y2), far]))
    if hit.is_empty:
        return None
    spot = min(shapely.get_parts(hit), key=Spot(x2, y2).distance)
    way_m = Spot(x2, y2).distance(spot)
    if rim.distance(Spot(x2, y2)) < 0.72 * way_m:
        return None
    return Door(here, (spot.x, spot.y), row)


def _alleys(used: Sequence[_Key], links: Sequence[Link]) -> tuple[list[tuple[int, int]], list[int]]:
    """Service alleys through the middle of four-sided blocks.

    Returns pairs of links across which an alley leads from middle to middle, and the links met.
    """
    key_of = dict(enumerate(used))
    across = {key_of[k.a]: n for n, k in enumerate(links) if k.row is None}
    rows = {key_of[k.a] for k in links if k.row is not None}
    pairs = []
    for (i, j), n in across.items():
        if (i + 1, j) in across and {(i, j), (i, j + 1)} <= rows:
            pairs.append((n, across[i + 1, j]))
    return pairs, sorted({n for pair in pairs for n in pair})


def _halved(links: Sequence[Link], middles: Sequence[int], first: int) -> list[Link]:
    """The links, those with an alley cut in two at their middle."""
    at = {n: first + k for k, n in enumerate(middles)}
    halves = []
    for n, link in enumerate(links):
        if n not in at:
            halves.append(link)
            continue
        cut = len(link.line) // 2
        halves.append(Link(link.a, at[n], link.line[: cut + 1], link.row))
        halves.append(Link(at[n], link.b, link.line[cut:], link.row))
    return halves


def _alley(points: Sequence[Point], a: int, b: int, first: int, middles: Sequence[int]) -> Link:
    ends = (first + middles.index(a), first + middles.index(b))
    return Link(*ends, (points[ends[0]], points[ends[1]]), None, alley=True)
