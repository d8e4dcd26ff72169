"""The best plans ever found for the weeks of made-up companies, kept beside the benchmarks.

    python -m tests.bench.best_plans

judges them again: what each breaks, costs and drives, and how it was found. `company_weeks --keep`
writes down what is better.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from dispatch.planning.check import violations
from dispatch.planning.placed import Placed
from dispatch.planning.plan import WeekPlan
from dispatch.planning.problem import Problem
from dispatch.planning.score import cost_s
from dispatch.planning.search import Assignment
from dispatch.planning.week import write_plan
from tests.bench.company import CLOSE, FAR, HOUR, Size, company

FOLDER = Path(__file__).parent / "best"


@dataclass(frozen=True, slots=True)
class Week:
    """Which made-up week: size and seed of the company, and whether its pools lie far apart."""

    size: Size
    seed: int
    is_far: bool

    def problem(self) -> Problem:
        """The week itself."""
        return company(self.size, self.seed, area=FAR if self.is_far else CLOSE)

    @property
    def file(self) -> Path:
        """Where its best plan stands, if there is one."""
        far = "-far" if self.is_far else ""
        return FOLDER / f"{self.size.sites}-{self.size.technicians}-{self.seed}{far}.json"

    @classmethod
    def of(cls, file: Path) -> Week:
        """The week of a file."""
        sites, technicians, seed, *far = file.stem.split("-")
        return cls(Size(int(sites), int(technicians)), int(seed), bool(far))


def best_plan(week: Week, problem: Problem) -> WeekPlan | None:
    """The best plan ever found, timed and checked anew; None where none is kept.

    Raises
    ------
    SystemExit
        When the plan is of another week, as after a change of the companies, or breaks a rule.
    """
    if not week.file.exists():
        return None
    kept = json.loads(week.file.read_text())
    if kept["problem"] != problem.digest:
        raise SystemExit(f"{week.file} is of another week: delete it, and search anew.")
    routes = tuple(
        tuple(Placed(demand, visit, tuple(riders)) for demand, visit, *riders in route)
        for route in kept["routes"]
    )
    plan = write_plan(problem, Assignment(routes, 0, 0), seed=0)
    if broken := violations(problem, plan):
        raise SystemExit(f"{week.file} breaks rules: {broken[:3]}")
    return plan


def keep(week: Week, problem: Problem, assignment: Assignment, found_by: str) -> None:
    """Write a plan down as the best ever found."""
    routes = [
        [[one.demand, one.visit, *one.riders] for one in route] for route in assignment.routes
    ]
    head = {"problem": problem.digest, "found_by": found_by}
    lines = [f'"{name}": {json.dumps(value)}' for name, value in head.items()]
    rows = ",\n  ".join(json.dumps(route, separators=(",", ":")) for route in routes)
    lines.append(f'"routes": [\n  {rows}\n ]')
    FOLDER.mkdir(exist_ok=True)
    week.file.write_text("{\n " + ",\n ".join(lines) + "\n}\n")


def main() -> None:
    """Judge all that are kept."""
    print("week              cost  driving  unplaced  put off  found by")
    for file in sorted(FOLDER.glob("*.json")):
        week = Week.of(file)
        problem = week.problem()
        plan = best_plan(week, problem)
        assert plan is not None
        print(
            f"{file.stem:14} {cost_s(problem, plan):7,} {plan.drive_s / HOUR:7.2f} h "
            f"{len(plan.unplaced):8} {len(plan.put_off):8}  "
            f"{json.loads(file.read_text())['found_by']}",
            flush=True,
        )


if __name__ == "__main__":
    main()
