"""The search against proven optima of small random weeks.

    python -m tests.bench.exact_weeks [--first 0] [--weeks 100]

Weeks of up to eight visits, two technicians and three days with windows, skills, meals, payload,
locks, patterns and upkeep that may be put off (`tests.planning.exact.weeks`), each solved by a
constraint model to proven optimality. Printed are the weeks that differ, how many have the same
optimum, and CPU seconds of proofs and searches together.
"""

from __future__ import annotations

import argparse
import time

from dispatch.planning.warm import compile_search
from tests.planning.exact.agreement import compare
from tests.planning.exact.weeks import small_week


def main() -> None:
    """Compare the weeks."""
    parser = argparse.ArgumentParser(description="The search against proven optima")
    parser.add_argument("--first", type=int, default=0, help="seed of the first week")
    parser.add_argument("--weeks", type=int, default=100)
    words = parser.parse_args()
    compile_search()
    begin = time.process_time()
    same = below = wrong = unplaced = 0
    for seed in range(words.first, words.first + words.weeks):
        week = small_week(seed)
        one = compare(week)
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


if __name__ == "__main__":
    main()
