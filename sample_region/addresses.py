"""House numbers along the residential streets of the surveyed part of town."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from random import Random

import shapely
from shapely.geometry import LineString
from shapely.geometry import Point as Spot

from sample_region.local_streets import Neighbourhood
from sample_region.plane import Point
from sample_region.sheet import Sheet
from sample_region.terrain import Terrain

HOUSE_M = 17.0  # from the middle of the street to the address point, metres
KERB_M = 6.0  # from the middle of the street to the gate at its side, metres
CORNER_M = 16.0  # the first house stands at least this far from a street's end, metres
BEND_M = 8.0  # in a sharp bend, where another part of the street is nearer, no house stands
CLEAR_M = 12.0  # an address point stays this far from every other street, metres
SURVEYED_BLOCKS = 0.52  # share of the inhabited blocks with house numbers on the map
SURVEYED_STREETS = 0.42  # share of their streets that have them


@dataclass(frozen=True, slots=True)
class House:
    """A numbered house: where it stands, and its gate at the side of the street (metres)."""

    number: int
    street: str
    place: Point
    gate: Point
    block: int
    private: bool


def houses_along(
    sheet: Sheet,
    ways: Iterable[int],
    neighbourhoods: Sequence[Neighbourhood],
    terrain: Terrain,
    rng: Random,
) -> list[House]:
    """Houses on both sides of the residential ways in surveyed blocks.

    Odd numbers stand on the left of a way as drawn and even ones on the right; they grow along it.
    """
    lived_in = [n for n, home in enumerate(neighbourhoods) if not home.park]
    surveyed = sorted(rng.sample(lived_in, round(SURVEYED_BLOCKS * len(lived_in))))
    blocks = shapely.STRtree([neighbourhoods[n].block for n in surveyed])
    found: list[House] = []
    lines: list[LineString] = []
    for number in ways:
        way = sheet.ways[number]
        line = LineString([sheet.points[n] for n in way.nodes])
        lines.append(line)
        inside = blocks.query(line.interpolate(0.5, normalized=True), predicate="within")
        lived_in_street = way.tags["highway"] == "residential" and len(inside)
        if lived_in_street and rng.random() < SURVEYED_STREETS:
            block = surveyed[int(inside[0])]
            private = way.tags.get("access") == "private"
            found += _houses(line, way.tags["name"], block, private, terrain, rng)
    return _clear_of_streets(found, lines)


def _houses(
    line: LineString, street: str, block: int, private: bool, terrain: Terrain, rng: Random
) -> list[House]:
    start = line.coords[0]
    hundred = 100 * (1 + int(math.dist(start, terrain.centre) // 160))
    houses = []
    for side, odd in ((1.0, 1), (-1.0, 0)):
        along_m = CORNER_M + rng.uniform(0, 8)
        count = 0
        while along_m < line.length - CORNER_M:
            at_m = along_m
            place = _beside(line, at_m, side * (HOUSE_M + rng.uniform(-1.5, 2.5)))
            gate = _beside(line, at_m + rng.uniform(-4, 4), side * KERB_M)
            along_m += rng.uniform(18, 25)
            number = hundred + 4 * count + (odd if odd else 2)
            count += 1
            if abs(line.project(Spot(place)) - at_m) < BEND_M:
                houses.append(House(number, street, place, gate, block, private))
    return houses


def _beside(line: LineString, along_m: float, left_m: float) -> Point:
    """The point `left_m` to the left of the line (right if below zero), metres."""
    a, b = line.interpolate(max(0.0, along_m - 2)), line.interpolate(along_m + 2)
    spot = line.interpolate(along_m)
    length = math.hypot(b.x - a.x, b.y - a.y) or 1.0
    return spot.x - left_m * (b.y - a.y) / length, spot.y + left_m * (b.x - a.x) / length


def _clear_of_streets(houses: list[House], lines: Sequence[LineString]) -> list[House]:
    """The houses that do not stand on or at the edge of a street, their own included."""
    spots = shapely.points([house.place for house in houses])
    near = shapely.STRtree(lines).query(spots, predicate="dwithin", distance=CLEAR_M)
    blocked = set(near[0].tolist())
    return [house for n, house in enumerate(houses) if n not in blocked]
