"""Simulated stays with known truth: sites, technicians of different pace, forgotten check-outs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from dispatch.places import Place
from dispatch.records.stays import Stay
from dispatch.sites import Rhythm, Sanitizer, ServicePlan, Site

FIRST_DAY = date(2026, 3, 2)
KINDS = ((Sanitizer.CHLORINE, 30_000.0), (Sanitizer.CHLORINE, 70_000.0), (Sanitizer.SALT, 70_000.0))
AGREED = (25, 30, 35)  # minutes, the default of each kind


@dataclass(frozen=True)
class Simulation:
    """Sites, their true mean minutes by a technician of usual pace, and stays week by week."""

    sites: list[Site]
    truth_min: dict[str, float]
    pace: dict[str, float]
    stays: list[Stay]
    today: date


def simulate(
    *,
    sites: int = 200,
    technicians: int = 8,
    visits: int = 8,
    seed: int = 1,
    spread: float = 0.25,
    scatter: float = 0.25,
    forgotten: float = 0.04,
    pace_spread: float = 0.08,
    bias: tuple[float, float, float] = (0.0, 0.1, 0.2),
) -> Simulation:
    """Draw a company.

    `spread` is the standard deviation of log(true / agreed) between sites of a kind, around the
    kind's `bias`; `scatter` that of single visits; `forgotten` the share of check-outs made at
    a later stop, three to eight times too late.
    """
    draw = np.random.default_rng(seed)
    pace = {f"T{n}": float(np.exp(draw.normal(0, pace_spread))) for n in range(technicians)}
    middle = math.exp(sum(math.log(one) for one in pace.values()) / technicians)
    pace = {name: one / middle for name, one in pace.items()}
    book: list[Site] = []
    truth: dict[str, float] = {}
    stays: list[Stay] = []
    for n in range(sites):
        kind = n % len(KINDS)
        sanitizer, litres = KINDS[kind]
        site = Site(
            f"S{n}",
            f"Invented {n}",
            "",
            Place(33.5, -112),
            ServicePlan(Rhythm.WEEKLY, AGREED[kind]),
            pool_volume_l=litres,
            sanitizer=sanitizer,
        )
        usual = AGREED[kind] * math.exp(draw.normal(bias[kind], spread))
        book.append(site)
        truth[site.id] = usual * math.exp(scatter**2 / 2)  # the mean of the log-normal below
        for week in range(visits):
            stand_in = draw.random() < 0.1
            technician = f"T{(n + stand_in * int(draw.integers(1, technicians))) % technicians}"
            minutes = usual * pace[technician] * math.exp(draw.normal(0, scatter))
            if draw.random() < forgotten:
                minutes *= draw.uniform(3, 8)
            day = FIRST_DAY + timedelta(days=7 * week + n % 5)
            stays.append(Stay(site.id, technician, day, minutes))
    return Simulation(book, truth, pace, stays, FIRST_DAY + timedelta(weeks=visits))


def mean_error(found: dict[str, float], truth: dict[str, float]) -> float:
    """Mean absolute error over the sites, minutes."""
    return float(np.mean([abs(found[site_id] - true) for site_id, true in truth.items()]))
