"""Local streets: each block laid out, joined to the main roads, named and drawn."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as Spot

from sample_region.block import (
    CENTRE,
    GRID,
    HILL,
    LOOPS,
    ROWS,
    WIDE,
    Layout,
    Style,
    lay_out,
)
from sample_region.chain import Chain
from sample_region.frame import Frame, FrameEdge
from sample_region.gates import lock_up, with_gate
from sample_region.main_roads import open_door
from sample_region.names import Namer
from sample_region.plane import rounded
from sample_region.sheet import Sheet, Tags
from sample_region.strokes import Piece, strokes_of
from sample_region.terrain import Terrain

CENTRE_REACH_M = 820.0  # blocks whose middle lies nearer are laid out as the centre, metres
GRID_REACH_M = 1500.0  # and these as a plain old grid
LARGE_PARKS = 3  # blocks that are parks, of 20 to 60 ha
SMALL_PARK_M2 = 30_000.0  # blocks smaller than this are parks, square metres


@dataclass(frozen=True, slots=True)
class Neighbourhood:
    """A block with the style of its streets; `park` when nobody lives there."""

    block: Polygon
    style: str
    park: bool


def draw_local_streets(
    sheet: Sheet, frame: Frame, terrain: Terrain, namer: Namer, rng: Random
) -> list[Neighbourhood]:
    """Fill every block of the frame; opens doors on its edges, so draw those afterwards."""
    lines = shapely.STRtree([LineString(e.line) for e in frame.edges])
    drawn = []
    fit = [n for n, b in enumerate(frame.blocks) if 2e5 < b.area < 6e5]
    large_parks = set(rng.sample(fit, min(LARGE_PARKS, len(fit))))
    for number, block in enumerate(frame.blocks):
        style = _style(block, terrain, rng)
        park = block.area < SMALL_PARK_M2 or number in large_parks
        drawn.append(Neighbourhood(block, style.name, park))
        if park:
            continue
        layout = _layout(block, style, terrain, rng)
        near = [frame.edges[int(n)] for n in sorted(lines.query(block.buffer(1)))]
        chains, doors = _chains(sheet, layout, near)
        if style in (ROWS, LOOPS, WIDE) and number % 3 == 1:
            lock_up(chains, doors)
        _draw(sheet, chains, doors, (style, layout.spine), namer)
    return drawn


def _style(block: Polygon, terrain: Terrain, rng: Random) -> Style:
    if block.contains(Spot(terrain.hill)):
        return HILL
    away_m = block.centroid.distance(Spot(terrain.centre))
    if away_m < CENTRE_REACH_M:
        return CENTRE
    if away_m < GRID_REACH_M:
        return GRID
    return rng.choices((ROWS, LOOPS, WIDE, GRID), (46, 30, 15, 9))[0]


def _layout(block: Polygon, style: Style, terrain: Terrain, rng: Random) -> Layout:
    middle = (float(block.centroid.x), float(block.centroid.y))
    nearest = min(terrain.districts, key=lambda d: math.dist(d.middle, middle))
    angle = nearest.angle
    if style in (ROWS, LOOPS, WIDE):
        angle += rng.choice((0.0, math.pi / 2)) + rng.uniform(-0.3, 0.3)
    if style is HILL:
        middle = terrain.hill
    return lay_out(block, style, angle, middle, rng)


def _chains(
    sheet: Sheet, layout: Layout, near: Sequence[FrameEdge]
) -> tuple[list[Chain], set[int]]:
    """Streets of a layout as chains of sheet nodes, and the nodes that are doors."""
    nodes = [sheet.add_node(p) for p in layout.points]
    raw = [
        Chain(nodes[k.a], nodes[k.b], list(k.line), k.row, "alley" if k.alley else "street")
        for k in layout.links
    ]
    drawn = [LineString(k.line) for k in layout.links]
    opened: set[int] = set()
    for door in layout.doors:
        edge = min(near, key=lambda e: LineString(e.line).distance(Spot(door.place)))
        node = open_door(sheet, edge, door.place)
        if node is None or node in opened:
            continue
        street = LineString([layout.points[door.inside], sheet.points[node]])
        ahead = LineString([street.interpolate(4), street.coords[-1]])
        if any(ahead.intersects(other) for other in drawn):  # led aside onto another street
            continue
        drawn.append(street)
        opened.add(node)
        raw.append(Chain(nodes[door.inside], node, list(street.coords), door.row, "street"))
    return _joined(raw, opened), opened


def _joined(raw: Sequence[Chain], fixed: set[int]) -> list[Chain]:
    """Chains led through nodes at which only two meet, their corners rounded off."""
    at: dict[int, list[int]] = {}
    for n, chain in enumerate(raw):
        at.setdefault(chain.a, []).append(n)
        at.setdefault(chain.b, []).append(n)
    through = {
        node
        for node, numbers in at.items()
        if len(numbers) == 2 and node not in fixed and len({raw[n].kind for n in numbers}) == 1
    }
    done: set[int] = set()
    chains = []
    for start in sorted(set(at) - through):
        for first in at[start]:
            if first in done:
                continue
            node, number, line = start, first, [raw[first].line[0 if raw[first].a == start else -1]]
            while True:
                done.add(number)
                chain = raw[number]
                ahead = chain.line if chain.a == node else chain.line[::-1]
                line += ahead[1:]
                node = chain.b if chain.a == node else chain.a
                if node not in through:
                    break
                number = next(n for n in at[node] if n != number)
            chains.append(Chain(start, node, rounded(line), raw[first].row, raw[first].kind))
    return chains


def _draw(
    sheet: Sheet,
    chains: Sequence[Chain],
    doors: set[int],
    plan: tuple[Style, int | None],
    namer: Namer,
) -> None:
    """Draw chains as ways, one for each stroke, with names and the tags of their kind."""
    pieces = [Piece(c.a, c.b, tuple(c.line), f"{c.kind} {c.private}") for c in chains]
    degree = Counter(n for chain in chains for n in (chain.a, chain.b))
    dead_ends = {n for n, count in degree.items() if count == 1 and n not in doors}
    for node in sorted(dead_ends):
        sheet.tag_node(node, highway="turning_circle")
    for stroke in strokes_of(pieces, math.radians(40)):
        parts = [(chains[n], back) for n, back in stroke.parts]
        nodes = _stroke_nodes(sheet, parts)
        sheet.add_way(nodes, _tags(nodes, parts, dead_ends, plan, namer))


def _stroke_nodes(sheet: Sheet, parts: Sequence[tuple[Chain, bool]]) -> list[int]:
    nodes: list[int] = []
    for chain, back in parts:
        piece = sheet.add_line(chain.a, chain.line[1:-1], chain.b)
        if chain.gate_at is not None:
            piece = with_gate(sheet, piece, chain.gate_at)
        piece = piece[::-1] if back else piece
        nodes += piece[1:] if nodes else piece
    return nodes


def _tags(
    nodes: Sequence[int],
    parts: Sequence[tuple[Chain, bool]],
    dead_ends: set[int],
    plan: tuple[Style, int | None],
    namer: Namer,
) -> Tags:
    """The tags of a stroke: an alley, a collector, or a residential street, some one-way."""
    first, back = parts[0]
    style, spine = plan
    if first.kind == "alley":
        return {"highway": "service", "service": "alley", "maxspeed": "10 mph"}
    through = len(parts) > 2 and not dead_ends & {nodes[0], nodes[-1]}
    if style is not CENTRE and spine is not None and first.row == spine and through:
        name = namer.name("collector")
        speed = "30 mph"  # common practice for a collector with houses near
        return {"highway": "tertiary", "name": name, "maxspeed": speed, "surface": "asphalt"}
    kind = "row"
    if style is CENTRE:
        kind = "centre"
    elif nodes[0] == nodes[-1]:
        kind = "loop"
    elif len(parts) <= 2 and dead_ends & {nodes[0], nodes[-1]}:
        kind = "dead end"
    tags = {
        "highway": "residential",
        "name": namer.name(kind),
        "maxspeed": "20 mph" if style is HILL else "25 mph",  # common practice
        "surface": "asphalt",
    }
    if first.private:
        tags["access"] = "private"
    if style is CENTRE and first.row is not None and len(parts) >= 3:
        tags["oneway"] = "yes" if (first.row % 2 == 0) != back else "-1"
    return tags
