"""The land before the streets: the town's outline, its river, motorway, hill and districts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from random import Random

from shapely.geometry import LineString, Polygon

from sample_region.plane import Point, turned

RIVER_HALF_M = 34.0  # half the width of the water, metres
RIVER_STRIP_M = 105.0  # from the middle of the river to the riverside roads, metres
MOTORWAY_STRIP_M = 100.0  # from the middle of the motorway to the frontage roads, metres


@dataclass(frozen=True, slots=True)
class TownSize:
    """How large a town to draw, and from which seed.

    `radius_m` is the mean radius of the outline; 5,000 m gives some 16,000 directed street edges,
    and the number of edges grows with its square.
    """

    radius_m: float = 5000.0
    seed: int = 7


@dataclass(frozen=True, slots=True)
class District:
    """A part of town: its middle, the turn of its streets (radians), the width of its blocks."""

    middle: Point
    angle: float
    block_m: float


@dataclass(frozen=True, slots=True)
class Terrain:
    """The land: everything in metres on the plane."""

    size: TownSize
    outline: Polygon
    river: LineString
    motorway: LineString
    centre: Point
    hill: Point
    districts: tuple[District, ...]


def terrain_of(size: TownSize) -> Terrain:
    """Lay out the land of a town of the given size."""
    rng = Random(size.seed)
    radius = size.radius_m
    centre = (0.16 * radius, -0.16 * radius)
    hill = (-0.62 * radius, -0.36 * radius)
    return Terrain(
        size=size,
        outline=_outline(radius),
        river=_river(radius),
        motorway=_motorway(radius),
        centre=centre,
        hill=hill,
        districts=_districts(radius, centre, rng),
    )


def _outline(radius: float) -> Polygon:
    """A blob somewhat wider than high."""
    ring = []
    for n in range(120):
        angle = n * math.tau / 120
        reach = radius * (
            1
            + 0.09 * math.sin(2 * angle + 0.4)
            + 0.08 * math.sin(3 * angle + 1.9)
            + 0.05 * math.sin(5 * angle + 0.7)
        )
        ring.append((1.1 * reach * math.cos(angle), 0.95 * reach * math.sin(angle)))
    return Polygon(ring)


def _river(radius: float) -> LineString:
    """A winding line from north to south, west of the middle."""
    line = []
    for n in range(-60, 61):
        y = n / 60 * 1.7 * radius
        x = -0.24 * radius + 420 * math.sin(y / 1350 + 0.6) + 150 * math.sin(y / 560 + 1.0)
        line.append((x + 0.1 * y, y))
    return LineString(line)


def _motorway(radius: float) -> LineString:
    """A long bend from west to east, north of the middle."""
    line = []
    for n in range(-60, 61):
        x = n / 60 * 1.55 * radius
        y = 0.3 * radius + 0.12 * x + 330 * math.sin(x / 2100 + 0.8)
        line.append((x, y))
    return LineString(line)


def _districts(radius: float, centre: Point, rng: Random) -> tuple[District, ...]:
    """The centre with its small blocks, and districts about 3 km apart around it."""
    districts = [District(centre, math.radians(17), 560.0)]
    apart_m = 3000.0
    rings = math.ceil(1.6 * radius / apart_m)
    for ring in range(1, rings + 1):
        for n in range(6 * ring):
            turn = n * math.tau / (6 * ring) + 0.35 * ring
            east, north = turned((ring * apart_m * rng.uniform(0.88, 1.12), 0.0), turn)
            angle = math.radians(rng.uniform(-42, 42))
            middle = (centre[0] + east, centre[1] + north)
            districts.append(District(middle, angle, rng.uniform(740, 940)))
    return tuple(districts)
