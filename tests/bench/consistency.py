"""How much a second week moves customers, and what keeping them costs in driving.

    python -m tests.bench.consistency [--seconds 60] [--seed 0] [400/8 ...]

The first week of a made-up company is planned freely; its plan is what customers are used to. In
the second week there are three new customers for every hundred, and two are on hold. It is planned
twice in equal CPU seconds: with the prices of a changed technician and day, and freely. Printed are
the customers that moved (a visit on another day than in the first week, or with another technician
where there was one) as a share of those who had a first week, and the driving of both plans.
"""

from __future__ import annotations

import argparse
from dataclasses import replace

from dispatch.planning.check import violations
from dispatch.planning.plan import WeekPlan
from dispatch.planning.problem import Demand, Problem
from dispatch.planning.warm import compile_search
from dispatch.planning.week import plan_problem
from tests.bench.budget import rounds_in
from tests.bench.company import HOUR, Size, company

NEW_SHARE = 0.03
HOLDS = 2
Habit = frozenset[tuple[str, int]]  # technician and weekday of each visit


def habits(plan: WeekPlan) -> dict[str, Habit]:
    """Who comes to each site, and on which weekdays."""
    found: dict[str, set[tuple[str, int]]] = {}
    for route in plan.routes:
        for stop in route.stops:
            found.setdefault(stop.site_id, set()).add((route.technician_id, route.day.weekday()))
    return {site: frozenset(some) for site, some in found.items()}


def with_habit(demand: Demand, habit: Habit) -> Demand:
    """A demand whose customer is used to the technician and days of a plan.

    One who was served by two technicians in the first week is used to the days alone.
    """
    if not habit:
        return demand
    technicians = {technician_id for technician_id, _ in habit}
    if not demand.technician_locked and len(technicians) == 1:
        demand = replace(demand, usual_technician_id=min(technicians))
    return replace(demand, usual_weekdays=frozenset(weekday for _, weekday in habit))


def _has_moved(now: Habit, before: Habit) -> bool:
    """Whether a customer has another day, or another technician than the one it was used to."""
    if {weekday for _, weekday in now} != {weekday for _, weekday in before}:
        return True
    technicians = {technician_id for technician_id, _ in before}
    return len(technicians) == 1 and {technician_id for technician_id, _ in now} != technicians


def planned(problem: Problem, seconds: float) -> WeekPlan:
    """A plan that breaks no rule, in about so many CPU seconds."""
    plan = plan_problem(problem, iterations=rounds_in(problem, seconds))
    if broken := violations(problem, plan):
        raise SystemExit(f"The plan breaks rules: {broken[:3]}")
    return plan


def run(size: Size, seconds: float, seed: int) -> None:
    """Plan both weeks and print how they differ."""
    new = round(NEW_SHARE * size.sites)
    everyone = company(Size(size.sites + new, size.technicians), seed)
    first = planned(replace(everyone, demands=everyone.demands[: size.sites]), seconds)
    used_to = habits(first)
    second = replace(everyone, demands=everyone.demands[HOLDS:])
    steady = replace(
        second,
        demands=tuple(
            with_habit(one, used_to.get(one.site_id, frozenset())) for one in second.demands
        ),
    )
    kept, free = planned(steady, seconds), planned(second, seconds)
    print(f"{size}: {new} new customers, {HOLDS} on hold")
    for name, plan in (("priced", kept), ("free", free)):
        now = habits(plan)
        old = [one.site_id for one in second.demands if one.site_id in used_to]
        moved = sum(_has_moved(now.get(site, frozenset()), used_to[site]) for site in old)
        print(
            f"  {name:7} {100 * moved / len(old):6.1f} % of customers moved ({moved}), "
            f"{plan.drive_s / HOUR:7.2f} h driving, {len(plan.unplaced)} unplaced, "
            f"{len(plan.put_off)} put off",
            flush=True,
        )
    print(f"  driving against free {100 * (kept.drive_s / free.drive_s - 1):+.2f} %")


def main() -> None:
    """Run the sizes named."""
    parser = argparse.ArgumentParser(description="Stability from week to week")
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("sizes", nargs="*", default=["400/8"])
    words = parser.parse_args()
    compile_search()
    for size in map(Size.parse, words.sizes):
        run(size, words.seconds, words.seed)


if __name__ == "__main__":
    main()
