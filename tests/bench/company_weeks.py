"""Weeks of made-up companies: how soon there is a plan, and how good the usual one is.

    python -m tests.bench.company_weeks [--longer 8] [SITES/TECHNICIANS ...]

Sites lie at random in a square town of straight streets (drive = blocks walked at 40 km/h);
service 18 to 35 minutes, every twelfth site twice a week, every tenth with a morning window, meals
between 11:00 and 13:00. Printed are CPU seconds of the first plan, search rounds per CPU second,
and the cost of the plan with the usual number of rounds as a ratio to one with many times as many
from the same run.
"""

from __future__ import annotations

import argparse
import time

import numpy as np

from dispatch.clock import IsoWeek
from dispatch.planning.check import violations
from dispatch.planning.plan import WeekPlan
from dispatch.planning.problem import Cell, Demand, Problem
from dispatch.planning.search import iterations_for
from dispatch.planning.warm import compile_search
from dispatch.planning.week import plan_problem
from dispatch.sites import ANY_TIME, TimeWindow
from dispatch.technicians import Break, Shift

WEEK = IsoWeek(2026, 49)
TOWN_M = 15_000  # metres from side to side
SPEED_M_S = 11  # metres a second, 40 km/h
HOUR = 3600


def company(sites: int, technicians: int, seed: int = 0) -> Problem:
    """A week of a made-up company; the same numbers and seed give the same week."""
    rng = np.random.default_rng(seed)
    at = rng.uniform(0, TOWN_M, (technicians + sites, 2))
    metres = np.abs(at[:, None] - at[None, :]).sum(axis=2)
    drive_s = np.asarray(metres / SPEED_M_S, dtype=np.int64)
    days = WEEK.days[:5]
    cells = [
        Cell(
            technician_id=f"T{t:02}",
            technician_name=f"T{t:02}",
            day=day,
            shift=Shift(7 * HOUR, 15 * HOUR + HOUR // 2),
            start=t,
            end=t,
            meal=Break(30, 11 * HOUR, 13 * HOUR),
        )
        for t in range(technicians)
        for day in days
    ]
    twice = tuple((a, b) for a in days for b in days if 3 <= (b - a).days <= 4)
    demands = []
    for n in range(sites):
        patterns = twice if n % 12 == 0 else tuple((day,) for day in days)
        window = TimeWindow(9 * HOUR, 12 * HOUR) if n % 10 == 0 else ANY_TIME
        demands.append(
            Demand(
                site_id=f"S{n:04}",
                visit_ids=tuple(f"S{n:04}/{k + 1}" for k in range(len(patterns[0]))),
                place=technicians + n,
                patterns=patterns,
                service_s=60 * int(rng.integers(18, 36)),
                next_visit_on=WEEK.next.monday,
                window=window,
            )
        )
    return Problem(
        week=WEEK,
        cells=tuple(cells),
        demands=tuple(demands),
        place_ids=tuple(str(n) for n in range(len(at))),
        drive_s=drive_s,
        drive_m=np.asarray(metres, dtype=np.int64),
    )


def timed(problem: Problem, rounds: int) -> tuple[WeekPlan, float]:
    """A plan that breaks no rule, and the CPU seconds it took."""
    begin = time.process_time()
    plan = plan_problem(problem, iterations=rounds)
    used = time.process_time() - begin
    if broken := violations(problem, plan):
        raise SystemExit(f"The plan breaks rules: {broken[:3]}")
    return plan, used


def run(size: str, longer: int) -> None:
    """Print one row for a company of SITES/TECHNICIANS."""
    sites, technicians = (int(word) for word in size.split("/"))
    problem = company(sites, technicians)
    rounds = iterations_for(problem)
    first, first_s = timed(problem, 0)
    usual, usual_s = timed(problem, rounds)
    best, _ = timed(problem, rounds * longer)
    rate = rounds / max(usual_s - first_s, 1e-9)
    drive_h = usual.drive_s / HOUR
    lost = f"{len(first.unplaced)}, {len(usual.unplaced)}"
    ratio = usual.cost_s / best.cost_s
    print(
        f"{size:>8} {first_s:8.2f} s {rate:9,.0f} {usual_s:8.1f} s {drive_h:8.1f} h "
        f"{lost:>9} {ratio:10.4f}",
        flush=True,
    )


def main() -> None:
    """Run the sizes named."""
    parser = argparse.ArgumentParser(description="Weeks of made-up companies")
    parser.add_argument("--longer", type=int, default=8, help="rounds of the reference, times")
    parser.add_argument("sizes", nargs="*", default=["150/4", "400/8", "1000/15"])
    words = parser.parse_args()
    compile_search()
    print("sites/crew first plan  rounds/s    usual     driving  unplaced  usual/long")
    for size in words.sizes:
        run(size, words.longer)


if __name__ == "__main__":
    main()
