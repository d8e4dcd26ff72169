"""Building street maps of growing size, and holding them in memory.

    python -m tests.bench.map_build [--junctions 3000 30000 300000]

Extracts are drawn by the repository's own generator of metropolitan areas. Each build, and each
use of the built map, runs in a process of its own, so that its peak memory is its own. Printed are
CPU seconds (user and system, imports included), peak memory, and by what they grow from size to
size against the number of junctions.
"""

from __future__ import annotations

import argparse
import json
import random
import resource
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

MOST_CPU_S, MOST_BUILD_GB, MOST_USE_GB = 100.0, 3.0, 1.0  # what is to be kept to at 300,000
SITES = 100  # places between which the built map is asked for drive times


@dataclass(frozen=True, slots=True)
class Row:
    """One size: junctions and edges, then CPU seconds and peak gigabytes of build and use."""

    junctions: int
    edges: int
    build_s: float
    build_gb: float
    use_s: float
    use_gb: float


def build(file: Path, folder: Path) -> dict[str, float]:
    """Build a map."""
    from dispatch.drive.build import build_road_map

    summary = build_road_map(file, folder, tell).summary
    return {"junctions": summary.nodes, "edges": summary.edges}


def use(folder: Path) -> dict[str, float]:
    """Load a map as the service does, and ask it for drive times and a line."""
    from dispatch.drive.graph import load_road_map
    from dispatch.drive.matrix import drive_matrix
    from dispatch.drive.paths import leg_line
    from dispatch.drive.snap import snap_all
    from dispatch.places import Place

    roads = load_road_map(folder)
    tell("Loaded")
    chance = random.Random(7)
    places = {}
    for i in range(SITES):
        lon, lat = roads.line(chance.randrange(len(roads.tail)))[0].tolist()
        places[f"site:{i}"] = Place(lat=lat, lon=lon)
    snaps, _ = snap_all(roads, places)
    tell(f"Put {SITES} sites on their streets")
    leg_line(roads, *list(snaps.values())[:2])
    tell("Drawn a leg")
    with tempfile.TemporaryDirectory() as cache:
        drive_matrix(roads, snaps, Path(cache), folder)
    tell("Computed their drive times")
    return {}


def tell(stage: str) -> None:
    """Say what has been used so far."""
    print(f"  {time.process_time():6.1f} CPU-s {peak_gb():5.2f} GB  {stage}", file=sys.stderr)


def peak_gb() -> float:
    """Return the most memory this process ever held, in GB of 10^9 bytes."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / 1e9 if sys.platform == "darwin" else peak * 1024 / 1e9  # bytes there, KiB here


def in_own_process(*words: str) -> dict[str, float]:
    """Run one step by itself and return what it measured."""
    command = [sys.executable, "-m", "tests.bench.map_build", "--step", *words]
    done = subprocess.run(  # noqa: S603 - our own words
        command, stdout=subprocess.PIPE, text=True, check=True
    )
    measured: dict[str, float] = json.loads(done.stdout)
    return measured


def measure(junctions: int, folder: Path) -> Row:
    """Draw, build and use a map of one size."""
    file, built = folder / f"{junctions}.osm.pbf", folder / f"{junctions}"
    # In a process of its own too: peak memory is handed down to the processes that one starts.
    words = ["-m", "sample_region.metro", "--junctions", str(junctions), str(file)]
    subprocess.run([sys.executable, *words], check=True)  # noqa: S603 - our own words
    print(f"{junctions:,} junctions asked for, {file.stat().st_size / 1e6:.1f} MB", file=sys.stderr)
    done = in_own_process("build", str(file), str(built))
    used = in_own_process("use", str(built))
    return Row(
        int(done["junctions"]),
        int(done["edges"]),
        *(done[key] for key in ("cpu_s", "peak_gb")),
        *(used[key] for key in ("cpu_s", "peak_gb")),
    )


def show(rows: list[Row]) -> None:
    """Print the table; growth is to the power of 1 where it keeps pace with the junctions."""
    print("junctions     edges   build CPU-s  growth   build GB   use CPU-s   use GB")
    for i, row in enumerate(rows):
        before = rows[i - 1] if i else row
        growth = (row.build_s / before.build_s) / (row.junctions / before.junctions)
        print(
            f"{row.junctions:9,} {row.edges:9,} {row.build_s:12.1f} {growth:7.2f} "
            f"{row.build_gb:10.2f} {row.use_s:11.1f} {row.use_gb:8.2f}"
        )
    last = rows[-1]
    print("\nmost at 300,000:  CPU-s 100, build 3 GB, use 1 GB; share of it at the largest size:")
    print(
        f"{last.build_s / MOST_CPU_S:.2f} CPU, {last.build_gb / MOST_BUILD_GB:.2f} build, "
        f"{last.use_gb / MOST_USE_GB:.2f} use"
    )


def run_step(name: str, paths: list[Path]) -> None:
    """Run one step of this process and print what it measured."""
    result = build(*paths) if name == "build" else use(*paths)
    print(json.dumps(result | {"cpu_s": time.process_time(), "peak_gb": peak_gb()}))


def main() -> None:
    """Read the command line and measure."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--junctions", type=int, nargs="+", default=[3_000, 30_000, 300_000])
    parser.add_argument("--step", nargs="+", help=argparse.SUPPRESS)
    words = parser.parse_args()
    if words.step:
        run_step(words.step[0], [Path(word) for word in words.step[1:]])
        return
    with tempfile.TemporaryDirectory() as folder:
        show([measure(junctions, Path(folder)) for junctions in words.junctions])


if __name__ == "__main__":
    main()
