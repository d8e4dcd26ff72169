"""The planner beside PyVRP, OR-Tools and VROOM on weeks of made-up companies.

    python -m tests.bench.peers [--seconds 60] [--seed 0] [--engines ours,PyVRP] [--no-upkeep]
                                [--far] [150/4 ...]

Needs the extra `bench`. Every engine gets one core and the same CPU seconds in a process of its
own, from the week to its answer; every answer is timed and judged by our timetable and check, so
all are measured by the same yardstick. With upkeep that may be put off compare the cost: driving is
lower where less is done. With `--no-upkeep` all do the same work. With `--far` pools lie far apart
and shifts are nearly full. Printed per engine:

    drive, wait  hours of the week
    unplaced     visits without a place; `put off` is upkeep left for later
    cost         hours: driving, waiting, and the prices of `Prices` for the rest
    broken       rules broken, as counted by `violations`
    gaps         per cent of cost above the best, of driving above the best that places as much
    CPU, MB      seconds used and most memory held, the engine's own code included
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass

from dispatch.planning.check import violations
from dispatch.planning.plan import WeekPlan
from dispatch.planning.problem import Problem
from dispatch.planning.score import cost_s
from dispatch.planning.week import write_plan
from tests.bench.company import CLOSE, FAR, HOUR, Size, company
from tests.bench.peers.apart import MODELS, Answer, ask


@dataclass(frozen=True, slots=True)
class Row:
    """One engine's answer to one week, judged."""

    engine: str
    answer: Answer
    plan: WeekPlan
    cost_s: int
    broken: int


def judged(problem: Problem, engine: str, answer: Answer) -> Row:
    """An answer with times of our timetable and the verdict of our check."""
    plan = write_plan(problem, answer.assignment, seed=0)
    broken = violations(problem, plan)
    return Row(engine, answer, plan, cost_s(problem, plan), len(broken))


def show(title: str, rows: list[Row]) -> None:
    """Print the table of one week."""
    print(f"\n{title}")
    print(
        "engine     drive h  wait h unplaced put off  broken   cost h  cost gap drive gap"
        "  CPU s     MB"
    )
    least_cost = min(row.cost_s for row in rows)
    fewest = min(len(row.plan.unplaced) for row in rows)  # others drive less because they do less
    least_drive = min(row.plan.drive_s for row in rows if len(row.plan.unplaced) == fewest)
    for row in rows:
        plan = row.plan
        wait_h = sum(route.wait_s for route in plan.routes) / HOUR
        cost_gap = 100 * (row.cost_s / least_cost - 1)
        drive_gap = 100 * (plan.drive_s / least_drive - 1)
        print(
            f"{row.engine:9} {plan.drive_s / HOUR:8.2f} {wait_h:7.2f} {len(plan.unplaced):8} "
            f"{len(plan.put_off):7} {row.broken:7} {row.cost_s / HOUR:8.2f} {cost_gap:+7.2f} % "
            f"{drive_gap:+7.2f} % {row.answer.cpu_s:6.1f} {row.answer.peak_mb:6.0f}",
            flush=True,
        )


def main() -> None:
    """Run the sizes named."""
    parser = argparse.ArgumentParser(description="The planner beside general engines")
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=0, help="of the company")
    parser.add_argument("--engines", default=",".join(MODELS))
    parser.add_argument("--no-upkeep", action="store_true", help="nothing to choose but routes")
    parser.add_argument("--far", action="store_true", help="pools far apart, shifts nearly full")
    parser.add_argument("sizes", nargs="*", default=["150/4", "400/8", "1000/15"])
    words = parser.parse_args()
    for size in map(Size.parse, words.sizes):
        area = FAR if words.far else CLOSE
        problem = company(size, words.seed, upkeep=not words.no_upkeep, area=area)
        rows = []
        for engine in words.engines.split(","):
            try:
                answer = ask(engine, problem, words.seconds, seed=1)
            except EOFError:
                print(f"{engine} ended without an answer to {size}.", flush=True)
                continue
            rows.append(judged(problem, engine, answer))
        work = "no upkeep" if words.no_upkeep else "with upkeep"
        work += ", far apart" if words.far else ""
        show(f"{size} sites/technicians, seed {words.seed}, {work}", rows)


if __name__ == "__main__":
    main()
