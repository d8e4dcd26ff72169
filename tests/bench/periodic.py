"""Published periodic routing instances through the planner's own code.

    python -m tests.bench.periodic --data FOLDER [--seconds 60] [NAME ...]

FOLDER holds instances in the format of Cordeau, Gendreau and Laporte, Networks 30 (1997), read by
`tests.bench.instances`. Printed is the cost in double precision, recomputed from the order of the
stops, against the best known value (from memory of Vidal et al., Operations Research 60, 2012), and
CPU seconds.
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
from tests.bench.instances import read_instance

BEST_KNOWN = {
    "p01": 524.61,
    "p02": 1322.87,
    "p05": 2024.96,
    "p08": 2022.47,
    "p14": 954.81,
    "p17": 1597.75,
    "p21": 2170.61,
    "p26": 3795.32,
    "pr01": 2209.02,
    "pr04": 5877.37,
    "pr07": 4996.14,
}


def run(file: Path, seconds: float) -> float:
    """Plan one instance in about `seconds` CPU seconds, print it, return the gap in per cent."""
    instance = read_instance(file)
    rounds = rounds_in(instance.problem, seconds)
    begin = time.process_time()
    plan = plan_problem(instance.problem, iterations=rounds)
    used = time.process_time() - begin
    if broken := violations(instance.problem, plan):
        raise SystemExit(f"{file.stem}: the plan breaks rules: {broken[:3]}")
    found, best = instance.length(plan), BEST_KNOWN[file.stem]
    gap = 100 * (found / best - 1)
    lost = f", {len(plan.unplaced)} visits unplaced" if plan.unplaced else ""
    print(f"{file.stem:6} {found:9.2f} {best:9.2f} {gap:+6.2f} % {used:6.0f} s{lost}", flush=True)
    return gap


def main() -> None:
    """Run the instances named, or all that are known, and print the mean gap."""
    parser = argparse.ArgumentParser(description="Published periodic instances")
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("names", nargs="*", default=list(BEST_KNOWN))
    words = parser.parse_args()
    compile_search()
    print("name       found      best      gap     CPU")
    gaps = [run(words.data / f"{name}.txt", words.seconds) for name in words.names]
    print(f"mean gap {np.mean(gaps):+.2f} %, worst {max(gaps):+.2f} %")


if __name__ == "__main__":
    main()
