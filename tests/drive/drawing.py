"""Small road maps drawn as text.

A letter is a point, a row of dashes a two-way street between two points, `>` or `<` among the
dashes a one-way street; `|` goes down, with `v` or `^` one-way. One character is 25 m wide and one
line 50 m high, so that in

    a---b
    |   |
    c---d

every street is 100 m long. The maps lie on the equator, where a degree is the same length both
ways. All streets are residential and posted at 40 km/h, so that 100 m take 9 s, unless tags say
otherwise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from pathlib import Path
from xml.sax.saxutils import quoteattr

from dispatch.drive.compact import compact
from dispatch.drive.graph import RoadMap
from dispatch.drive.osm import read_streets
from dispatch.drive.speeds import SpeedModel
from dispatch.places import EARTH_RADIUS_M, Place

COLUMN_M, LINE_M = 25.0, 50.0
DEGREE_M = EARTH_RADIUS_M * math.pi / 180
NO_DELAYS = SpeedModel(
    near_turn_s=0, far_turn_s=0, signal_s=0, stop_s=0, give_way_s=0, gate_s=0, u_turn_s=0
)
Tags = dict[str, str]


@dataclass
class Drawing:
    """A drawn map and what is added to it by name: `ab` is the street between a and b.

    A rule is (kind, from, via, to); via is a point, 'b', or one or several streets, 'bc cd'. Words
    after the kind are more tags: 'no_left_turn except=motorcar'.
    """

    points: dict[str, Place]
    streets: dict[str, Tags]
    point_tags: dict[str, Tags] = field(default_factory=dict)
    rules: list[tuple[str, str, str, str]] = field(default_factory=list)  # kind, from, via, to
    houses: list[tuple[str, str, str, Place]] = field(default_factory=list)  # no., street, town

    def at(self, street: str, share: float, off_m: float = 0.0) -> Place:
        """Return a place along a street, `off_m` metres north of it."""
        a, b = (self.points[letter] for letter in street)
        lat = a.lat + share * (b.lat - a.lat) + off_m / DEGREE_M
        return Place(lat=lat, lon=a.lon + share * (b.lon - a.lon))

    def write(self, folder: Path) -> Path:
        """Write the map as OpenStreetMap XML."""
        lines = ['<?xml version="1.0" encoding="UTF-8"?>', '<osm version="0.6">']
        number = {letter: i for i, letter in enumerate(sorted(self.points), start=1)}
        for letter, i in number.items():
            lines += _node(i, self.points[letter], self.point_tags.get(letter, {}))
        for i, (house, street, town, place) in enumerate(self.houses, start=1000):
            tags = {"addr:housenumber": house, "addr:street": street, "addr:city": town}
            lines += _node(i, place, {key: value for key, value in tags.items() if value})
        ways = {street: i for i, street in enumerate(self.streets, start=100)}
        for street, i in ways.items():
            refs = "".join(f'<nd ref="{number[letter]}"/>' for letter in street)
            lines.append(f'<way id="{i}">{refs}{_tags(self.streets[street])}</way>')
        for i, (kind, start, via, end) in enumerate(self.rules, start=500):
            members = [("way", ways[start], "from"), ("way", ways[end], "to")]
            if len(via) == 1:
                members.append(("node", number[via], "via"))
            else:
                members += [("way", ways[street], "via") for street in via.split()]
            inner = "".join(f'<member type="{t}" ref="{r}" role="{o}"/>' for t, r, o in members)
            value, *more = kind.split()
            tags = {"type": "restriction", "restriction": value}
            tags |= dict(word.split("=") for word in more)
            lines.append(f'<relation id="{i}">{inner}{_tags(tags)}</relation>')
        file = folder / "drawn.osm"
        file.write_text("\n".join([*lines, "</osm>"]), encoding="utf-8")
        return file

    def road_map(self, folder: Path, model: SpeedModel = NO_DELAYS) -> RoadMap:
        """Read the map back into arrays, without delays unless a model says otherwise."""
        return compact(read_streets(self.write(folder)), model, "drawn.osm")


def roads(picture: str) -> Drawing:
    """Return the map of a picture; its streets are named by their letters, as 'ab'."""
    rows = picture.strip("\n").split("\n")
    width = max(len(row) for row in rows)
    grid = [row.ljust(width) for row in rows]
    where = {
        (r, c): char
        for r, row in enumerate(grid)
        for c, char in enumerate(row)
        if char.isalpha() and char != "v"
    }
    drawing = Drawing({}, {})
    for (r, c), letter in where.items():
        drawing.points[letter] = Place(lat=-r * LINE_M / DEGREE_M, lon=c * COLUMN_M / DEGREE_M)
    for (r, c), letter in where.items():
        for step, line, marks in (((0, 1), "-", "><"), ((1, 0), "|", "v^")):
            run, end = _follow(grid, where, (r, c), step, line + marks)
            if not end or not run:
                continue
            tags = {"highway": "residential", "maxspeed": "40", "name": f"{letter}{end} street"}
            if marks[0] in run or marks[1] in run:
                tags["oneway"] = "yes" if marks[0] in run else "-1"
            drawing.streets[letter + end] = tags
    return drawing


def _follow(
    grid: list[str],
    where: dict[tuple[int, int], str],
    start: tuple[int, int],
    step: tuple[int, int],
    chars: str,
) -> tuple[str, str]:
    run = ""
    r, c = start[0] + step[0], start[1] + step[1]
    while r < len(grid) and c < len(grid[r]):
        if (r, c) in where:
            return run, where[r, c]
        if grid[r][c] not in chars:
            break
        run += grid[r][c]
        r, c = r + step[0], c + step[1]
    return "", ""


def _node(number: int, place: Place, tags: Tags) -> list[str]:
    return [
        f'<node id="{number}" version="1" lat="{place.lat:.9f}" lon="{place.lon:.9f}">'
        f"{_tags(tags)}</node>"
    ]


def _tags(tags: Tags) -> str:
    return "".join(f"<tag k={quoteattr(k)} v={quoteattr(v)}/>" for k, v in tags.items())
