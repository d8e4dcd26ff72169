"""The search against proven optima of small random weeks.

    python -m tests.bench.exact_weeks [--first 0] [--weeks 100] [--rounds 40000]

Weeks of up to eight visits, two technicians and three days with every rule that planning knows
(`tests.planning.exact.weeks`): several windows, skills, crews, meals, slack, payload, chemicals
with a paid supply stop, overtime of days and weeks, hours that may not be exceeded or are to lie in
a band, patterns of two and three visits, locks, wishes, visits that must stay, prices of departures
and upkeep that may be put off. Each is solved by a constraint model to proven optimality. Printed
are the weeks that differ, how many have the same optimum, how often each rule occurs, and CPU
seconds of proofs and searches together.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from collections.abc import Iterator

from dispatch.planning.problem import Problem
from dispatch.planning.warm import compile_search
from tests.planning.exact.agreement import compare
from tests.planning.exact.weeks import small_week


def rules_in(week: Problem) -> Iterator[str]:
    """Names of the rules that a week has."""
    cells, demands, hours = week.cells, week.demands, week.hours
    found = {
        "several windows": any(len(one.windows) > 1 for one in demands),
        "two or three visits": any(len(one.visit_ids) > 1 for one in demands),
        "crews": any(one.crew > 1 for one in demands),
        "locks": any(one.technician_locked for one in demands),
        "wishes": any(one.unwanted_technician_ids for one in demands),
        "departures": any(one.usual_technician_id or one.usual_weekdays for one in demands),
        "visits that stay": any(one.kept for one in demands),
        "longer visits": any(any(one.extra_s) for one in demands),
        "upkeep": any(one.upkeep for one in demands),
        "two media changes": sum("sand" in i.kind for one in demands for i in one.upkeep) > 1,
        "meals": any(one.meal_in_shift for one in cells),
        "slack": any(one.slack_s for one in cells),
        "overtime of a day": any(one.overtime_s for one in cells),
        "supply stops": any(one.supply for one in cells),
        "overtime of a week": any(one.regular_s is not None for one in hours),
        "most hours": any(one.most_s is not None for one in hours),
        "bands": any(one.target_s is not None for one in hours),
    }
    yield from (name for name, has in found.items() if has)


def main() -> None:
    """Compare the weeks."""
    parser = argparse.ArgumentParser(description="The search against proven optima")
    parser.add_argument("--first", type=int, default=0, help="seed of the first week")
    parser.add_argument("--weeks", type=int, default=100)
    parser.add_argument("--rounds", type=int, default=40_000, help="of each search; about a second")
    words = parser.parse_args()
    compile_search()
    begin = time.process_time()
    same = below = wrong = unplaced = 0
    have = Counter[str]()
    for seed in range(words.first, words.first + words.weeks):
        week = small_week(seed)
        one = compare(week, rounds=words.rounds)
        have.update(rules_in(week))
        same += one.found_s == one.least_s
        below += one.found_s < one.least_s
        wrong += not one.same_rules or one.believed_s != one.found_s
        unplaced += one.least_s >= week.prices.unplaced_s
        if one.found_s != one.least_s or one.believed_s != one.found_s or not one.same_rules:
            print(f"week {seed}: {one}", flush=True)
    used = time.process_time() - begin
    print(
        f"{same} of {words.weeks} the same optimum, {below} below it, {wrong} judged differently; "
        f"{unplaced} weeks are too full for all visits; {used:.0f} CPU seconds"
    )
    print("weeks with " + ", ".join(f"{name} {count}" for name, count in sorted(have.items())))


if __name__ == "__main__":
    main()
