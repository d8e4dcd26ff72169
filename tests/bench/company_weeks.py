"""Weeks of made-up companies: how soon there is a plan, and how good the usual one is.

    python -m tests.bench.company_weeks [--longer 8] [--seconds 60] [--seed 0] [--far]
                                        [SITES/TECHNICIANS ...]

The weeks are those of `tests.bench.company`; with `--far` pools lie far apart. Printed are CPU
seconds of the first plan (written down and explained), search rounds per CPU second after it, CPU
seconds and driving of the plan with the usual number of rounds, visits unplaced in the first and
the usual plan, the cost of the usual plan as a ratio to one with many times as many rounds from the
same run, and the most memory held. With `--seconds` the usual plan has as many rounds as take so
many CPU seconds, whatever the size of the week.
"""

from __future__ import annotations

import argparse
import time

from dispatch.planning.check import violations
from dispatch.planning.plan import WeekPlan
from dispatch.planning.problem import Problem
from dispatch.planning.search import iterations_for
from dispatch.planning.warm import compile_search
from dispatch.planning.week import plan_problem
from tests.bench.budget import rounds_in
from tests.bench.company import CLOSE, FAR, HOUR, Area, Size, company
from tests.bench.peers.apart import peak_mb


def timed(problem: Problem, rounds: int) -> tuple[WeekPlan, float]:
    """A plan that breaks no rule, and the CPU seconds it took."""
    begin = time.process_time()
    plan = plan_problem(problem, iterations=rounds)
    used = time.process_time() - begin
    if broken := violations(problem, plan):
        raise SystemExit(f"The plan breaks rules: {broken[:3]}")
    return plan, used


def run(size: Size, seed: int, longer: int, seconds: float | None, area: Area) -> None:
    """Print one row."""
    problem = company(size, seed, area=area)
    rounds = iterations_for(problem) if seconds is None else rounds_in(problem, seconds)
    first, first_s = timed(problem, 0)
    usual, usual_s = timed(problem, rounds)
    rate = rounds / max(usual_s - first_s, 1e-9)
    lost = f"{len(first.unplaced)}, {len(usual.unplaced)}"
    ratio = ""
    if longer > 1:
        best, _ = timed(problem, rounds * longer)
        ratio = f"{usual.cost_s / best.cost_s:10.4f}"
    print(
        f"{size!s:>8} {first_s:8.2f} s {rate:9,.0f} {usual_s:8.1f} s {usual.drive_s / HOUR:8.1f} h "
        f"{lost:>9} {ratio:>10} {peak_mb():6.0f}",
        flush=True,
    )


def main() -> None:
    """Run the sizes named."""
    parser = argparse.ArgumentParser(description="Weeks of made-up companies")
    parser.add_argument("--longer", type=int, default=8, help="rounds of the reference, times")
    parser.add_argument("--seconds", type=float, help="CPU seconds of the usual plan")
    parser.add_argument("--seed", type=int, default=0, help="of the company")
    parser.add_argument("--far", action="store_true", help="pools far apart, shifts nearly full")
    parser.add_argument("sizes", nargs="*", default=["150/4", "400/8", "1000/15"])
    words = parser.parse_args()
    compile_search()
    print("sites/crew first plan  rounds/s    usual     driving  unplaced  usual/long     MB")
    for size in map(Size.parse, words.sizes):
        run(size, words.seed, words.longer, words.seconds, FAR if words.far else CLOSE)


if __name__ == "__main__":
    main()
