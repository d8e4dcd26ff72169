"""The motorway: two carriageways, interchanges, and a highway leading out at both ends."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shapely.geometry import LineString
from shapely.geometry import Point as Spot

from sample_region.frame import Frame, FrameEdge
from sample_region.plane import Point, rounded
from sample_region.sheet import Sheet
from sample_region.terrain import RIVER_STRIP_M, Terrain

HALF_GAP_M = 13.0  # from the middle line to the middle of a carriageway, metres
RAMP_M = 330.0  # from the crossing street to where a ramp leaves the motorway, metres
TERMINAL_M = 60.0  # from the middle line to where ramps meet the crossing street, metres
JUNCTIONS_APART_M = 1500.0
OUTSIDE_M = 700.0  # the two-way highway at each end of the motorway, metres


@dataclass(frozen=True, slots=True)
class Junction:
    """An interchange.

    The street that crosses, its station along the motorway, and its nodes at which ramps end,
    south (right) and north (left) of the motorway.
    """

    edge: FrameEdge
    station_m: float
    south: int
    north: int


def open_junctions(sheet: Sheet, frame: Frame, terrain: Terrain) -> list[Junction]:
    """Choose the streets with ramps and put the ends of the ramps on them."""
    found: list[Junction] = []
    stations = sorted(
        (terrain.motorway.project(LineString(e.line).intersection(terrain.motorway)), n)
        for n, e in enumerate(frame.edges)
        if e.crosses == "motorway"
    )
    for station_m, number in stations:
        if found and station_m - found[-1].station_m < JUNCTIONS_APART_M:
            continue
        edge = frame.edges[number]
        line = LineString(edge.line)
        cut_m = line.project(line.intersection(terrain.motorway))
        nodes = {}
        for along_m in (cut_m - TERMINAL_M, cut_m + TERMINAL_M):
            spot = line.interpolate(along_m)
            node = sheet.add_node((spot.x, spot.y), {"highway": "traffic_signals"})
            edge.doors.append((along_m, node))
            nodes[_is_left(terrain.motorway, station_m, (spot.x, spot.y))] = node
        found.append(Junction(edge, station_m, nodes[False], nodes[True]))
    return found


def _is_left(line: LineString, station_m: float, point: Point) -> bool:
    a, b = line.interpolate(station_m - 5), line.interpolate(station_m + 5)
    return bool((b.x - a.x) * (point[1] - a.y) - (b.y - a.y) * (point[0] - a.x) > 0)


def draw_motorway(
    sheet: Sheet, terrain: Terrain, junctions: Sequence[Junction], names: tuple[str, str]
) -> None:
    """Draw carriageways and ramps; `names` are those of the motorway and the highway outside."""
    line = terrain.motorway
    last_m = float(line.length) - OUTSIDE_M
    ends = []
    for here_m, there_m in ((OUTSIDE_M, 0.0), (last_m, float(line.length))):
        spots = [line.interpolate(here_m + (there_m - here_m) * n / 8) for n in range(9)]
        nodes = [sheet.add_node((s.x, s.y)) for s in spots]
        tags = {"highway": "trunk", "name": names[1], "maxspeed": "55 mph", "lanes": "2"}
        sheet.add_way(nodes, tags)
        ends.append(nodes[0])
    for eastbound in (True, False):
        ramps = _draw_carriageway(sheet, terrain, junctions, ends, names[0], eastbound)
        for junction, leaving, joining in ramps:
            terminal = junction.south if eastbound else junction.north
            _draw_ramp(sheet, leaving, terminal)
            _draw_ramp(sheet, joining, terminal, joins=True)


def _draw_carriageway(
    sheet: Sheet,
    terrain: Terrain,
    junctions: Sequence[Junction],
    ends: Sequence[int],
    name: str,
    eastbound: bool,
) -> list[tuple[Junction, int, int]]:
    """Draw one carriageway; for each junction, its nodes at which ramps leave and join."""
    line, side_m = terrain.motorway, -HALF_GAP_M if eastbound else HALF_GAP_M
    ahead = 1.0 if eastbound else -1.0
    first_m, last_m = OUTSIDE_M, float(line.length) - OUTSIDE_M
    stations = {first_m + 60 * n: -1 for n in range(2, int((last_m - first_m) / 60) - 1)}
    ramp_at = {j.station_m + s * RAMP_M: -1 for j in junctions for s in (-1, 1)}
    plain = {m for m in stations if all(abs(m - r) > 20 for r in ramp_at)}
    nodes = {m: sheet.add_node(_beside(line, m, side_m)) for m in sorted(plain | set(ramp_at))}
    order = [ends[0], *(nodes[m] for m in sorted(nodes)), ends[1]]
    _draw_split(sheet, order if eastbound else order[::-1], terrain, name)
    return [
        (j, nodes[j.station_m - ahead * RAMP_M], nodes[j.station_m + ahead * RAMP_M])
        for j in junctions
    ]


def _beside(line: LineString, station_m: float, side_m: float) -> Point:
    """The point `side_m` metres to the left of the line at a station."""
    a, b = line.interpolate(station_m - 1), line.interpolate(station_m + 1)
    length = math.hypot(b.x - a.x, b.y - a.y)
    middle = line.interpolate(station_m)
    return (
        middle.x - side_m * (b.y - a.y) / length,
        middle.y + side_m * (b.x - a.x) / length,
    )


def _draw_split(sheet: Sheet, order: Sequence[int], terrain: Terrain, name: str) -> None:
    """The carriageway as three ways, the middle one a bridge over the river."""
    wet = [
        n
        for n, node in enumerate(order)
        if Spot(sheet.points[node]).distance(terrain.river) < RIVER_STRIP_M
    ]
    tags = {
        "highway": "motorway",
        "name": name,
        "oneway": "yes",
        "maxspeed": "65 mph",
        "lanes": "3",
    }
    over = tags | {"bridge": "yes", "layer": "1"}
    sheet.add_way(order[: wet[0] + 1], tags)
    sheet.add_way(order[wet[0] : wet[-1] + 1], over)
    sheet.add_way(order[wet[-1] :], tags)


def _draw_ramp(sheet: Sheet, carriageway: int, terminal: int, *, joins: bool = False) -> None:
    """A one-way ramp from the carriageway to the street, or back to it."""
    a, b = sheet.points[carriageway], sheet.points[terminal]
    dx, dy = b[0] - a[0], b[1] - a[1]
    across = (-dy * 0.055, dx * 0.055)
    away = -1 if joins == (dx * 0 + 1 > 0) else 1
    bow = (a[0] + 0.62 * dx + away * across[0], a[1] + 0.62 * dy + away * across[1])
    line = rounded([a, bow, b], 3)
    nodes = sheet.add_line(carriageway, line[1:-1], terminal)
    tags = {"highway": "motorway_link", "oneway": "yes", "maxspeed": "35 mph", "lanes": "1"}
    sheet.add_way(nodes[::-1] if joins else nodes, tags)
