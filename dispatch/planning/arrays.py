"""A problem as flat integer arrays, the form in which the search reads it.

Every demand becomes a *unit* with a list of *variants*; a plan takes exactly one variant of each
unit. A variant says on which day each visit falls (or that it is left unplaced) and which upkeep
rides on which visit (or is put off), and what that costs besides driving. What a visit asks of a
truck (minutes, mass, skills) is its *load kind*; few of them exist per unit.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from itertools import product
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from dispatch.planning.problem import NO_DRIVE_S, Cell, Demand, Prices, Problem
from dispatch.upkeep import UpkeepDue

Ints = npt.NDArray[np.int64]

NEVER = 1 << 60  # price of what is forbidden
UNPLACED = -1  # day of a visit that a variant leaves out
GRAM_PER_KG = 1000


class Arrays(NamedTuple):
    """What the compiled search reads; U units, R cells, V variants, L load kinds, P places.

    Seconds and grams; days count from the week's Monday. `variant_day[v, k]` and
    `variant_load[v, k]` describe visit k of variant v; `cell_order[u]` lists the cells open to
    unit u by rising `cell_price[u]`, `cell_count[u]` of them.
    """

    drive_s: npt.NDArray[np.int32]  # (P, P) row: from, column: to
    arrive_s: npt.NDArray[np.int32]  # (P, P) the same, row: to, column: from; for reading in a row
    cell_day: Ints  # (R,)
    cell_start: Ints  # (R,)
    cell_end: Ints  # (R,)
    shift_start_s: Ints  # (R,)
    shift_end_s: Ints  # (R,)
    payload_g: Ints  # (R,)
    skills: Ints  # (R,) bit set
    break_s: Ints  # (R,) 0 without a break
    break_earliest_s: Ints  # (R,)
    break_latest_s: Ints  # (R,)
    unit_place: Ints  # (U,)
    unit_visits: Ints  # (U,)
    unit_node: Ints  # (U,) first node of the unit; a node is one visit
    window_start_s: Ints  # (U,)
    window_end_s: Ints  # (U,)
    cell_price: Ints  # (U, R) NEVER where forbidden
    cell_order: Ints  # (U, R)
    cell_count: Ints  # (U,)
    variant_first: Ints  # (U + 1,)
    variant_day: Ints  # (V, K)
    variant_load: Ints  # (V, K)
    variant_price: Ints  # (V,)
    variant_missing: Ints  # (V,) visits left unplaced
    load_first: Ints  # (U + 1,)
    load_s: Ints  # (L,)
    load_g: Ints  # (L,)
    load_skills: Ints  # (L,) bit set
    load_price: Ints  # (L, D) least a variant asks for the load on the day; NEVER where none does
    node_unit: Ints  # (N,)
    neighbours: Ints  # (U, H) units near unit u, nearest first, u itself included
    route_limit: int  # most stops a route can hold
    waiting: int  # price of a second of waiting


@dataclass(frozen=True, slots=True)
class Variant:
    """One way to serve a demand.

    `days` has the day of each visit, None where it is left unplaced; `riders` has the positions
    of the demand's upkeep that ride on each visit.
    """

    days: tuple[date | None, ...]
    riders: tuple[tuple[int, ...], ...]
    price_s: int


@dataclass(frozen=True, slots=True)
class Encoded:
    """The arrays, and the variants that their indices stand for, by unit."""

    arrays: Arrays
    variants: tuple[tuple[Variant, ...], ...]


def variants_of(demand: Demand, prices: Prices) -> tuple[Variant, ...]:
    """All ways to serve a demand, the one that leaves everything out first."""
    days_seen: dict[tuple[date | None, ...], None] = {(None,) * len(demand.visit_ids): None}
    for pattern in demand.patterns:
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
    missing_s = prices.unplaced_s * sum(day is None for day in days)
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


def encode(problem: Problem) -> Encoded:
    """The arrays of a problem; the same problem gives the same arrays."""
    bit = _skill_bits(problem)
    variants = tuple(variants_of(demand, problem.prices) for demand in problem.demands)
    loads, variant_rows = _variant_arrays(problem, variants, bit)
    price, order, count = _cell_prices(problem)
    visits = np.array([len(d.visit_ids) for d in problem.demands], dtype=np.int64)
    node = np.concatenate([[0], np.cumsum(visits)]).astype(np.int64)
    place = _column([d.place for d in problem.demands])
    drive_s = np.minimum(problem.drive_s, NO_DRIVE_S).astype(np.int32)
    arrays = Arrays(
        drive_s=drive_s,
        arrive_s=np.ascontiguousarray(drive_s.T),
        **_cell_arrays(problem, bit),
        unit_place=place,
        unit_visits=visits,
        unit_node=node[:-1],
        window_start_s=_column([d.window.start_s for d in problem.demands]),
        window_end_s=_column([d.window.end_s for d in problem.demands]),
        cell_price=price,
        cell_order=order,
        cell_count=count,
        **variant_rows,
        **loads,
        node_unit=np.repeat(np.arange(len(visits)), visits).astype(np.int64),
        neighbours=_neighbours(problem.drive_s, place),
        route_limit=_route_limit(problem, int(node[-1])),
        waiting=problem.prices.waiting,
    )
    return Encoded(arrays, variants)


def _column(values: list[int]) -> Ints:
    return np.array(values, dtype=np.int64)


def _skill_bits(problem: Problem) -> dict[str, int]:
    names = {skill for cell in problem.cells for skill in cell.skills}
    for demand in problem.demands:
        names |= demand.skills | {item.skill for item in demand.upkeep if item.skill}
    return {name: 1 << n for n, name in enumerate(sorted(names))}


def _bits(names: frozenset[str], bit: dict[str, int]) -> int:
    return sum(bit[name] for name in names)


def _cell_arrays(problem: Problem, bit: dict[str, int]) -> dict[str, Ints]:
    cells = problem.cells
    monday = problem.week.monday
    meals = [cell.meal_in_shift for cell in cells]
    return {
        "cell_day": _column([(cell.day - monday).days for cell in cells]),
        "cell_start": _column([cell.start for cell in cells]),
        "cell_end": _column([cell.end for cell in cells]),
        "shift_start_s": _column([cell.shift.start_s for cell in cells]),
        "shift_end_s": _column([cell.shift.end_s for cell in cells]),
        "payload_g": _column([round(cell.payload_kg * GRAM_PER_KG) for cell in cells]),
        "skills": _column([_bits(cell.skills, bit) for cell in cells]),
        "break_s": _column([meal.minutes * 60 if meal else 0 for meal in meals]),
        "break_earliest_s": _column([meal.earliest_s if meal else 0 for meal in meals]),
        "break_latest_s": _column([meal.latest_s if meal else 0 for meal in meals]),
    }


def _cell_prices(problem: Problem) -> tuple[Ints, Ints, Ints]:
    """Price of every unit in every cell, and the cells open to each unit by rising price."""
    shape = (len(problem.demands), len(problem.cells))
    price = np.full(shape, NEVER, dtype=np.int64)
    for u, demand in enumerate(problem.demands):
        for r, cell in enumerate(problem.cells):
            price[u, r] = cell_price_s(demand, cell, problem.prices)
    order = np.argsort(price, axis=1, kind="stable").astype(np.int64)
    count = np.sum(price < NEVER, axis=1).astype(np.int64)
    return price, order, count


def cell_price_s(demand: Demand, cell: Cell, prices: Prices) -> int:
    """What a visit pays for being in a cell besides driving, NEVER where a lock forbids it."""
    usual = demand.usual_technician_id
    other = usual is not None and usual != cell.technician_id
    if other and demand.technician_locked:
        return int(NEVER)
    moved = bool(demand.usual_weekdays) and cell.day.weekday() not in demand.usual_weekdays
    return prices.technician_change_s * other + prices.day_change_s * moved


def _variant_arrays(
    problem: Problem, variants: tuple[tuple[Variant, ...], ...], bit: dict[str, int]
) -> tuple[dict[str, Ints], dict[str, Ints]]:
    """Load kinds and variants of all units, unit after unit."""
    monday = problem.week.monday
    most = max((len(d.visit_ids) for d in problem.demands), default=1)
    load_first, loads = [0], list[tuple[int, int, int]]()
    first, days, kinds = [0], list[list[int]](), list[list[int]]()
    for demand, options in zip(problem.demands, variants, strict=True):
        known: dict[tuple[int, int, int], int] = {}
        for variant in options:
            day_row, kind_row = [UNPLACED] * most, [0] * most
            for k, day in enumerate(variant.days):
                if day is not None:
                    load = _load(demand, variant.riders[k], bit)
                    day_row[k] = (day - monday).days
                    kind_row[k] = known.setdefault(load, load_first[-1] + len(known))
            days.append(day_row)
            kinds.append(kind_row)
        loads.extend(known)
        load_first.append(len(loads))
        first.append(len(days))
    table = np.array(loads, dtype=np.int64).reshape(-1, 3)
    rows = {
        "variant_first": _column(first),
        "variant_day": np.array(days, dtype=np.int64).reshape(-1, most),
        "variant_load": np.array(kinds, dtype=np.int64).reshape(-1, most),
        "variant_price": _column([one.price_s for options in variants for one in options]),
    }
    visits = np.repeat([len(d.visit_ids) for d in problem.demands], np.diff(first))
    rows["variant_missing"] = visits - np.sum(rows["variant_day"] >= 0, axis=1)
    return {
        "load_first": _column(load_first),
        "load_s": table[:, 0].copy(),
        "load_g": table[:, 1].copy(),
        "load_skills": table[:, 2].copy(),
        "load_price": _load_prices(problem, rows, len(loads)),
    }, rows


def _load_prices(problem: Problem, rows: dict[str, Ints], loads: int) -> Ints:
    """Least price at which a variant asks for a load on a day, the bound that prunes insertion.

    Only a unit with a single visit can be bounded this way; others get 0 where the load is used.
    """
    day_count = max([(cell.day - problem.week.monday).days for cell in problem.cells], default=0)
    least = np.full((loads, day_count + 1), NEVER, dtype=np.int64)
    for u, demand in enumerate(problem.demands):
        single = len(demand.visit_ids) == 1
        for v in range(rows["variant_first"][u], rows["variant_first"][u + 1]):
            for k in range(len(demand.visit_ids)):
                day, load = rows["variant_day"][v, k], rows["variant_load"][v, k]
                if 0 <= day <= day_count:
                    price = rows["variant_price"][v] if single else 0
                    least[load, day] = min(least[load, day], price)
    return least


def _load(demand: Demand, riders: tuple[int, ...], bit: dict[str, int]) -> tuple[int, int, int]:
    """Seconds, grams and skills of a visit with its riders."""
    items = [demand.upkeep[n] for n in riders]
    mass_kg = demand.load_kg + sum(item.mass_kg for item in items)
    skills = demand.skills | {item.skill for item in items if item.skill}
    return (
        demand.service_s + 60 * sum(item.minutes for item in items),
        round(mass_kg * GRAM_PER_KG),
        _bits(frozenset(skills), bit),
    )


def _neighbours(drive_s: Ints, place: Ints, most: int = 120) -> Ints:
    """Units by the drive there and back, nearest first; every unit is its own first neighbour."""
    between = drive_s[np.ix_(place, place)]
    both_ways = between + between.T
    np.fill_diagonal(both_ways, -1)
    return np.argsort(both_ways, axis=1, kind="stable")[:, :most].astype(np.int64)


def _route_limit(problem: Problem, nodes: int) -> int:
    """Stops that fit into the longest shift, or all there are."""
    longest_s = max((c.shift.end_s - c.shift.start_s for c in problem.cells), default=0)
    shortest_s = min((d.service_s for d in problem.demands), default=1)
    by_time = longest_s // shortest_s + 1 if shortest_s > 0 else nodes
    return int(max(1, min(nodes, by_time)))
