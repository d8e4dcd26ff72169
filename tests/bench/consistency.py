"""How much a second week moves customers, and what keeping them costs in driving.

    python -m tests.bench.consistency [--seconds 60] [--seed 0] [--runs 3]
                                      [--first 4] [--prices 30/60 60/120] [400/8 ...]

The first week of a made-up company is planned freely, in `--first` times as many rounds as the
second, as standing routes are designed; its plan is what customers are used to. In the second week
there are three new customers for every hundred, and two are on hold. It is planned with each pair
of prices (seconds of driving for another technician and another day; the first is what the settings
say) and freely, in equal numbers of rounds, which take so many CPU seconds, from several seeds.
There is no upkeep to choose: all plans do the same work, and pay for driving and waiting alike.

Printed are the customers that moved (a visit on another day than in the first week, or with another
technician where there was one) as a share of those who had a first week, and driving, each as the
mean of the runs with the least and the most beside it; and the driving against that of the free
plans: that is the price of keeping customers, up to what the runs differ among themselves.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import mean

from dispatch.planning.check import violations
from dispatch.planning.plan import WeekPlan
from dispatch.planning.problem import Demand, Prices, Problem
from dispatch.planning.warm import compile_search
from dispatch.planning.week import plan_problem
from dispatch.standing.design import LONGER
from tests.bench.budget import rounds_in
from tests.bench.company import HOUR, Size, company

NEW_SHARE = 0.03
HOLDS = 2
Habit = frozenset[tuple[str, int]]  # technician and weekday of each visit


@dataclass(frozen=True, slots=True)
class Pair:
    """Prices of another technician and another day, in seconds of driving."""

    technician_s: int
    day_s: int

    @classmethod
    def parse(cls, text: str) -> Pair:
        """Read '60/120'."""
        technician_s, day_s = text.split("/")
        return cls(int(technician_s), int(day_s))

    def in_week(self, problem: Problem) -> Problem:
        """The week with these prices."""
        prices = replace(
            problem.prices, technician_change_s=self.technician_s, day_change_s=self.day_s
        )
        return replace(problem, prices=prices)


USUAL = Pair(Prices().technician_change_s, Prices().day_change_s)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one plan comes to."""

    moved: int
    drive_s: int
    unplaced: int


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


def planned(problem: Problem, rounds: int, seed: int) -> WeekPlan:
    """A plan that breaks no rule."""
    plan = plan_problem(problem, iterations=rounds, seed=seed)
    if broken := violations(problem, plan):
        raise SystemExit(f"The plan breaks rules: {broken[:3]}")
    return plan


def outcomes(problem: Problem, rounds: int, runs: int, used_to: dict[str, Habit]) -> list[Outcome]:
    """Plans of the second week from several seeds, against the first week."""
    found = []
    for seed in range(1, runs + 1):
        plan = planned(problem, rounds, seed)
        now = habits(plan)
        old = [one.site_id for one in problem.demands if one.site_id in used_to]
        moved = sum(_has_moved(now.get(site, frozenset()), used_to[site]) for site in old)
        found.append(Outcome(moved, plan.drive_s, len(plan.unplaced)))
    return found


def row(name: str, found: Sequence[Outcome], free: Sequence[Outcome], old: int) -> str:
    """One line: what moved, what was driven, and that against the free plans."""
    moved, drive_s = [one.moved for one in found], [one.drive_s for one in found]
    free_s = mean(one.drive_s for one in free)
    return (
        f"{name:>12} {100 * mean(moved) / old:7.1f} ({min(moved):3}-{max(moved):3}) "
        f"{mean(drive_s) / HOUR:8.2f} ({min(drive_s) / HOUR:.2f}-{max(drive_s) / HOUR:.2f}) "
        f"{100 * (mean(drive_s) / free_s - 1):+8.2f} {max(one.unplaced for one in found):9}"
    )


def run(
    size: Size, seconds: float, seed: int, runs: int, longer: float, pairs: Sequence[Pair]
) -> None:
    """Plan both weeks and print how they differ."""
    new = round(NEW_SHARE * size.sites)
    everyone = company(Size(size.sites + new, size.technicians), seed, upkeep=False)
    before = replace(everyone, demands=everyone.demands[: size.sites])
    rounds = rounds_in(before, seconds)
    used_to = habits(planned(before, round(longer * rounds), seed=0))
    second = replace(everyone, demands=everyone.demands[HOLDS:])
    steady = replace(
        second,
        demands=tuple(
            with_habit(one, used_to.get(one.site_id, frozenset())) for one in second.demands
        ),
    )
    old = sum(one.site_id in used_to for one in second.demands)
    print(f"{size}: {new} new customers, {HOLDS} on hold; {rounds} rounds each, {runs} runs")
    print("      prices s    % moved (customers)     driving h      against free %  unplaced")
    free = outcomes(second, rounds, runs, used_to)
    print(row("free", free, free, old), flush=True)
    for pair in pairs:
        found = outcomes(pair.in_week(steady), rounds, runs, used_to)
        print(row(f"{pair.technician_s}/{pair.day_s}", found, free, old), flush=True)


def main() -> None:
    """Run the sizes named."""
    parser = argparse.ArgumentParser(description="Stability from week to week")
    parser.add_argument("--seconds", type=float, default=60.0, help="CPU seconds of each plan")
    parser.add_argument("--seed", type=int, default=0, help="of the company")
    parser.add_argument("--runs", type=int, default=3, help="plans from seeds 1, 2 ...")
    parser.add_argument(
        "--first", type=float, default=LONGER, help="rounds of the first week, times the others'"
    )
    parser.add_argument(
        "--prices", type=Pair.parse, nargs="*", default=[USUAL], help="seconds: technician/day"
    )
    parser.add_argument("sizes", nargs="*", default=["400/8"])
    words = parser.parse_args()
    compile_search()
    for size in map(Size.parse, words.sizes):
        run(size, words.seconds, words.seed, words.runs, words.first, words.prices)


if __name__ == "__main__":
    main()
