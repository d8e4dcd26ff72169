"""The invented equipment of the pools, with dates told relative to the day of the data."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from random import Random

from sample_region.furnishing import Furnishing, furnishing_of

MONTH_DAYS = 30.44  # days, 365.25 / 12
SAND_BAG_KG = 22.7  # kg, a bag of 50 lb
UNKNOWN = "unknown"  # written where the thing is there but nobody knows since when

# Months after which upkeep may first be done, should be done and must be done. The sample is laid
# out on these windows: sand 4 1/2 to 6 years, cartridges 2 1/2 to 4, a yearly teardown for DE, a
# new anode after about 3 years, its film twice a year, a look at the cell every 3 months, acid
# about yearly. All common practice; the product has its own table of rules.
WINDOWS = {
    "sand": (54, 60, 72),
    "cartridge": (30, 36, 48),
    "de": (10, 12, 14),
    "anode": (30, 36, 42),
    "anode film": (4, 6, 8),
    "cell look": (2.5, 3, 4),
    "cell scale": (10, 12, 15),
}
# How far into its window the upkeep of the coming week is: 0 just opened, 1 at its latest day.
COMING = {
    "sand": (0.45, 0.97),
    "cartridge": (0.4, 0.75),
    "de": (0.55, 1.04),
    "anode": (0.3, 0.6, 0.9),
    "anode film": (0.1, 0.25, 0.4, 0.5, 0.6, 0.75, 0.9),
    "cell look": (0.1, 0.2, 0.35, 0.45, 0.5, 0.6, 0.7, 0.8, 0.9, 1.02),
    "cell scale": (0.2, 0.4, 0.6, 0.75, 0.95),
}


@dataclass(frozen=True, slots=True)
class Equipment:
    """What stands at a pool, as the cells of its row; empty where there is no such thing."""

    sanitizer: str
    filter: str
    media_mass_kg: str = ""
    media_changed_on: str = ""
    anode_installed_on: str = ""
    anode_cleaned_on: str = ""
    cell_installed_on: str = ""
    cell_inspected_on: str = ""
    cell_cleaned_on: str = ""
    filter_cleaned_on: str = ""
    anode_remaining_share: str = ""
    anode_judged_on: str = ""
    cell_rated_hours: str = ""
    cell_hours_per_day: str = ""
    pump: str = ""
    pump_seal_changed_on: str = ""
    pump_oring_changed_on: str = ""
    heater: str = ""
    heater_serviced_on: str = ""
    covers_expire_on: str = ""
    covers_checked_on: str = ""
    surface: str = ""
    surfaced_on: str = ""
    volume_measured: str = ""


def equipment_of(volumes_gal: Sequence[int], as_of: date, rng: Random) -> list[Equipment]:
    """Equipment of each pool; only the upkeep of COMING has its window open in the coming week."""
    made = [_recent(volume, as_of, rng) for volume in volumes_gal]
    coming = _let_come(made, as_of, rng)
    _forget(made, [n for n in range(len(made)) if n not in coming], rng)
    return [furnished(cells, as_of, n) for n, cells in enumerate(made)]


def _recent(volume_gal: int, as_of: date, rng: Random) -> Equipment:
    """Equipment whose upkeep has all been done lately enough."""
    sanitizer = rng.choices(("chlorine", "salt", "bromine"), (56, 42, 2))[0]
    media = rng.choices(("sand", "cartridge", "de"), (32, 48, 20))[0]
    cells = Equipment(
        sanitizer=sanitizer,
        filter=media,
        media_mass_kg=_mass_kg(media, volume_gal),
        media_changed_on=_lately(media, as_of, rng),
    )
    if rng.random() < (0.6 if sanitizer == "salt" else 0.18):
        cells = replace(
            cells,
            anode_installed_on=_lately("anode", as_of, rng, least=0.25),
            anode_cleaned_on=_lately("anode film", as_of, rng),
        )
    if sanitizer == "salt":
        cells = replace(
            cells,
            cell_installed_on=_days_before(as_of, rng.uniform(16, 52)),
            cell_inspected_on=_lately("cell look", as_of, rng),
            cell_cleaned_on=_lately("cell scale", as_of, rng, least=0.3),
        )
    return cells


def _mass_kg(media: str, volume_gal: int) -> str:
    """Dry mass of a filling: whole bags of sand, more for larger pools (common practice)."""
    if media == "sand":
        bags = max(3, min(11, round(volume_gal / 2900)))
        return f"{bags * SAND_BAG_KG:.1f}"
    if media == "de":
        return f"{max(1.4, min(3.3, volume_gal / 8000)):.1f}"  # 1 lb per 10 ft2 of filter area
    return ""


def _days_before(as_of: date, months: float) -> str:
    return (as_of - timedelta(days=round(months * MONTH_DAYS))).isoformat()


def _lately(kind: str, as_of: date, rng: Random, least: float = 0.04) -> str:
    """A day so late that the window stays closed until some weeks after the coming week."""
    opens = WINDOWS[kind][0]
    most = opens - 0.7 if opens < 6 else opens - 1.2
    return _days_before(as_of, rng.uniform(least * opens, most))


def _let_come(made: list[Equipment], as_of: date, rng: Random) -> set[int]:
    """Set back the dates of the upkeep of COMING, each at a pool of its own; says at which."""
    monday = as_of + timedelta(days=7 - as_of.weekday())
    taken: set[int] = set()
    for kind, shares in COMING.items():
        fit = [n for n, cells in enumerate(made) if n not in taken and _has(cells, kind)]
        for n, share in zip(rng.sample(fit, len(shares)), shares, strict=True):
            opens, _, ends = WINDOWS[kind]
            day = _days_before(monday, opens + share * (ends - opens))
            made[n] = _set_back(made[n], kind, day)
            taken.add(n)
    return taken


def _has(cells: Equipment, kind: str) -> bool:
    if kind in ("sand", "cartridge", "de"):
        return cells.filter == kind
    return bool(cells.anode_installed_on if kind.startswith("anode") else cells.cell_installed_on)


def _set_back(cells: Equipment, kind: str, day: str) -> Equipment:
    if kind in ("sand", "cartridge", "de"):
        return replace(cells, media_changed_on=day)
    if kind == "anode":
        return replace(cells, anode_installed_on=day)
    if kind == "anode film":
        return replace(cells, anode_cleaned_on=day)
    if kind == "cell look":
        return replace(
            cells, cell_inspected_on=day, cell_cleaned_on=min(cells.cell_cleaned_on, day)
        )
    return replace(cells, cell_cleaned_on=day)


def _forget(made: list[Equipment], among: Sequence[int], rng: Random) -> None:
    """Lose a few dates: two fillings, an anode and a cell of unknown age."""
    dated = [n for n in among if made[n].anode_installed_on]
    salty = [n for n in among if made[n].cell_installed_on]
    for n in rng.sample(among, 2):
        made[n] = replace(made[n], media_changed_on=UNKNOWN)
    n = rng.choice(dated)
    made[n] = replace(made[n], anode_installed_on=UNKNOWN, anode_cleaned_on="")
    n = rng.choice(salty)
    made[n] = replace(made[n], cell_installed_on=UNKNOWN, cell_inspected_on="", cell_cleaned_on="")


def furnished(cells: Equipment, as_of: date, number: int) -> Equipment:
    """The equipment with pump, heater, covers, surface and what was read of its parts."""
    more = furnishing_of(
        as_of,
        number,
        media=cells.filter,
        media_changed_on=cells.media_changed_on,
        anode_installed_on=cells.anode_installed_on,
        cell_installed_on=cells.cell_installed_on,
    )
    return replace(cells, **{name: getattr(more, name) for name in Furnishing.__slots__})
