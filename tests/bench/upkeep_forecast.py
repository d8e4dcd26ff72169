"""Forecasts of lives on invented histories: coverage, error and late share against the calendar.

Run as `python -m tests.bench.upkeep_forecast [--sites 400] [--seeds 5]`.
"""

from __future__ import annotations

import argparse

from dispatch.upkeep_forecast import fit_fleet, remaining
from tests.fleets import USUAL_DAYS, fleet

FITTED = 150  # sites that the fleet is fitted to


def main() -> None:
    """Print one line for each seed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, default=400)
    parser.add_argument("--seeds", type=int, default=5)
    given = parser.parse_args()
    print("seed  held  error (days)  calendar's  late  calendar's")
    for seed in range(given.seeds):
        drawn = list(fleet(given.sites, seed))
        fitted = fit_fleet([lives for lives, _ in drawn][:FITTED], USUAL_DAYS)
        held = late = calendar_late = 0
        error = calendar_error = 0.0
        parts = remaining(fitted, [lives for lives, _ in drawn])
        for (lives, truth), found in zip(drawn, parts, strict=True):
            calendar = max(0.0, USUAL_DAYS - (lives.age or 0.0))
            held += found.low <= truth <= found.high
            error += abs(found.due - truth)
            calendar_error += abs(calendar - truth)
            late += found.due > truth
            calendar_late += calendar > truth
        n = len(drawn)
        print(
            f"{seed:4d}  {held / n:.1%}  {error / n:12.0f}  {calendar_error / n:10.0f}  "
            f"{late / n:.0%}  {calendar_late / n:.0%}"
        )


if __name__ == "__main__":
    main()
