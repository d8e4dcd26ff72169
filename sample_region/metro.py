"""An invented metropolitan area of any size, for measuring how the product copes with it.

    python -m sample_region.metro --junctions 300000 metro.osm.pbf

A street fabric of its own, drawn in seconds where the town of the demo, drawn street by street,
would take hours. The data are honest: ways are cut and tagged as people tag them.
"""

from __future__ import annotations

import argparse
import itertools
import math
from collections.abc import Iterator
from pathlib import Path
from random import Random

import numpy as np
import numpy.typing as npt
import osmium
from osmium.osm import mutable

from sample_region.metro_grid import CLASSES, Grid, draw_grid, plane, rank_of_line
from sample_region.metro_streets import Metro, draw_streets, signalled
from sample_region.plane import to_lat_lon
from sample_region.sheet import Restriction, Tags

FIRST_ID = 1001  # of nodes, ways and relations alike
MOTORWAY_EVERY = 64  # rows or columns between two motorways
MOTORWAY_AT = 20.5  # row or column of the first motorway: between two streets
CARRIAGEWAY = 0.06  # steps from the middle of a motorway to each carriageway
RAMP = 2.4  # steps from a crossing primary street to where its ramps leave the motorway
RULED = 0.5  # share of signalled crossings with a turn rule

Cell = tuple[float, float]  # column and row, fractions between streets


def write_metro(file: Path, junctions: int, seed: int = 7) -> None:
    """Write an area of about so many junctions; an existing file is replaced.

    Parameters
    ----------
    file
        Ends as an OpenStreetMap file does, such as .osm.pbf.
    junctions
        Points where streets fork, cross or end; at least about 500 come out.
    seed
        The same size and seed give the same area.
    """
    chance, rng = np.random.default_rng(seed), Random(seed)
    grid = draw_grid(junctions, chance)
    metro = draw_streets(grid, _interchanges(grid), chance, rng)
    for along in (True, False):
        for line in np.arange(MOTORWAY_AT, grid.side - 2, MOTORWAY_EVERY).tolist():
            _add_motorway(metro, grid, line, along)
    _add_turn_rules(metro, grid, rng)
    _write(metro, file)


def _interchanges(grid: Grid) -> npt.NDArray[np.bool_]:
    """Crossings of primary streets at which motorway ramps begin or end."""
    row, column = np.divmod(np.arange(grid.side**2), grid.side)
    beside = (MOTORWAY_AT - 0.5, MOTORWAY_AT + 0.5)
    primary = CLASSES.index("primary")
    found: npt.NDArray[np.bool_] = np.zeros(grid.side**2, dtype=np.bool_)
    for line, other in ((row, column), (column, row)):
        found |= np.isin(line % MOTORWAY_EVERY, beside) & (rank_of_line(other) == primary)
    return found


def _add_motorway(metro: Metro, grid: Grid, line: float, along: bool) -> None:
    """Two carriageways over all streets, with ramps to each primary street they cross."""
    stops = np.flatnonzero(rank_of_line(np.arange(grid.side)) == CLASSES.index("primary"))
    stops = stops[(stops > RAMP) & (stops < grid.side - 1 - RAMP)]
    if len(stops) < 2:
        return
    tags = {"highway": "motorway", "oneway": "yes", "maxspeed": "65 mph", "bridge": "yes"}
    tags |= {"layer": "1", "name": f"Freeway {int(line)} {'East' if along else 'North'}"}
    bridge_of = {frozenset((nodes[0], nodes[-1])): n for n, (nodes, _) in enumerate(metro.ways)}
    ramps = []
    for onward in (True, False):
        # Traffic keeps to the right: south of the middle eastward, east of it northward.
        side = -1 if onward == along else 1
        place = (line + CARRIAGEWAY * side, round(line + 0.5 * side), along)
        ramps.append(_add_carriageway(metro, grid, place, stops.tolist(), onward, tags))
    for (off_a, on_a, a), (off_b, on_b, b) in zip(ramps[0], reversed(ramps[1]), strict=True):
        bridge = bridge_of[frozenset((a, b))]  # over it nobody turns about onto the motorway
        metro.way_restrictions.append(("no_u_turn", off_a, bridge, on_b))
        metro.way_restrictions.append(("no_u_turn", off_b, bridge, on_a))


def _add_carriageway(
    metro: Metro,
    grid: Grid,
    place: tuple[float, int, bool],
    stops: list[int],
    onward: bool,
    tags: Tags,
) -> list[tuple[int, int, int]]:
    """Draw one carriageway; for each stop in turn its ramps off and on and their crossing."""
    line, near, along = place
    step = 1 if onward else -1
    nodes: list[int] = []
    ramps = []
    for c in stops[::step]:
        crossing = near * grid.side + c if along else c * grid.side + near
        off = _add_point(metro, grid, (c - step * RAMP, line), along)
        on = _add_point(metro, grid, (c + step * RAMP, line), along)
        nodes += [off, _add_point(metro, grid, (c, line), along), on]
        for ends in ((off, -step, crossing), (crossing, step, on)):
            bend = _add_point(metro, grid, (c + ends[1], (line + near) / 2), along)
            ramp = {"highway": "motorway_link", "oneway": "yes", "maxspeed": "35 mph"}
            metro.ways.append(([ends[0], bend, ends[2]], ramp))
        ramps.append((len(metro.ways) - 2, len(metro.ways) - 1, crossing))
    metro.ways.append((nodes, dict(tags)))
    return ramps


def _add_point(metro: Metro, grid: Grid, cell: Cell, along: bool) -> int:
    """A point of a motorway, `cell` counted along it and across."""
    column, row = cell if along else cell[::-1]
    x_m, y_m = plane(grid.side, np.array([column]), np.array([row]))
    metro.more_points.append((float(x_m[0]), float(y_m[0])))
    return len(metro.x_m) + len(metro.more_points) - 1


def _add_turn_rules(metro: Metro, grid: Grid, rng: Random) -> None:
    """Some signalled crossings forbid a left turn or turning round, or allow only straight on."""
    arms: dict[int, list[tuple[int, int]]] = {}
    signals = set(np.flatnonzero(signalled(grid)).tolist())
    for way, (nodes, _) in enumerate(metro.ways):
        for end, beside in ((nodes[0], nodes[1]), (nodes[-1], nodes[-2])):
            if end in signals:
                arms.setdefault(end, []).append((way, beside))
    for via, found in sorted(arms.items()):
        if len(found) != 4 or rng.random() > RULED:
            continue
        found.sort(key=lambda arm: _bearing(metro, via, arm[1]))
        here = rng.randrange(4)
        (way, _), (left, _), (ahead, _) = (found[here - n] for n in range(3))
        draw = rng.random()
        if draw < 0.6:
            metro.restrictions.append(Restriction("no_left_turn", way, via, left))
        elif draw < 0.8:
            metro.restrictions.append(Restriction("only_straight_on", way, via, ahead))
        else:
            metro.restrictions.append(Restriction("no_u_turn", way, via, way))


def _bearing(metro: Metro, start: int, end: int) -> float:
    """The direction from point to point, radians, counter-clockwise from east."""
    east_m = float(metro.x_m[end] - metro.x_m[start])
    return math.atan2(float(metro.y_m[end] - metro.y_m[start]), east_m)


def _write(metro: Metro, file: Path) -> None:
    """Write nodes, ways and relations, sorted by kind and id."""
    file.unlink(missing_ok=True)
    header = osmium.io.Header()
    header.set("generator", "sample_region: an invented area, not OpenStreetMap data")
    with osmium.SimpleWriter(str(file), header=header) as writer:
        for number, (point, tags) in enumerate(_points(metro), start=FIRST_ID):
            lat, lon = to_lat_lon(point)
            writer.add_node(mutable.Node(id=number, location=(lon, lat), tags=tags, version=1))
        for number, (nodes, tags) in enumerate(metro.ways, start=FIRST_ID):
            refs = [FIRST_ID + node for node in nodes]
            writer.add_way(mutable.Way(id=number, nodes=refs, tags=tags, version=1))
        for number, (rule, members) in enumerate(_rules(metro), start=FIRST_ID):
            tags = {"type": "restriction", "restriction": rule}
            writer.add_relation(mutable.Relation(id=number, members=members, tags=tags, version=1))


def _points(metro: Metro) -> Iterator[tuple[tuple[float, float], Tags]]:
    places = zip(metro.x_m.tolist(), metro.y_m.tolist(), strict=True)
    for number, point in enumerate(itertools.chain(places, metro.more_points)):
        yield point, metro.point_tags.get(number, {})
    for x, y, tags in metro.houses:
        yield (x, y), tags


def _rules(metro: Metro) -> Iterator[tuple[str, list[tuple[str, int, str]]]]:
    for rule in metro.restrictions:
        members = [("w", rule.from_way, "from"), ("n", rule.via, "via"), ("w", rule.to_way, "to")]
        yield rule.rule, [(kind, FIRST_ID + number, role) for kind, number, role in members]
    for kind_of_rule, start, via, end in metro.way_restrictions:
        roles = ((start, "from"), (via, "via"), (end, "to"))
        yield kind_of_rule, [("w", FIRST_ID + number, role) for number, role in roles]


def main() -> None:
    """Read the command line and write the file."""
    parser = argparse.ArgumentParser(
        prog="python -m sample_region.metro", description="Write an invented metropolitan area."
    )
    parser.add_argument("--junctions", type=int, default=300_000, help="about how many")
    parser.add_argument("file", type=Path, help="ends in .osm.pbf, for instance")
    arguments = parser.parse_args()
    write_metro(arguments.file, arguments.junctions)


if __name__ == "__main__":
    main()
