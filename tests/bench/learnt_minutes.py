"""How much of the error of the agreed minutes is left after so many visits; simulated companies.

Run as `python -m tests.bench.learnt_minutes`. Truth is known because it was drawn; the plain
mean of the stays is shown beside what is learnt, with the coverage of the 80 % interval.
"""

from __future__ import annotations

from collections import defaultdict
from statistics import mean
from typing import Any

from dispatch.records.learnt_minutes import learn_minutes
from tests.records.simulated import Simulation, mean_error, simulate

COMPANIES = 20
CASES: dict[str, dict[str, Any]] = {
    "usual": {},
    "quiet (visits scatter by 15 %)": {"scatter": 0.15},
    "noisy (visits scatter by 35 %)": {"scatter": 0.35},
    "no check-out forgotten": {"forgotten": 0.0},
    "one in ten forgotten": {"forgotten": 0.10},
    "agreed minutes are good (sites differ by 12 %)": {"spread": 0.12, "bias": (0.0, 0.0, 0.0)},
}


def plain_means(made: Simulation) -> dict[str, float]:
    """What a spreadsheet would say."""
    by_site: defaultdict[str, list[float]] = defaultdict(list)
    for stay in made.stays:
        by_site[stay.site_id].append(stay.minutes)
    return {site_id: mean(minutes) for site_id, minutes in by_site.items()}


def measure(visits: int, **case: Any) -> tuple[float, float, float, float]:
    """Errors of agreed, plain mean and learnt minutes, and the coverage, over the companies."""
    rows = []
    for seed in range(COMPANIES):
        made = simulate(visits=visits, seed=seed, **case)
        learnt = learn_minutes(made.sites, made.stays, made.today).sites
        agreed = {site.id: float(site.plan.service_min) for site in made.sites}
        found = {site_id: one.learnt_min for site_id, one in learnt.items()}
        held = mean(
            learnt[name].low_min <= true <= learnt[name].high_min
            for name, true in made.truth_min.items()
        )
        rows.append(
            (
                mean_error(agreed, made.truth_min),
                mean_error(plain_means(made), made.truth_min),
                mean_error(found, made.truth_min),
                held,
            )
        )
    agreed_min, plain_min, learnt_min, coverage = (
        mean(column) for column in zip(*rows, strict=True)
    )
    return agreed_min, plain_min, learnt_min, coverage


def main() -> None:
    """Print the table."""
    print(f"{COMPANIES} simulated companies of 200 sites and 8 technicians; minutes of error")
    print(f"{'case':48s} visits  agreed  mean  learnt  left  80 % holds")
    for words, case in CASES.items():
        for visits in (2, 4, 8, 16):
            agreed, plain, learnt, held = measure(visits, **case)
            left = learnt / agreed
            print(
                f"{words:48s} {visits:6d} {agreed:7.2f} {plain:5.2f} {learnt:7.2f} "
                f"{left:5.0%} {held:8.0%}"
            )


if __name__ == "__main__":
    main()
