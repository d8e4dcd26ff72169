"""Drive times against an independent open engine on the same extracts.

    python -m tests.bench.drive_accuracy FILE... [--pairs 2000] [--seed 1] [--off-m 0]

Needs the extra `bench`: the wheel of pyvalhalla-weekly builds its own tiles of each FILE and
routes in process. Places are drawn at random along the streets on which a truck may stop, `--off-m`
metres aside at most. Printed is the relative difference of drive times after one factor for the
region (the ratio of the medians would favour long drives; taken is the median of the ratios):

    times     each program's own drive; where they part by more than 12 % on Helsinki, seven times
              in ten the engine goes round a cobbled street that is quicker by its own clock
    quickest  the same, but where our way is quicker than the engine's by the engine's own clock,
              its time on our way: it weighs more than time, and prefers main streets
    streets   the engine's clock on our way, which tells speeds and delays from the choice of way
    unreached pairs for which the program finds no way, ours and theirs
    forbidden drives of ours that take a turn which a restriction of the file forbids at all hours

Both read the same streets: the engine drops a street whole that lost points where the extract was
clipped, and cannot tell the time of a rule with hours, so such streets and rules are taken out
first. By default the engine moves a place within 5 m of a junction onto it, from where all its
streets lead on; here both start from the same spot. The engine builds without borders and so takes
every country for one of left-hand traffic; our map for the comparison is built the same way.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import math
import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import osmium

from dispatch.drive.compact import compact
from dispatch.drive.graph import RoadMap
from dispatch.drive.matrix import compute_matrix
from dispatch.drive.osm import read_streets
from dispatch.drive.paths import leg_line
from dispatch.drive.snap import snap_all
from dispatch.drive.speeds import SpeedModel
from dispatch.places import EARTH_RADIUS_M, Place

METRE_DEG = 180 / math.pi / EARTH_RADIUS_M
HOURS = {"hour_on", "hour_off", "day_on", "day_off", "time", "restriction:conditional"}
Floats = npt.NDArray[np.float64]
COLUMNS = ("times", "quickest", "streets")
Point = tuple[float, float]  # lon, lat rounded to 1e-6 degrees, 0.1 m


@dataclass(frozen=True, slots=True)
class Compared:
    """Seconds by pair; NaN where there is no way."""

    ours_s: Floats
    theirs_s: Floats
    theirs_on_our_way_s: Floats
    forbidden: int


def random_places(road_map: RoadMap, count: int, off_m: float, seed: int) -> dict[str, Place]:
    """Return places evenly along the streets on which a truck may stop."""
    chance = random.Random(seed)
    weights = (road_map.length_dm * road_map.stopping).tolist()
    places = {}
    for i, edge in enumerate(chance.choices(range(len(weights)), weights=weights, k=count)):
        line = road_map.line(edge)
        at = chance.random() * (len(line) - 1)
        lon, lat = line[int(at)] + (line[int(at) + 1] - line[int(at)]) * (at % 1)
        aside = [chance.uniform(-off_m, off_m) * METRE_DEG for _ in range(2)]
        lon += aside[0] / math.cos(math.radians(lat))
        places[f"p{i:05}"] = Place(lat=float(lat + aside[1]), lon=float(lon))
    return places


class Engine:
    """The engine on tiles of one extract."""

    def __init__(self, file: Path, folder: Path) -> None:
        import valhalla

        tiles, settings = folder / "tiles", folder / "settings.json"
        tiles.mkdir()
        words = valhalla.get_config(tile_dir=str(tiles), tile_extract="", verbose=False)
        settings.write_text(json.dumps(words))
        build = Path(valhalla.__file__).parent / "bin" / "valhalla_build_tiles"
        done = subprocess.run(  # noqa: S603 - the wheel's own tile builder
            [str(build), "-c", str(settings), str(file)], capture_output=True, check=False
        )
        if done.returncode:
            raise SystemExit(f"The engine cannot build tiles of {file}: {done.stderr[-500:]!r}")
        self._actor = valhalla.Actor(settings)

    def drive(self, start: Place, end: Place) -> float:
        """Return the seconds of its own drive."""
        words = {
            "locations": [
                {"lat": place.lat, "lon": place.lon, "node_snap_tolerance": 0}
                for place in (start, end)
            ],
            "costing": "auto",
            "directions_type": "none",
        }
        return self._seconds(self._actor.route, words)

    def along(self, line: Sequence[tuple[float, float]], length_m: float) -> float:
        """Return the seconds of a drive along a given line, NaN where it was not matched."""
        words = {
            "shape": [{"lat": lat, "lon": lon} for lon, lat in line],
            "costing": "auto",
            "shape_match": "walk_or_snap",
            "trace_options": {"search_radius": 5, "gps_accuracy": 2},
            "directions_type": "none",
        }
        return self._seconds(self._actor.trace_route, words, length_m)

    @staticmethod
    def _seconds(ask: Any, words: dict[str, Any], length_m: float | None = None) -> float:
        try:
            found = ask(words)["trip"]["summary"]
        except RuntimeError:  # the engine's only word for "no way"
            return math.nan
        if length_m is not None and abs(found["length"] * 1000 - length_m) > 0.03 * length_m:
            return math.nan
        return float(found["time"]) or math.nan


def whole_streets(file: Path, kept: Path) -> None:
    """Write an extract without streets that lost points, and without turn rules that have hours."""
    things: Any = osmium.FileProcessor(str(file)).with_locations()
    with osmium.SimpleWriter(str(kept)) as writer:
        for thing in things:
            if thing.is_way() and not all(node.location.valid() for node in thing.nodes):
                continue
            if thing.is_relation() and HOURS & {tag.k for tag in thing.tags}:
                continue
            writer.add(thing)


def banned_turns(file: Path) -> set[tuple[Point, Point, Point]]:
    """Return each turn that a restriction via a point forbids at all hours, as three points.

    Read here once more, apart from the reader that is judged: the points before, at and after the
    turn. Restrictions that exempt cars, hold at some hours only, or go by way of a street are
    passed over, and so are 'only' rules.
    """
    rules, ways = [], {}
    things: Any = osmium.FileProcessor(str(file)).with_locations()
    for thing in things:
        if thing.is_way() and "highway" in thing.tags:
            ways[thing.id] = [
                (n.ref, round(n.lon, 6), round(n.lat, 6)) for n in thing.nodes if n.location.valid()
            ]
        elif thing.is_relation() and thing.tags.get("type") == "restriction":
            tags = dict(thing.tags)
            if tags.get("restriction", "").startswith("no_") and "except" not in tags:
                rules.append([(m.role, m.type, m.ref) for m in thing.members])
    found = set()
    for members in rules:
        via = [ref for role, kind, ref in members if (role, kind) == ("via", "n")]
        sides = [[ref for role, _, ref in members if role == side] for side in ("from", "to")]
        if len(via) == 1 and all(len(side) == 1 for side in sides):
            before, after = (_beside(ways.get(side[0], []), via[0]) for side in sides)
            found |= {(a[0], a[1], b[0]) for a in before for b in after}
    return {turn for turn in found if turn[0] != turn[2]}


def _beside(way: list[tuple[int, float, float]], via: int) -> list[tuple[Point, Point]]:
    """Return the neighbour of the end `via` of a way, with the end itself."""
    ends = [(way[1], way[0]), (way[-2], way[-1])] if len(way) > 1 else []
    return [((near[1], near[2]), (end[1], end[2])) for near, end in ends if end[0] == via]


@contextlib.contextmanager
def silence() -> Iterator[None]:
    """Keep what the engine's library writes off the screen."""
    sys.stdout.flush()
    kept = [os.dup(1), os.dup(2)]
    with Path(os.devnull).open("w") as nothing:
        os.dup2(nothing.fileno(), 1)
        os.dup2(nothing.fileno(), 2)
        try:
            yield
        finally:
            for number, saved in zip((1, 2), kept, strict=True):
                os.dup2(saved, number)
                os.close(saved)


def compare(file: Path, pairs: int, seed: int, off_m: float) -> Compared:
    """Drive all pairs with both programs."""
    with tempfile.TemporaryDirectory() as name:
        kept = Path(name) / "whole.osm.pbf"
        whole_streets(file, kept)
        return _compare(kept, Path(name), pairs, seed, off_m)


def _compare(file: Path, folder: Path, pairs: int, seed: int, off_m: float) -> Compared:
    road_map = compact(read_streets(file), SpeedModel(drives_on_right=False), file.name)
    places = random_places(road_map, 2 * pairs, off_m, seed)
    snaps, problems = snap_all(road_map, places)
    ids = sorted(places)
    drives = list(zip(ids[:pairs], ids[pairs:], strict=True))
    matrix = compute_matrix(road_map, snaps)
    row = {place: i for i, place in enumerate(matrix.ids)}
    ours, theirs, on_our_way = (np.full(pairs, np.nan) for _ in range(3))
    lines = []
    with silence():
        engine = Engine(file, folder)
        for i, (start, end) in enumerate(drives):
            theirs[i] = engine.drive(places[start], places[end])
            if start in problems or end in problems:
                continue
            ours[i] = matrix.drive_s[row[start], row[end]]
            lines.append(leg_line(road_map, snaps[start], snaps[end]))
            length_m = float(matrix.drive_m[row[start], row[end]])
            on_our_way[i] = engine.along(lines[-1], length_m)
    return Compared(ours, theirs, on_our_way, _forbidden(lines, banned_turns(file)))


def _forbidden(lines: list[list[Point]], banned: set[tuple[Point, Point, Point]]) -> int:
    count = 0
    for line in lines:
        points = [(round(lon, 6), round(lat, 6)) for lon, lat in line]
        count += any((a, b, c) in banned for (a, b), (_, c) in pairwise(pairwise(points)))
    return count


def differences(ours_s: Floats, theirs_s: Floats) -> tuple[float, float, float]:
    """Return the region's factor, and median and 90th percentile of the relative difference."""
    both = np.isfinite(ours_s) & np.isfinite(theirs_s) & (ours_s > 0)
    factor = float(np.median(theirs_s[both] / ours_s[both]))
    apart = np.abs(ours_s[both] * factor / theirs_s[both] - 1)
    return factor, float(np.median(apart)), float(np.quantile(apart, 0.9))


def main() -> None:
    """Compare on each file and print one line for it."""
    parser = argparse.ArgumentParser(description="Drive times against an open engine")
    parser.add_argument("files", type=Path, nargs="+")
    parser.add_argument("--pairs", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--off-m", type=float, default=0.0)
    words = parser.parse_args()
    print(f"{words.pairs} pairs each".ljust(20), *(f"{name:^19}" for name in COLUMNS))
    print(f"{'map':20}", *["factor median   p90"] * 3, "unreached  forbidden   CPU")
    for file in words.files:
        begin = time.process_time()
        found = compare(file, words.pairs, words.seed, words.off_m)
        cells = [f"{file.name.partition('.')[0][:20]:20}"]
        quickest_s = np.fmin(found.theirs_s, found.theirs_on_our_way_s)
        for theirs_s in (found.theirs_s, quickest_s, found.theirs_on_our_way_s):
            factor, median, p90 = differences(found.ours_s, theirs_s)
            cells.append(f"{factor:6.3f} {median:6.1%} {p90:5.1%}")
        lost = [int(np.isnan(seconds).sum()) for seconds in (found.ours_s, found.theirs_s)]
        cells.append(f"{lost[0]:4} {lost[1]:5}  {found.forbidden:8}")
        print(" ".join(cells), f"{time.process_time() - begin:4.0f} s", flush=True)


if __name__ == "__main__":
    main()
