"""The streets of the invented metropolitan area: ways with names and tags, from the grid.

What a real extract has is here too: one-way streets in the centre, signals, stop signs, private
streets behind gates, unpaved streets at the rim, posted limits in mph.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from random import Random

import numpy as np
import numpy.typing as npt

from sample_region.metro_grid import CLASSES, LOCAL, STEP_M, SUBURB, Grid, rank_of_line
from sample_region.names import Namer
from sample_region.sheet import Restriction, Tags

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

INNER = np.array([0.09, 0.5, 0.91])  # share of a piece before each of its inner points
BEND_M = 14.0  # standard deviation of a local street's bend between two crossings, metres
LIMIT_MPH = {"primary": 45, "secondary": 40, "tertiary": 35, "residential": 25}  # common practice
PRIVATE = 0.03  # share of dead ends behind a gate
RIM = 6  # crossings from the edge of the area within which local streets are unpaved
FACING = {"forward": "backward", "backward": "forward"}
HOUSES_EVERY = 2  # local pieces to one with house numbers, as in half-surveyed towns


@dataclass(slots=True)
class Metro:
    """What is written: places of points (metres), tags by point, ways, turn rules, houses.

    The first points are the grid's crossings, then three inner points to each piece of street.
    """

    x_m: Floats
    y_m: Floats
    more_points: list[tuple[float, float]] = field(default_factory=list)
    point_tags: dict[int, Tags] = field(default_factory=dict)
    ways: list[tuple[list[int], Tags]] = field(default_factory=list)
    restrictions: list[Restriction] = field(default_factory=list)
    way_restrictions: list[tuple[str, int, int, int]] = field(default_factory=list)
    houses: list[tuple[float, float, Tags]] = field(default_factory=list)


def draw_streets(grid: Grid, cut: Flags, chance: np.random.Generator, rng: Random) -> Metro:
    """Draw the grid's streets; ways also end at the crossings marked in `cut`."""
    count = len(grid.a)
    along = INNER[None, :]
    x_a, y_a = grid.x_m[grid.a][:, None], grid.y_m[grid.a][:, None]
    x_b, y_b = grid.x_m[grid.b][:, None], grid.y_m[grid.b][:, None]
    bend_m = np.where(grid.rank == LOCAL, chance.normal(0, BEND_M, count), 0.0)[:, None]
    aside = bend_m * np.sin(np.pi * along) / STEP_M
    inner_x = x_a + (x_b - x_a) * along - (y_b - y_a) * aside
    inner_y = y_a + (y_b - y_a) * along + (x_b - x_a) * aside
    metro = Metro(
        np.concatenate([grid.x_m, inner_x.ravel()]), np.concatenate([grid.y_m, inner_y.ravel()])
    )
    signals = signalled(grid)
    for point in np.flatnonzero(signals).tolist():
        metro.point_tags[point] = {"highway": "traffic_signals"}
    _add_stops(metro, grid)
    _add_ways(metro, grid, cut | signals, rng)
    return metro


def signalled(grid: Grid) -> Flags:
    """Whether a crossing has signals: where two streets of secondary rank or above cross."""
    row, column = np.divmod(np.arange(grid.side**2), grid.side)
    big = CLASSES.index("secondary")
    both: Flags = (rank_of_line(row) <= big) & (rank_of_line(column) <= big)
    return both & (grid.arms() >= 3)


def _add_stops(metro: Metro, grid: Grid) -> None:
    """A stop sign where a local street comes out on a larger one."""
    row, column = np.divmod(np.arange(grid.side**2), grid.side)
    main = np.minimum(rank_of_line(row), rank_of_line(column)) < LOCAL
    first = grid.side**2 + np.arange(len(grid.a)) * len(INNER)
    local = grid.rank == LOCAL
    for ends, inner, direction in ((grid.b, 2, "forward"), (grid.a, 0, "backward")):
        for point in (first + inner)[local & main[ends]].tolist():
            metro.point_tags[point] = {"highway": "stop", "direction": direction}


def _joined(grid: Grid, cut: Flags) -> Ints:
    """The end of a piece that each end runs on into, or -1; ends are 2 · piece (+ 1 for its b).

    Pieces on one line run on until a gap, a cut, the centre's border or, local ones, a main street;
    where two local pieces meet and no other, the street bends.
    """
    row, column = np.divmod(np.arange(grid.side**2), grid.side)
    across = np.where(grid.along, column[grid.a], row[grid.a])
    same = (grid.line[1:] == grid.line[:-1]) & (grid.along[1:] == grid.along[:-1])
    same &= (grid.a[1:] == grid.b[:-1]) & (grid.centre[1:] == grid.centre[:-1])
    same &= ~cut[grid.a[1:]] & ((across[1:] % 8 != 0) | (grid.rank[1:] < LOCAL))
    joined = np.full(2 * len(grid.a), -1, dtype=np.int64)
    before = np.flatnonzero(same)
    joined[2 * before + 1], joined[2 * before + 2] = 2 * before + 2, 2 * before + 1
    crossing = np.column_stack([grid.a, grid.b]).ravel()
    local = np.repeat((grid.rank == LOCAL) & ~grid.centre, 2)
    bends = np.flatnonzero((joined < 0) & local & (grid.arms() == 2)[crossing] & ~cut[crossing])
    bends = bends[np.argsort(crossing[bends], kind="stable")]
    pair = np.flatnonzero(crossing[bends][1:] == crossing[bends][:-1])
    joined[bends[pair]], joined[bends[pair + 1]] = bends[pair + 1], bends[pair]
    return joined


def _chains(joined: Ints) -> Iterator[list[int]]:
    """Every street as the ends by which its pieces are entered, each piece once."""
    onward = joined.tolist()
    used = bytearray(len(onward) // 2)
    firsts = [end for end in range(0, len(onward), 2) if onward[end] < 0]
    firsts += [end for end in range(1, len(onward), 2) if onward[end] < 0]
    for first in (*firsts, *range(0, len(onward), 2)):
        chain, end = [], first
        while end >= 0 and not used[end // 2]:
            used[end // 2] = 1
            chain.append(end)
            end = onward[end ^ 1]
        if chain:
            yield chain


def _add_ways(metro: Metro, grid: Grid, cut: Flags, rng: Random) -> None:
    """Draw every street as one way, with its name, houses and gate."""
    arms = grid.arms()
    namers: dict[tuple[int, int], Namer] = {}
    main_names: dict[tuple[bool, int], str] = {}
    main_namer = Namer(rng)
    for chain in _chains(_joined(grid, cut)):
        piece = chain[0] // 2
        where = divmod(int(grid.a[piece]), grid.side)
        suburb = (where[0] // SUBURB, where[1] // SUBURB)
        local = grid.rank[piece] == LOCAL
        if local:
            name = namers.setdefault(suburb, Namer(rng)).name("row")
        else:
            line = (bool(grid.along[piece]), int(grid.line[piece]))
            name = main_names.get(line) or main_namer.name("main")
            main_names[line] = name
        nodes = _nodes(metro, grid, chain)
        tags = _tags(grid, piece, name)
        if local and arms[nodes[-1]] == 1 and rng.random() < PRIVATE:
            tags["access"] = "private"
            gate = grid.side**2 + piece * len(INNER) + 1
            metro.point_tags[gate] = {"barrier": "gate", "access": "private"}
        for place, end in enumerate(chain):
            if local and end // 2 % HOUSES_EVERY == 0:
                inner = grid.side**2 + end // 2 * len(INNER)
                _add_houses(metro, inner, place, name, suburb)
        metro.ways.append((nodes, tags))


def _nodes(metro: Metro, grid: Grid, chain: list[int]) -> list[int]:
    """The points of a chain; stop signs of pieces entered at their far end face about."""
    ends = (grid.a, grid.b)
    nodes = [int(ends[chain[0] % 2][chain[0] // 2])]
    for end in chain:
        piece, turned = divmod(end, 2)
        inner = [grid.side**2 + piece * len(INNER) + n for n in range(len(INNER))]
        if turned:
            inner.reverse()
            for tags in (metro.point_tags.get(point, {}) for point in inner):
                if "direction" in tags:
                    tags["direction"] = FACING[tags["direction"]]
        nodes += [*inner, int(ends[1 - turned][piece])]
    return nodes


def _tags(grid: Grid, piece: int, name: str) -> Tags:
    highway = CLASSES[grid.rank[piece]]
    tags = {"highway": highway, "name": name, "maxspeed": f"{LIMIT_MPH[highway]} mph"}
    line = int(grid.line[piece])
    if grid.centre[piece] and highway in ("tertiary", "residential"):
        tags["oneway"] = "yes" if line % 2 else "-1"
        tags["maxspeed"] = "25 mph"
    if highway == "residential" and min(line, grid.side - 1 - line) < RIM:
        tags["surface"] = "gravel"
        del tags["maxspeed"]
    return tags


def _add_houses(metro: Metro, inner: int, place: int, name: str, suburb: tuple[int, int]) -> None:
    """One house number on each side of a piece."""
    x, y = float(metro.x_m[inner + 1]), float(metro.y_m[inner + 1])
    for side_m, odd in ((22.0, 0), (-22.0, 1)):  # metres from the middle of the street
        tags = {
            "addr:housenumber": str(100 + 20 * place + 2 + odd),
            "addr:street": name,
            "addr:city": f"Quarter {suburb[0] + 1}-{suburb[1] + 1}",
        }
        metro.houses.append((x + side_m, y + side_m, tags))
