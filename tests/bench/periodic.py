"""Published periodic routing instances through the planner's own code.

    python -m tests.bench.periodic --data FOLDER [--seconds 60] [NAME ...]

FOLDER holds instances in the format of Cordeau, Gendreau and Laporte, Networks 30 (1997). Each is
one week: customers are sites, day combinations patterns, vehicles trucks, the load their payload.
Printed is the cost in double precision, recomputed from the order of the stops, against the best
known value (from memory of Vidal et al., Operations Research 60, 2012), and CPU seconds.
"""

from __future__ import annotations

import argparse
import math
import time
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np

from dispatch.clock import DAY_S, IsoWeek
from dispatch.planning.check import violations
from dispatch.planning.plan import WeekPlan
from dispatch.planning.problem import Cell, Demand, Prices, Problem
from dispatch.planning.warm import compile_search
from dispatch.planning.week import plan_problem
from dispatch.technicians import Shift

SCALE = 100  # units of our whole seconds in one unit of the instance
PROBE = 2_000  # iterations from which the rate is measured
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


@dataclass(frozen=True, slots=True)
class Instance:
    """A published instance as a week, and the coordinates of its places."""

    problem: Problem
    places: list[tuple[float, float]]


def read_instance(file: Path) -> Instance:
    """Read an instance; surplus rows after the last customer are passed over."""
    rows = [line.split() for line in file.read_text().splitlines() if line.split()]
    _, vehicles, customers, days = map(int, rows[0][:4])
    longest, capacity = (float(word) for word in rows[1][:2])
    people = rows[1 + days : 2 + days + customers]
    places = [(float(row[1]), float(row[2])) for row in people]
    week = IsoWeek(2026, 49)
    calendar = [week.monday + timedelta(days=n) for n in range(days)]
    shift = Shift(0, int(longest * SCALE) if longest else DAY_S)
    cells = [
        Cell(f"T{v:02}", f"T{v}", day, shift, 0, 0, payload_kg=capacity or 1e6)
        for v in range(vehicles)
        for day in calendar
    ]
    drive = [[round(SCALE * math.dist(a, b)) for b in places] for a in places]
    matrix = np.array(drive, dtype=np.int64)
    problem = Problem(
        week=week,
        cells=tuple(cells),
        demands=tuple(_demand(row, n, calendar) for n, row in enumerate(people) if n > 0),
        place_ids=tuple(str(n) for n in range(len(places))),
        drive_s=matrix,
        drive_m=matrix,
        prices=Prices(unplaced_s=1000 * SCALE),
    )
    return Instance(problem, places)


def _demand(row: list[str], place: int, calendar: list[date]) -> Demand:
    """One customer: columns i x y d q f a and a day combinations, bits read from the left."""
    site = f"C{place:03}"
    visits, combinations = int(row[5]), int(row[6])
    patterns = []
    for number in row[7 : 7 + combinations]:
        bits = format(int(number), f"0{len(calendar)}b")
        patterns.append(tuple(d for d, bit in zip(calendar, bits, strict=True) if bit == "1"))
    return Demand(
        site_id=site,
        visit_ids=tuple(f"{site}/{n + 1}" for n in range(visits)),
        place=place,
        patterns=tuple(patterns),
        service_s=round(float(row[3]) * SCALE),
        next_visit_on=calendar[0] + timedelta(weeks=1),
        load_kg=float(row[4]),
    )


def length(instance: Instance, plan: WeekPlan) -> float:
    """Travelled distance in the unit of the instance, double precision."""
    place_of = {one.site_id: one.place for one in instance.problem.demands}
    total = 0.0
    for route in plan.routes:
        order = [0, *(place_of[stop.site_id] for stop in route.stops), 0]
        points = [instance.places[n] for n in order]
        total += sum(math.dist(a, b) for a, b in pairwise(points))
    return total


def run(file: Path, seconds: float) -> float:
    """Plan one instance in about `seconds` CPU seconds, print it, return the gap in per cent."""
    instance = read_instance(file)
    begin = time.process_time()
    plan_problem(instance.problem, iterations=PROBE)
    rate = PROBE / (time.process_time() - begin)
    begin = time.process_time()
    plan = plan_problem(instance.problem, iterations=int(rate * seconds))
    used = time.process_time() - begin
    if broken := violations(instance.problem, plan):
        raise SystemExit(f"{file.stem}: the plan breaks rules: {broken[:3]}")
    found, best = length(instance, plan), BEST_KNOWN[file.stem]
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
