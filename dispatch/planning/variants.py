"""All ways to serve a demand: on which days, with which upkeep on which visit, at what price."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from itertools import product

from dispatch.planning.problem import Cell, Demand, Prices
from dispatch.upkeep import UpkeepDue

NEVER = 1 << 60  # price of what is forbidden


@dataclass(frozen=True, slots=True)
class Variant:
    """One way to serve a demand.

    `days` has the day of each visit, None where it is left unplaced; `riders` has the positions
    of the demand's upkeep that ride on each visit.
    """

    days: tuple[date | None, ...]
    riders: tuple[tuple[int, ...], ...]
    price_s: int


def variants_of(demand: Demand, prices: Prices) -> tuple[Variant, ...]:
    """All ways to serve a demand, the one that leaves everything out first."""
    days_seen: dict[tuple[date | None, ...], None] = {(None,) * len(demand.visit_ids): None}
    for pattern in demand.open_patterns:
        for kept in product((True, False), repeat=len(pattern)):
            days_seen[tuple(d if keep else None for d, keep in zip(pattern, kept, strict=True))] = (
                None
            )
    return tuple(variant for days in days_seen for variant in _variants_on(days, demand, prices))


def _variants_on(days: tuple[date | None, ...], demand: Demand, prices: Prices) -> list[Variant]:
    """Variants of one choice of days: every way to lay the upkeep on the visits."""
    choices = [
        [None, *(k for k, day in enumerate(days) if day is not None and item.earliest_on <= day)]
        for item in demand.upkeep
    ]
    missing_s = unplaced_price_s(demand, prices) * sum(day is None for day in days)
    found = []
    for choice in product(*choices):
        price_s = missing_s
        for item, k in zip(demand.upkeep, choice, strict=True):
            day = None if k is None else days[k]
            price_s += upkeep_price_s(item, day, demand, prices)
        riders = tuple(
            tuple(n for n, chosen in enumerate(choice) if chosen == k) for k in range(len(days))
        )
        found.append(Variant(days, riders, price_s))
    return found


def unplaced_price_s(demand: Demand, prices: Prices) -> int:
    """What it costs to leave one visit of the demand out, in seconds of driving."""
    return round(prices.unplaced_s * demand.importance)


def upkeep_price_s(item: UpkeepDue, day: date | None, demand: Demand, prices: Prices) -> int:
    """What it costs to do upkeep on `day`, or to put it off (None), in seconds of driving."""
    too_late = item.latest_on < demand.next_visit_on
    if day is not None:
        return prices.upkeep_late_s if item.latest_on < day else 0
    if too_late:
        return prices.put_off_too_late_s
    window = (item.latest_on - item.due_on).days or 1
    used = (demand.next_visit_on - item.due_on).days / window
    span = prices.put_off_last_s - prices.put_off_first_s
    return prices.put_off_first_s + round(span * min(1.0, used))


def cell_price_s(demand: Demand, cell: Cell, prices: Prices) -> int:
    """What a visit pays for being in a cell besides driving, NEVER where it may not be there."""
    usual = demand.usual_technician_id
    other = usual is not None and usual != cell.technician_id
    if other and demand.technician_locked:
        return NEVER
    if cell.technician_id in demand.unwanted_technician_ids or cell.crew < demand.crew:
        return NEVER
    if any(one is not None and _is_elsewhere(one, cell) for one in demand.kept):
        return NEVER
    moved = bool(demand.usual_weekdays) and cell.day.weekday() not in demand.usual_weekdays
    return prices.technician_change_s * other + prices.day_change_s * moved


def _is_elsewhere(kept: tuple[str, date], cell: Cell) -> bool:
    """Whether a visit kept with one technician that day would be with another in this cell."""
    return kept[1] == cell.day and kept[0] != cell.technician_id
