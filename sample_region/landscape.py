"""What lies between the streets: water, parks and where people live."""

from __future__ import annotations

import math
from collections.abc import Sequence
from random import Random

from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as Spot

from sample_region.local_streets import Neighbourhood
from sample_region.sheet import Area, Sheet
from sample_region.terrain import RIVER_HALF_M, RIVER_STRIP_M, Terrain


def draw_landscape(
    sheet: Sheet, terrain: Terrain, neighbourhoods: Sequence[Neighbourhood], rng: Random
) -> None:
    """Draw the areas: river, riverside, parks with ponds, land use of the blocks, the hilltop."""
    shore = terrain.outline.buffer(900).envelope
    river = LineString(terrain.river.intersection(shore))
    water = river.buffer(RIVER_HALF_M, cap_style="flat").simplify(0.5)
    sheet.areas.append(Area(water, {"natural": "water", "water": "river", "name": "Tamesol River"}))
    _draw_riverside(sheet, terrain, water)
    for n, home in enumerate(neighbourhoods):
        green = home.block.buffer(-11).simplify(1)
        if home.park:
            if isinstance(green, Polygon) and green.area > 2000:
                sheet.areas.append(Area(green, {"leisure": "park"}))
                _draw_pond(sheet, green, rng)
            continue
        use = "commercial" if home.style == "centre" and n % 2 else "residential"
        sheet.areas.append(Area(home.block.simplify(2), {"landuse": use}))
    top = Polygon(
        [
            (
                terrain.hill[0] + 150 * math.cos(t / 5) * (1 + 0.14 * math.sin(3 * t / 5)),
                terrain.hill[1] + 125 * math.sin(t / 5),
            )
            for t in range(31)
        ]
    )
    sheet.areas.append(Area(top, {"leisure": "park", "name": "Lookout Hill Park"}))


def _draw_riverside(sheet: Sheet, terrain: Terrain, water: Polygon) -> None:
    """Parks along the water, on both sides, clear of the riverside roads and the motorway."""
    strip = terrain.river.buffer(RIVER_STRIP_M - 14, cap_style="flat").intersection(terrain.outline)
    green = strip.difference(water.buffer(4)).difference(terrain.motorway.buffer(60))
    parts = sorted(green.geoms if hasattr(green, "geoms") else [green], key=lambda p: p.bounds)
    for part in parts:
        if part.area > 4000:
            sheet.areas.append(Area(part.simplify(1), {"leisure": "park"}))


def _draw_pond(sheet: Sheet, green: Polygon, rng: Random) -> None:
    """A pond in the middle of a larger park."""
    middle = green.representative_point()
    reach = 0.4 * green.exterior.distance(Spot(middle))
    if reach > 25:
        ring = [
            (
                middle.x + reach * math.cos(t / 4) * (1 + 0.2 * math.sin(t / 2)),
                middle.y + reach * rng.uniform(0.68, 0.74) * math.sin(t / 4),
            )
            for t in range(25)
        ]
        sheet.areas.append(Area(Polygon(ring), {"natural": "water", "water": "pond"}))
