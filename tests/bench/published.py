"""Published instances with capacities and time windows through the planner's own code.

    python -m tests.bench.published --data FOLDER [--seconds 60] [--seeds 3] [NAME ...]

NAME.vrp or NAME.txt is searched for in FOLDER and below it, with the best known routes in NAME.sol
beside it. Formats and distances are those of `tests.bench.instances`; the routes of NAME.sol must
add up to their cost, which shows that distances are taken as the collection takes them. Printed are
mean and worst cost over the seeds against the best known, and CPU seconds of one run.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

import numpy as np

from dispatch.planning.check import violations
from dispatch.planning.warm import compile_search
from dispatch.planning.week import plan_problem
from tests.bench.budget import rounds_in
from tests.bench.instances import Instance, read_best, read_instance

NAMES = ("X-n101-k25", "X-n200-k36", "RC208")


def found(folder: Path, name: str) -> Path:
    """The file of an instance."""
    files = [file for kind in ("vrp", "txt") for file in sorted(folder.rglob(f"{name}.{kind}"))]
    if not files:
        raise SystemExit(f"There is no {name}.vrp or {name}.txt in {folder} or below it.")
    return files[0]


def length(instance: Instance, seconds: float, seed: int) -> tuple[float, int, float]:
    """Length of the plan of a seed, its unplaced visits and the CPU seconds it took."""
    rounds = rounds_in(instance.problem, seconds, seed)
    begin = time.process_time()
    plan = plan_problem(instance.problem, seed=seed, iterations=rounds)
    used = time.process_time() - begin
    if broken := violations(instance.problem, plan):
        raise SystemExit(f"The plan breaks rules: {broken[:3]}")
    return instance.length(plan), len(plan.unplaced), used


def run(file: Path, seconds: float, seeds: int) -> list[float]:
    """Plan one instance with every seed, print it, return the gaps in per cent."""
    instance = read_instance(file)
    best = read_best(file.with_suffix(".sol"), instance)
    lengths, unplaced, used = zip(
        *(length(instance, seconds, seed) for seed in range(1, seeds + 1)), strict=True
    )
    gaps = [100 * (one / best - 1) for one in lengths]
    lost = f", {max(unplaced)} visits unplaced" if any(unplaced) else ""
    print(
        f"{file.stem:12} {best:9.1f} {np.mean(lengths):9.1f} {max(lengths):9.1f} "
        f"{np.mean(gaps):+6.2f} % {max(gaps):+6.2f} % {np.mean(used):6.1f} s{lost}",
        flush=True,
    )
    return gaps


def main() -> None:
    """Run the instances named, or all of `NAMES`."""
    parser = argparse.ArgumentParser(description="Published instances")
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("names", nargs="*", default=list(NAMES))
    words = parser.parse_args()
    compile_search()
    print("name              best      mean     worst     mean    worst     CPU")
    for name in words.names:
        run(found(words.data, name), words.seconds, words.seeds)


if __name__ == "__main__":
    main()
