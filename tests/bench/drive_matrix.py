"""Drive-time matrices of 1,000 places against SciPy and against the bare routing library.

    python -m tests.bench.drive_matrix [--metro] [FILE...]

Maps are the town of the demo, an invented area of 30,000 junctions, with --metro one of 300,000 (it
takes a quarter of an hour), and each FILE given. CPU seconds of one core, user and system, which
other work on the machine disturbs least; the best of three where it is short:

    setup     making the hierarchy, once for a map, with it if it is large; then read from the disk
    ours      1,000 x 1,000 drives, seconds and metres, from place to place
    bare      pyroutingkit's own many-to-many call, times alone, on the same turns between as many
              directed edges; its own setup is not counted either
    SciPy     Dijkstra on the same turns, from 50 places times 20
    first     the first matrix as the service asks for it: hierarchy read or made, 1,000 x 1,000
    new site  one place more in a matrix of 1,000 on the disk: all of it, file and all
    GB        most memory of a process that does the last two, map and all

What is to be kept to: SciPy/ours 8 on the town and 4 on 30,000 junctions, ours/bare 1.5; on 300,000
junctions a new site in 0.2 s and 1 GB. Building, asking and comparing are processes of their own.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

import numpy as np
from pyroutingkit import CCHMetric, CCHTopology

from dispatch.drive.build import build_road_map
from dispatch.drive.graph import RoadMap, load_road_map
from dispatch.drive.hierarchy import hierarchy
from dispatch.drive.matrix import drive_matrix, drives
from dispatch.drive.search import least_costs
from dispatch.drive.snap import Snap, snap_all
from dispatch.drive.turn_graph import SHIFT, TurnGraph, arrivals, departures, turn_graph
from sample_region import write as write_town
from sample_region.metro import write_metro
from tests.bench.drive_accuracy import random_places
from tests.bench.map_build import peak_gb

PLACES = 1000
SEARCHES = 50  # Dijkstra searches of SciPy that are timed
COLUMNS = ("junctions", "turns", "setup", "ours", "bare", "SciPy", "first", "new site", "GB")


def seconds(work: Callable[[], object], times: int = 3) -> float:
    """Return the least CPU seconds of some runs."""
    spent = []
    for _ in range(times):
        began = time.process_time()
        work()
        spent.append(time.process_time() - began)
    return min(spent)


def bare_s(graph: TurnGraph) -> float:
    """Return the seconds of the library's own call."""
    roads = graph.roads
    head = roads.head[graph.edge]
    topology = CCHTopology()
    topology.build(
        graph.source.astype(np.uint32),
        graph.target.astype(np.uint32),
        roads.node_lat[head].astype(np.float32),
        roads.node_lon[head].astype(np.float32),
        len(graph.edge),
    )
    metric = CCHMetric(topology)
    metric.customize((graph.cost >> SHIFT).astype(np.uint32))
    nodes = np.random.default_rng(1).choice(len(graph.edge), PLACES, replace=False)
    chosen = nodes.astype(np.uint32)
    return seconds(lambda: metric.distances_many_to_many(chosen, chosen), times=2)


def new_site_s(road_map: RoadMap, snaps: dict[str, Snap], folder: Path, cache: Path) -> float:
    """Return the seconds that one more place takes, with a matrix of the others in the cache."""
    (file,) = cache.glob("matrix-*.npz")
    stored = file.read_bytes()
    spent = []
    for _ in range(5):
        file.write_bytes(stored)
        spent.append(seconds(lambda: drive_matrix(road_map, snaps, cache, folder), times=1))
    return min(spent)


def ask(folder: Path) -> dict[str, float]:
    """Ask a built map as the service does."""
    road_map = load_road_map(folder)
    snaps, _ = snap_all(road_map, random_places(road_map, PLACES + 1, 0.0, 3))
    most = {place: snaps[place] for place in sorted(snaps)[:PLACES]}
    with tempfile.TemporaryDirectory() as name:
        cache = Path(name)
        first = seconds(lambda: drive_matrix(road_map, most, cache, folder), times=1)
        new = new_site_s(road_map, snaps, folder, cache)
    return {"first": first, "new site": new, "GB": peak_gb()}


def compare(folder: Path) -> dict[str, float]:
    """Compare with SciPy and the bare library."""
    road_map = load_road_map(folder)
    graph = turn_graph(road_map)
    snaps, _ = snap_all(road_map, random_places(road_map, PLACES, 0.0, 3))
    places = [snaps[place] for place in sorted(snaps)]
    setup = seconds(lambda: hierarchy(graph), times=1)
    ready = hierarchy(graph)
    ours = seconds(lambda: drives(road_map, places, places, ready=ready))
    starts = [departures(road_map, place) for place in places[:SEARCHES]]
    ends = [arrivals(road_map, place) for place in places]
    plain = seconds(lambda: least_costs(graph, starts, ends, "scipy"), times=1)
    scipy = plain * PLACES / SEARCHES
    words = {"junctions": road_map.summary.nodes, "turns": len(graph.cost), "setup": setup}
    return words | {"ours": ours, "bare": bare_s(graph), "SciPy": scipy}


def warm(folder: Path) -> dict[str, float]:
    """Have numba compile what is measured; its code is kept on the disk."""
    road_map = load_road_map(folder)
    snaps, _ = snap_all(road_map, random_places(road_map, 3, 0.0, 1))
    places = list(snaps.values())
    drives(road_map, places, places, "hierarchy")
    drives(road_map, places, places[:1], "hierarchy")
    return {}


def build(file: Path, folder: Path) -> dict[str, float]:
    """Build a map."""
    build_road_map(file, folder)
    return {}


def draw(file: Path, junctions: Path) -> dict[str, float]:
    """Draw an invented area; apart, as peak memory is handed down to processes that one starts."""
    write_metro(file, int(junctions.name))
    return {}


STEPS: dict[str, Callable[..., dict[str, float]]] = {
    "draw": draw,
    "build": build,
    "warm": warm,
    "ask": ask,
    "compare": compare,
}


def in_own_process(*words: str) -> dict[str, float]:
    """Run one step by itself and return what it measured."""
    command = [sys.executable, "-m", "tests.bench.drive_matrix", "--step", *words]
    done = subprocess.run(  # noqa: S603 - our own words
        command, stdout=subprocess.PIPE, text=True, check=True
    )
    measured: dict[str, float] = json.loads(done.stdout)
    return measured


def measure(title: str, file: Path, built: Path) -> None:
    """Print the row of one map."""
    in_own_process("build", str(file), str(built))
    if title == "town":
        in_own_process("warm", str(built))
    found = in_own_process("ask", str(built)) | in_own_process("compare", str(built))
    cells = [f"{title[:16]:16}", *(f"{int(found[name]):9,}" for name in COLUMNS[:2])]
    cells += [f"{found[name]:9.3f}" for name in COLUMNS[2:]]
    ratios = (found["SciPy"] / found["ours"], found["ours"] / found["bare"])
    print(*cells, f"{ratios[0]:10.1f} x {ratios[1]:9.2f} x", flush=True)


def main() -> None:
    """Measure the maps and print a row for each."""
    parser = argparse.ArgumentParser(description="Drive-time matrices of 1,000 places")
    parser.add_argument("files", type=Path, nargs="*")
    parser.add_argument("--metro", action="store_true")
    parser.add_argument("--step", choices=STEPS, help=argparse.SUPPRESS)
    words = parser.parse_args()
    if words.step:
        print(json.dumps(STEPS[words.step](*words.files)))
        return
    print(f"{'map':16}", *(f"{name:>9}" for name in COLUMNS), " SciPy/ours  ours/bare")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_town(folder, date(2026, 11, 25))
        files = {"town": folder / "streets.osm.pbf"}
        for junctions in (30_000, 300_000) if words.metro else (30_000,):
            files[f"{junctions:,}"] = folder / f"{junctions}.osm.pbf"
            in_own_process("draw", str(files[f"{junctions:,}"]), str(junctions))
        files |= {file.name.partition(".")[0]: file for file in words.files}
        for title, file in files.items():
            measure(title, file, folder / f"built-{file.name}")


if __name__ == "__main__":
    main()
