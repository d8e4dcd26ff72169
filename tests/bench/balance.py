"""The curve between even hours and driving, each point against a long run.

    python -m tests.bench.balance [--longer 8] [--seed 0] [--demo FOLDER] [400/8 ...]

The weeks are those of `tests.bench.company`; with `--demo`, also the coming week of the data folder
of a demo (`dispatch demo --no-serve` makes one). Printed are for each band: how far the most uneven
week lies from its fair share, the spread between the weeks, driving, the cost without the price of
unevenness, visits unplaced, and that cost as a ratio to the same point of a curve with many times
as many rounds. A ratio below 1 is a point that the longer run did not find, or that it could only
undercut in evenness; both reaches are printed.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator
from pathlib import Path

from dispatch.actions.week_inputs import laid_out, read_inputs
from dispatch.clock import IsoWeek
from dispatch.planning.balance import BalancePoint, balance_curve, curve_rounds
from dispatch.planning.problem import Problem
from dispatch.planning.warm import compile_search
from dispatch.settings import Settings
from dispatch.store.db import make_engine, transaction
from tests.bench.company import HOUR, Size, company

BANDS_S = tuple(60 * minutes for minutes in Settings.model_fields["even_bands_min"].default)


def demo_week(folder: Path) -> Problem:
    """The planned week of a demo."""
    settings = Settings(data_dir=folder)
    engine = make_engine(settings)
    week = IsoWeek.of(settings.today()).next
    with transaction(engine, read_only=True) as session:
        inputs = read_inputs(session, settings, week, settings.today())
    engine.dispose()
    return laid_out(settings, week, settings.today(), inputs)


def problems(sizes: list[str], seed: int, demo: Path | None) -> Iterator[tuple[str, Problem]]:
    """The weeks by name."""
    for size in map(Size.parse, sizes):
        yield str(size), company(size, seed)
    if demo is not None:
        yield "demo", demo_week(demo)


def curve(problem: Problem, rounds: int) -> tuple[tuple[BalancePoint, ...], float]:
    """A curve, and the CPU seconds it took."""
    begin = time.process_time()
    points = balance_curve(problem, BANDS_S, iterations=rounds)
    return points, time.process_time() - begin


def run(name: str, problem: Problem, longer: int) -> None:
    """Print the curve of one week."""
    rounds = curve_rounds(problem)
    points, used_s = curve(problem, rounds)
    long, long_s = curve(problem, rounds * longer)
    print(f"{name}: {used_s:.0f} s of CPU, the long run {long_s:.0f} s")
    print(" band min  farthest (long) min  spread min  driving h   cost h  unplaced  ratio")
    for point, best in zip(points, long, strict=True):
        band = "any" if point.band_s is None else f"{point.band_s / 60:.0f}"
        print(
            f"{band:>9} {point.farthest_s / 60:9.1f} ({best.farthest_s / 60:6.1f}) "
            f"{point.spread_s / 60:12.1f} {point.plan.drive_s / HOUR:10.2f} "
            f"{point.cost_s / HOUR:8.2f} {len(point.plan.unplaced):9} "
            f"{point.cost_s / best.cost_s:6.4f}",
            flush=True,
        )


def main() -> None:
    """Run the weeks named."""
    parser = argparse.ArgumentParser(description="The curve between even hours and driving")
    parser.add_argument("--longer", type=int, default=8, help="rounds of the reference, times")
    parser.add_argument("--seed", type=int, default=0, help="of the companies")
    parser.add_argument("--demo", type=Path, default=None, help="data folder of a demo")
    parser.add_argument("sizes", nargs="*", help="400/8 unless a demo is named")
    words = parser.parse_args()
    sizes = words.sizes or ([] if words.demo else ["400/8"])
    compile_search()
    for name, problem in problems(sizes, words.seed, words.demo):
        run(name, problem, words.longer)


if __name__ == "__main__":
    main()
