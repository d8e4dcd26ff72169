"""Levelling of invented companies: jobs, seconds, cost, bound and gap.

Run as `python -m tests.bench.levelling [--sites 1000] [--weeks 52]`.
"""

from __future__ import annotations

import argparse
import time
from datetime import date

from dispatch.clock import IsoWeek
from dispatch.levelling.level import level
from dispatch.upkeep_rules import DEFAULT_RULES
from tests.levelling.companies import company

TODAY = date(2026, 11, 25)
SITES_EACH = 56  # sites of a technician: visits and driving fill about three quarters of the week


def main() -> None:
    """Print one line for each size."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, nargs="+", default=[200, 1000])
    parser.add_argument("--weeks", type=int, default=52)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    print("sites  weeks  jobs  left out  seconds  CPU s  cost  bound  gap  fullest week")
    for count in given.sites:
        sites, staff = company(count, -(-count // SITES_EACH), TODAY, given.seed)
        began, worked = time.perf_counter(), time.process_time()
        done = level(sites, staff, DEFAULT_RULES, IsoWeek.of(TODAY).next, given.weeks)
        seconds, cpu_s = time.perf_counter() - began, time.process_time() - worked
        jobs = len(done.slots) + len(done.left_out)
        minutes: dict[tuple[str, IsoWeek], int] = {}
        for slot in done.slots:
            key = (slot.technician_id, slot.week)
            minutes[key] = minutes.get(key, 0) + slot.job.minutes
        room = {(one.technician_id, one.week): one.room_min for one in done.rooms}
        fullest = max((used / room[key] for key, used in minutes.items()), default=0.0)
        print(
            f"{count:5d}  {given.weeks:5d}  {jobs:5d}  {len(done.left_out):8d}  "
            f"{seconds:7.1f}  {cpu_s:5.1f}  "
            f"{done.cost:8.0f}  {done.bound:8.0f}  {done.gap:.2%}  {fullest:.0%}"
        )


if __name__ == "__main__":
    main()
