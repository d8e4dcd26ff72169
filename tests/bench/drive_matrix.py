"""Drive-time matrices of 1,000 places against SciPy and against the bare routing library.

    python -m tests.bench.drive_matrix [--metro] [FILE...]

Maps are the town of the demo, an invented area of 30,000 junctions, with --metro one of 300,000 (it
takes ten minutes), and each FILE given. Wall seconds, one core, best of three:

    setup     making the hierarchy, once for a map; then it is read from the disk
    read      reading it
    ours      1,000 x 1,000 drives, seconds and metres, from place to place
    bare      pyroutingkit's own many-to-many call, times alone, on the same turns between as many
              directed edges; its own setup is not counted either
    SciPy     Dijkstra on the same turns, from 50 places times 20
    new site  one place more in a matrix of 1,000 on the disk: all of it, file and all
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

import numpy as np
from pyroutingkit import CCHMetric, CCHTopology

from dispatch.drive.compact import compact
from dispatch.drive.graph import RoadMap
from dispatch.drive.hierarchy import hierarchy, stored_hierarchy
from dispatch.drive.matrix import drive_matrix, drives
from dispatch.drive.osm import read_streets
from dispatch.drive.search import least_costs
from dispatch.drive.snap import Snap, snap_all
from dispatch.drive.speeds import SpeedModel
from dispatch.drive.turn_graph import SHIFT, TurnGraph, arrivals, departures, turn_graph
from sample_region import write as write_town
from sample_region.metro import write_metro
from tests.bench.drive_accuracy import random_places

PLACES = 1000
SEARCHES = 50  # Dijkstra searches of SciPy that are timed
COLUMNS = ("junctions", "turns", "setup", "read", "ours", "bare", "SciPy", "new site")


def seconds(work: Callable[[], object], times: int = 3) -> float:
    """Return the least wall seconds of some runs."""
    spent = []
    for _ in range(times):
        began = time.perf_counter()
        work()
        spent.append(time.perf_counter() - began)
    return min(spent)


def bare_s(graph: TurnGraph) -> float:
    """Return the seconds of the library's own call."""
    topology = CCHTopology()
    topology.build(
        graph.source.astype(np.uint32),
        graph.target.astype(np.uint32),
        graph.lat.astype(np.float32),
        graph.lon.astype(np.float32),
        len(graph.edge),
    )
    metric = CCHMetric(topology)
    metric.customize((graph.cost >> SHIFT).astype(np.uint32))
    nodes = np.random.default_rng(1).choice(len(graph.edge), PLACES, replace=False)
    chosen = nodes.astype(np.uint32)
    return seconds(lambda: metric.distances_many_to_many(chosen, chosen), times=2)


def new_site_s(road_map: RoadMap, snaps: dict[str, Snap], folder: Path) -> float:
    """Return the seconds that one more place takes, with the hierarchy in memory."""
    *most, last = sorted(snaps)
    drive_matrix(road_map, {place: snaps[place] for place in most}, folder)
    (file,) = folder.glob("matrix-*.npz")
    stored = file.read_bytes()

    def add() -> None:
        drive_matrix(road_map, snaps, folder)

    spent = []
    for _ in range(3):
        file.write_bytes(stored)
        spent.append(seconds(add, times=1))
    assert len(drive_matrix(road_map, snaps, folder).ids) == len(most) + 1
    assert last in snaps
    return min(spent)


def compile_kernels(road_map: RoadMap) -> None:
    """Have numba compile what is measured."""
    snaps, _ = snap_all(road_map, random_places(road_map, 3, 0.0, 1))
    places = list(snaps.values())
    drives(road_map, places, places, "hierarchy")
    drives(road_map, places, places[:1], "hierarchy")
    hierarchy.cache_clear()


def measure(name: str, road_map: RoadMap, folder: Path) -> None:
    """Print the row of one map."""
    graph = turn_graph(road_map)
    snaps, _ = snap_all(road_map, random_places(road_map, PLACES + 1, 0.0, 3))
    places = [snaps[place] for place in sorted(snaps)[:PLACES]]
    kept = folder / "kept.npz"
    setup = seconds(lambda: stored_hierarchy(graph, kept), times=1)
    read = seconds(lambda: stored_hierarchy(graph, kept))
    ready = stored_hierarchy(graph, kept)
    ours = seconds(lambda: drives(road_map, places, places, ready=ready))
    starts = [departures(road_map, place) for place in places[:SEARCHES]]
    ends = [arrivals(road_map, place) for place in places]
    plain = seconds(lambda: least_costs(graph, starts, ends, "scipy"), times=1)
    scipy = plain * PLACES / SEARCHES
    bare = bare_s(graph)
    new = new_site_s(road_map, snaps, folder)
    cells = [f"{name[:16]:16} {road_map.summary.nodes:9,} {len(graph.cost):9,}"]
    cells += [f"{value:9.3f}" for value in (setup, read, ours, bare, scipy, new)]
    print(*cells, f"{scipy / ours:10.1f} x {ours / bare:9.2f} x", flush=True)


def main() -> None:
    """Measure the maps and print a row for each."""
    parser = argparse.ArgumentParser(description="Drive-time matrices of 1,000 places")
    parser.add_argument("files", type=Path, nargs="*")
    parser.add_argument("--metro", action="store_true")
    words = parser.parse_args()
    print(f"{'map':16}", *(f"{name:>9}" for name in COLUMNS), " SciPy/ours  ours/bare")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_town(folder, date(2026, 11, 25))
        files = {"town": folder / "streets.osm.pbf"}
        for junctions in (30_000, 300_000) if words.metro else (30_000,):
            files[f"{junctions:,}"] = folder / f"{junctions}.osm.pbf"
            write_metro(files[f"{junctions:,}"], junctions)
        files |= {file.name.partition(".")[0]: file for file in words.files}
        for title, file in files.items():
            road_map = compact(read_streets(file), SpeedModel(), title)
            if title == "town":
                compile_kernels(road_map)
            with tempfile.TemporaryDirectory(dir=folder) as own:
                measure(title, road_map, Path(own))


if __name__ == "__main__":
    main()
