"""The whole town, drawn step by step on one sheet."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from sample_region.addresses import House, houses_along
from sample_region.controls import add_signals, add_stops, add_turn_rules
from sample_region.frame import Frame, frame_of
from sample_region.landscape import draw_landscape
from sample_region.local_streets import Neighbourhood, draw_local_streets
from sample_region.main_roads import classes_of, draw_main_roads
from sample_region.motorway import draw_motorway, open_junctions
from sample_region.names import Namer
from sample_region.oneway import open_traps
from sample_region.sheet import Sheet
from sample_region.terrain import Terrain, TownSize, terrain_of

NAME = "Port Ondelle"  # invented


@dataclass(frozen=True, slots=True)
class Town:
    """The drawn town: its sheet, land, blocks and houses."""

    sheet: Sheet
    terrain: Terrain
    frame: Frame
    neighbourhoods: tuple[Neighbourhood, ...]
    houses: tuple[House, ...]


def draw_town(size: TownSize) -> Town:
    """Draw a town of the given size; the same size and seed give the same town."""
    rng = Random(size.seed + 2)
    terrain = terrain_of(size)
    frame = frame_of(terrain)
    sheet, namer = Sheet(), Namer(rng)
    classes = classes_of(frame, namer)
    junctions = open_junctions(sheet, frame, terrain)
    neighbourhoods = draw_local_streets(sheet, frame, terrain, namer, rng)
    last_local = len(sheet.ways)
    roads = draw_main_roads(sheet, frame, classes, terrain, rng)
    draw_motorway(sheet, terrain, junctions, (namer.motorway(), namer.name("main")))
    signalled = add_signals(sheet, frame, roads)
    add_turn_rules(sheet, frame, roads, signalled, rng)
    houses = houses_along(sheet, range(last_local), neighbourhoods, terrain, rng)
    add_stops(sheet, frame, 0, last_local)
    open_traps(sheet)
    draw_landscape(sheet, terrain, neighbourhoods, rng)
    return Town(sheet, terrain, frame, tuple(neighbourhoods), tuple(houses))
