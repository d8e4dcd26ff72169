"""Weeks of made-up companies: how soon there is a plan, and how good the usual one is.

    python -m tests.bench.company_weeks [--longer 8] [--seconds 60] [--seed 0] [--far]
                                        [--searches 4] [--keep] [SITES/TECHNICIANS ...]

The weeks are those of `tests.bench.company`; with `--far` pools lie far apart. Printed are CPU
seconds of the first plan (written down and explained), search rounds per CPU second after it, CPU
seconds and driving of the plan with the usual number of rounds, visits unplaced in the first and
the usual plan, the cost of the usual plan as a ratio to one with `--longer` times as many rounds
and to the best plan ever found (see `tests.bench.best_plans`; the longer one counts as found), its
driving as a ratio to the driving of that plan, upkeep put off in both, and the most memory held.
Where a plan costs more than its longer drives say, most of the rest is upkeep put off or late.

With `--seconds` the usual plan has as many rounds as take so many CPU seconds, whatever the size of
the week; with `--searches` there are so many usual plans, each from chances of its own, and a line
of their means. With `--keep` a better plan is written down as the best ever found.
"""

from __future__ import annotations

import argparse
import math
import time
from collections.abc import Mapping
from statistics import fmean
from typing import NamedTuple

from dispatch.planning.check import violations
from dispatch.planning.plan import WeekPlan
from dispatch.planning.problem import Problem
from dispatch.planning.search import Assignment, iterations_for, search
from dispatch.planning.warm import compile_search
from dispatch.planning.week import write_plan
from tests.bench.best_plans import Week, best_plan, keep
from tests.bench.budget import rounds_in
from tests.bench.company import HOUR, Size
from tests.bench.peers.apart import peak_mb


class Found(NamedTuple):
    """A plan that breaks no rule, and the CPU seconds it took."""

    assignment: Assignment
    plan: WeekPlan
    used_s: float


def timed(problem: Problem, rounds: int, seed: int = 1) -> Found:
    """Search, write down and judge."""
    begin = time.process_time()
    assignment = search(problem, seed=seed, iterations=rounds)
    plan = write_plan(problem, assignment, seed)
    used_s = time.process_time() - begin
    if broken := violations(problem, plan):
        raise SystemExit(f"The plan breaks rules: {broken[:3]}")
    return Found(assignment, plan, used_s)


def run(week: Week, longer: int, seconds: float | None, searches: int, keeps: bool) -> None:
    """Print the rows of a week."""
    problem = week.problem()
    rounds = iterations_for(problem) if seconds is None else rounds_in(problem, seconds)
    first = timed(problem, 0)
    usual = [timed(problem, rounds, seed) for seed in range(1, searches + 1)]
    found = {f"{rounds:,} rounds, seed {n}": one for n, one in enumerate(usual, 1)}
    long_s = math.nan
    if longer > 1:
        long = found[f"{rounds * longer:,} rounds, seed 1"] = timed(problem, rounds * longer)
        long_s = long.plan.cost_s
    best = _best(week, problem, found, keeps)
    rows = [_row(rounds, first, one, long_s, best) for one in usual]
    for row in rows:
        _show(str(week.size), row)
    if searches > 1:
        _show("mean", Row(*(fmean(column) for column in zip(*rows, strict=True))))


def _best(week: Week, problem: Problem, found: Mapping[str, Found], keeps: bool) -> WeekPlan | None:
    """The best plan kept or found; None where there is none but the one to compare."""
    how, one = min(found.items(), key=lambda pair: pair[1].plan.cost_s)
    kept = best_plan(week, problem)
    if kept is not None and kept.cost_s <= one.plan.cost_s:
        return kept
    if keeps:
        keep(week, problem, one.assignment, how)
    return one.plan if kept is not None or len(found) > 1 else None


class Row(NamedTuple):
    """What is printed of a usual plan, or means of several; a ratio to nothing is not a number."""

    first_s: float
    rate: float
    used_s: float
    drive_h: float
    first_unplaced: float
    unplaced: float
    to_long: float
    to_best: float
    drive_to_best: float
    put_off: float
    best_put_off: float


def _row(rounds: int, first: Found, one: Found, long_s: float, best: WeekPlan | None) -> Row:
    return Row(
        first.used_s,
        rounds / max(one.used_s - first.used_s, 1e-9),
        one.used_s,
        one.plan.drive_s / HOUR,
        len(first.plan.unplaced),
        len(one.plan.unplaced),
        one.plan.cost_s / long_s,
        *_to_best(one.plan, best),
    )


def _to_best(plan: WeekPlan, best: WeekPlan | None) -> tuple[float, float, int, float]:
    """Ratios of cost and driving to the best plan, and the upkeep that both put off."""
    if best is None:
        return math.nan, math.nan, len(plan.put_off), math.nan
    cost, drive = plan.cost_s / best.cost_s, plan.drive_s / best.drive_s
    return cost, drive, len(plan.put_off), len(best.put_off)


def _show(title: str, row: Row) -> None:
    asked = (row.to_long, row.to_best, row.drive_to_best)
    ratios = " ".join(f"{'' if math.isnan(one) else f'{one:.4f}':>10}" for one in asked)
    lost = f"{row.first_unplaced:g}, {row.unplaced:g}"
    best = "-" if math.isnan(row.best_put_off) else f"{row.best_put_off:g}"
    print(
        f"{title:>8} {row.first_s:8.2f} s {row.rate:9,.0f} {row.used_s:8.1f} s "
        f"{row.drive_h:8.1f} h {lost:>9} {ratios} "
        f"{f'{row.put_off:g}, {best}':>9} {peak_mb():6.0f}",
        flush=True,
    )


def main() -> None:
    """Run the sizes named."""
    parser = argparse.ArgumentParser(description="Weeks of made-up companies")
    parser.add_argument("--longer", type=int, default=8, help="rounds of the reference, times")
    parser.add_argument("--seconds", type=float, help="CPU seconds of the usual plan")
    parser.add_argument("--seed", type=int, default=0, help="of the company")
    parser.add_argument("--searches", type=int, default=1, help="usual plans of each week")
    parser.add_argument("--keep", action="store_true", help="write better plans down as the best")
    parser.add_argument("--far", action="store_true", help="pools far apart, shifts nearly full")
    parser.add_argument("sizes", nargs="*", default=["150/4", "400/8", "1000/15"])
    words = parser.parse_args()
    compile_search()
    print(
        "sites/crew first plan  rounds/s    usual     driving  unplaced "
        "usual/long usual/best drive/best   put off     MB"
    )
    for size in map(Size.parse, words.sizes):
        week = Week(size, words.seed, words.far)
        run(week, words.longer, words.seconds, words.searches, words.keep)


if __name__ == "__main__":
    main()
