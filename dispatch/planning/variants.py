"""All ways to serve a demand: on which days, with which upkeep on which visit, at what price."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations, product

from dispatch.planning.problem import Cell, Demand, Prices
from dispatch.upkeep import UpkeepDue

NEVER = 1 << 60  # price of what is forbidden
MOST_VARIANTS = 5_000  # of a demand; each is tried whenever it is placed
NEAR_DAYS = 1  # so many days off the rhythm are the same to a pool; beyond them it is dearer, and
FAR_DAYS = 6  # so many more days cost as much as another weekday than agreed (our own choice)
KEPT_TIMES = 100  # a visit that must stay where it stands costs so many times as much to leave out


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
    bundles = _bundles(demand, len(days_seen))
    return tuple(
        variant for days in days_seen for variant in _variants_on(days, bundles, demand, prices)
    )


def _bundles(demand: Demand, choices_of_days: int) -> list[tuple[int, ...]]:
    """Upkeep by its positions that rides on one visit together, or not at all.

    All of it alone, unless there would be too many variants: then what asks for the same skills
    goes together, the lightest and shortest first.
    """

    def burden(pair: tuple[tuple[int, ...], tuple[int, ...]]) -> tuple[bool, float, int]:
        one, other = ([demand.upkeep[n] for n in bundle] for bundle in pair)
        differ = {item.skill for item in one} != {item.skill for item in other}
        both = (*one, *other)
        return differ, sum(item.mass_kg for item in both), sum(item.minutes for item in both)

    bundles: list[tuple[int, ...]] = [(n,) for n in range(len(demand.upkeep))]
    places = 1 + len(demand.visit_ids)
    while len(bundles) > 1 and choices_of_days * places ** len(bundles) > MOST_VARIANTS:
        one, other = min(combinations(bundles, 2), key=burden)
        bundles.remove(other)
        bundles[bundles.index(one)] = tuple(sorted((*one, *other)))
    return bundles


def _variants_on(
    days: tuple[date | None, ...],
    bundles: Sequence[tuple[int, ...]],
    demand: Demand,
    prices: Prices,
) -> list[Variant]:
    """Variants of one choice of days: every way to lay the upkeep on the visits."""
    earliest = [max(demand.upkeep[n].earliest_on for n in bundle) for bundle in bundles]
    choices = [
        [None, *(k for k, day in enumerate(days) if day is not None and first <= day)]
        for first in earliest
    ]
    missing_s = sum(unplaced_price_s(demand, k, prices) for k, day in enumerate(days) if not day)
    found = []
    for choice in product(*choices):
        price_s = missing_s
        riding = list[list[int]]([] for _ in days)
        for bundle, k in zip(bundles, choice, strict=True):
            day = None if k is None else days[k]
            price_s += sum(upkeep_price_s(demand.upkeep[n], day, demand, prices) for n in bundle)
            if k is not None:
                riding[k] += bundle
        riders = tuple(tuple(sorted(own)) for own in riding)
        found.append(Variant(days, riders, price_s))
    return found


def unplaced_price_s(demand: Demand, visit: int, prices: Prices) -> int:
    """What it costs to leave visit number `visit` of the demand out, in seconds of driving.

    One that must stay where it stands is left out for no other's sake, however important.
    """
    is_kept = bool(demand.kept) and demand.kept[visit] is not None
    return round(prices.unplaced_s * demand.importance) * (KEPT_TIMES if is_kept else 1)


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
    far = max(0, demand.days_off_rhythm(cell.day) - NEAR_DAYS)
    far_s = prices.day_change_s * far**2 // FAR_DAYS**2
    return prices.technician_change_s * other + prices.day_change_s * moved + far_s


def _is_elsewhere(kept: tuple[str, date], cell: Cell) -> bool:
    """Whether a visit kept with one technician that day would be with another in this cell."""
    return kept[1] == cell.day and kept[0] != cell.technician_id
