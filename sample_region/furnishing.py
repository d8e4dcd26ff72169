"""What else stands at an invented pool, and what was read of it; all of it invented.

Drawn from a stream of its own for each pool, so that the rest of the company stays as it is.
Dates are so late that nothing of it falls due in the coming week (common practice for the spans).
Clean pressures come with the records of visits, just after a filter was cleaned.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

MONTH_DAYS = 30.44  # days, 365.25 / 12
UNKNOWN = "unknown"
OLD_CELL_MONTHS = 38  # a cell older than this runs fewer hours, or it would be spent by now


@dataclass(frozen=True, slots=True)
class Furnishing:
    """Cells of a site's row; empty where there is no such thing."""

    filter_cleaned_on: str
    anode_remaining_share: str
    anode_judged_on: str
    cell_rated_hours: str
    cell_hours_per_day: str
    pump: str
    pump_seal_changed_on: str
    pump_oring_changed_on: str
    heater: str
    heater_serviced_on: str
    covers_expire_on: str
    covers_checked_on: str
    surface: str
    surfaced_on: str
    volume_measured: str


def furnishing_of(
    as_of: date,
    number: int,
    *,
    media: str,
    media_changed_on: str,
    anode_installed_on: str,
    cell_installed_on: str,
) -> Furnishing:
    """The furnishing of the pool of this number, as known on `as_of`."""
    rng = Random(f"furnishing {number}")
    cleaned_on = _after(_before(as_of, rng.uniform(0.1, 1.6)), media_changed_on) if media else ""
    variable = rng.random() < 0.45
    judged = bool(anode_installed_on) and anode_installed_on != UNKNOWN and rng.random() < 0.6
    age = _months(anode_installed_on, as_of) if judged else 0.0
    heated = rng.random() < 0.25
    return Furnishing(
        filter_cleaned_on=cleaned_on,
        anode_remaining_share=f"{max(0.55, 1 - 0.011 * age):.2f}" if judged else "",
        anode_judged_on=as_of.isoformat() if judged else "",
        cell_rated_hours="10000" if cell_installed_on else "",
        cell_hours_per_day=_hours(cell_installed_on, as_of),
        pump="variable" if variable else "single",
        pump_seal_changed_on=_before(as_of, rng.uniform(2, 38)),
        pump_oring_changed_on=_before(as_of, rng.uniform(1, 15)),
        heater=rng.choice(("gas", "gas", "electric")) if heated else "",
        heater_serviced_on=_before(as_of, rng.uniform(1, 7)) if heated else "",
        covers_expire_on=_before(as_of, -rng.uniform(5, 80)),
        covers_checked_on=_before(as_of, rng.uniform(1, 7)),
        surface=rng.choices(("plaster", "vinyl", "fibreglass"), (60, 25, 15))[0],
        surfaced_on=_before(as_of, rng.uniform(12, 150)),
        volume_measured=rng.choices(("yes", "no"), (1, 4))[0],
    )


def _hours(installed_on: str, as_of: date) -> str:
    """Hours a day by quarter, fewer for an old cell."""
    if not installed_on:
        return ""
    old = installed_on != UNKNOWN and _months(installed_on, as_of) > OLD_CELL_MONTHS
    return "3;5;8;5" if old else "4;7;10;6"


def _months(day: str, as_of: date) -> float:
    return (as_of - date.fromisoformat(day)).days / MONTH_DAYS


def _before(as_of: date, months: float) -> str:
    return (as_of - timedelta(days=round(months * MONTH_DAYS))).isoformat()


def _after(day: str, other: str) -> str:
    """The later of two days; the other one may not be known."""
    return day if other in ("", UNKNOWN) else max(day, other)
