"""A problem as flat integer arrays, the form in which the search reads it.

Every demand becomes a *unit* with a list of *variants*; a plan takes exactly one variant of each
unit. A variant says on which day each visit falls (or that it is left unplaced) and which upkeep
rides on which visit (or is put off), and what that costs besides driving. What a visit asks of a
truck (minutes, mass, skills) is its *load kind*; few of them exist per unit.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from dispatch.errors import InvalidValue
from dispatch.planning.nearby import in_neighbourhoods
from dispatch.planning.problem import NO_DRIVE_S, Demand, Hours, Problem, limit_g, load_g
from dispatch.planning.variants import NEVER, Variant, cell_price_s, variants_of
from dispatch.words import _

Ints = npt.NDArray[np.int64]
# Never negative: an index from here is used as it is, one that might count from the end is not.
Counts = npt.NDArray[np.uint32]
Drives = npt.NDArray[np.uint16] | npt.NDArray[np.uint32]

NEAR = 40  # nearest neighbours of a unit whose routes are worth a look

UNPLACED = -1  # day of a visit that a variant leaves out
NO_LIMIT = 1 << 50  # seconds or grams; more than anything adds up to
MOST_SKILLS = 62  # bits of a signed 64-bit integer, less the sign
THOUSAND = 1000  # prices per second that need not be whole are kept in thousandths
MILLION = 1_000_000


# Columns of `Arrays.cell`: seconds, grams, and places as rows of the drive-time matrix.
DAY, START, END, SHIFT_START_S = 0, 1, 2, 3
REGULAR_END_S, LAST_END_S, OVERTIME_MILLI = 4, 5, 6  # overtime begins; day over; its price
PAYLOAD_G, CHEMICALS_G, SUPPLY, SUPPLY_S = 7, 8, 9, 10  # SUPPLY is -1 without a supply stop
SKILLS, MEAL_S, MEAL_FROM_S, MEAL_TO_S = 11, 12, 13, 14  # SKILLS is a bit set
TECHNICIAN = 15
ROOM_END_S, ROOM_G = 16, 17  # how far the search may go on its way, at a price
# Columns of `Arrays.unit`. What belongs to a unit begins at its FIRST row and ends before that of
# the next unit; a last row stands behind all units for that. A pair is one of a load kind and a
# time window; FIRST_NEAR is the first node of its nearest neighbours; BULK is what a unit takes of
# truck-days in all, in millionths of one.
AT_PLACE, VISIT_COUNT, CELL_COUNT, LEAST_PRICE, BULK = 0, 1, 2, 3, 4
FIRST_NODE, FIRST_WINDOW, FIRST_VARIANT, FIRST_LOAD, FIRST_PAIR = 5, 6, 7, 8, 9
FIRST_NEAR = 10
OPENS_S, CLOSES_S = 0, 1  # columns of `Arrays.window`: a visit begins between these
PRICE, MISSING = 0, 1  # columns of `Arrays.variant`: MISSING is the number of visits left out
ON_DAY, WITH_LOAD = 0, 1  # of `Arrays.variant_visit`: a day, or UNPLACED, and a load kind
KIND_S, KIND_G, KIND_CHEMICALS_G, KIND_SKILLS = 0, 1, 2, 3  # of `Arrays.load`; skills are bits


class Arrays(NamedTuple):
    """What the compiled search reads; U units, R cells, V variants, L load kinds, P places.

    T technicians, X time windows. Seconds and grams; days count from the week's Monday. Places are
    numbered anew, neighbours side by side.
    `variant_visit[v, k]` describes visit k of variant v; `cell_order[u]` lists the cells open to
    unit u by rising `cell_price[u]`, CELL_COUNT of them. The unit may begin in any of its windows.

    What is read together stands in one array: few of them are quicker to pass and to compile.
    """

    drives_s: Drives  # (P, P, 2) from the first place to the second, and back
    no_drive: int  # what stands there where there is no way
    cell: Ints  # (R, 18) what a truck-day is, see the columns above, as for the next five
    unit: Ints  # (U + 1, 11) a node is one visit, a window one of `window`
    window: Ints  # (X, 2)
    variant: Ints  # (V, 2)
    variant_visit: Ints  # (V, K, 2)
    load: Ints  # (L, 4)
    cell_price: Ints  # (U, R) NEVER where forbidden
    cell_order: Ints  # (U, R)
    load_price: Ints  # (L, D) least a variant asks for the load on the day; NEVER where none does
    node_unit: Ints  # (N,)
    neighbours: Ints  # (U, H) units near unit u, nearest first, u itself included
    near_node: Counts  # nodes of the NEAR nearest units of each, unit after unit
    choosers: Ints  # (C,) units with upkeep to lay on a visit or to put off
    hours: Ints  # (T, 7) see `_hours`
    has_hours: bool  # whether any technician's week has a rule
    waiting: int  # price of a second of waiting
    route_limit: int  # most stops a route can hold
    most_loads: int  # most load kinds of a unit


@dataclass(frozen=True, slots=True)
class Encoded:
    """The arrays, and the variants that their indices stand for, by unit."""

    arrays: Arrays
    variants: tuple[tuple[Variant, ...], ...]


def encode(problem: Problem) -> Encoded:
    """The arrays of a problem; the same problem gives the same arrays."""
    bit = _skill_bits(problem)
    variants = tuple(variants_of(demand, problem.prices) for demand in problem.demands)
    load, variant, variant_visit, first = _variant_arrays(problem, variants, bit)
    price, order, count = _cell_prices(problem)
    drive_s = np.minimum(problem.drive_s, NO_DRIVE_S).astype(np.int32)
    places = in_neighbourhoods(drive_s)
    drive_s, row = drive_s[np.ix_(places, places)], np.argsort(places)
    unit, cells = _units(problem, variants, first, row), _cells(problem, bit, row)
    unit[:-1, CELL_COUNT], unit[:-1, BULK] = count, _bulk(cells, unit, load)
    visits = unit[:-1, VISIT_COUNT]
    neighbours = _neighbours(drive_s, unit[:-1, AT_PLACE])
    drives_s, no_drive = _drives(drive_s)
    unit[:, FIRST_NEAR], near_node = _near_nodes(unit, neighbours)
    arrays = Arrays(
        drives_s=drives_s,
        no_drive=no_drive,
        cell=cells,
        unit=unit,
        window=_windows(problem),
        variant=variant,
        variant_visit=variant_visit,
        load=load,
        cell_price=price,
        cell_order=order,
        load_price=_load_prices(problem, unit, variant, variant_visit),
        node_unit=np.repeat(np.arange(len(visits)), visits).astype(np.int64),
        neighbours=neighbours,
        near_node=near_node,
        choosers=_column([u for u, one in enumerate(problem.demands) if one.upkeep]),
        hours=_hours(problem),
        has_hours=any(one.is_rule for one in problem.hours),
        waiting=problem.prices.waiting,
        route_limit=_route_limit(problem, int(visits.sum())),
        most_loads=int(np.diff(unit[:, FIRST_LOAD]).max(initial=1)),
    )
    return Encoded(arrays, variants)


def _column(values: list[int]) -> Ints:
    return np.array(values, dtype=np.int64)


def _skill_bits(problem: Problem) -> dict[str, int]:
    names = {skill for cell in problem.cells for skill in cell.skills}
    for demand in problem.demands:
        names |= demand.skills | {item.skill for item in demand.upkeep if item.skill}
    if len(names) > MOST_SKILLS:
        raise InvalidValue(
            _(
                "The week names {number} different skills; {most} can be told apart: merge those "
                "that always go together."
            ).format(number=len(names), most=MOST_SKILLS)
        )
    return {name: 1 << n for n, name in enumerate(sorted(names))}


def _bits(names: frozenset[str], bit: dict[str, int]) -> int:
    return sum(bit[name] for name in names)


def _cells(problem: Problem, bit: dict[str, int], row: Ints) -> Ints:
    """Truck-days; places are rows of the matrix of the search, `row` of those of the problem."""
    monday = problem.week.monday
    ids = technicians_of(problem)
    rows = []
    for cell in problem.cells:
        meal, supply = cell.meal_in_shift, cell.supply
        payload_g = limit_g(cell.payload_kg)
        rows.append(
            (
                *((cell.day - monday).days, row[cell.start], row[cell.end], cell.shift.start_s),
                *(cell.regular_end_s, cell.last_end_s, round(cell.pay_factor * THOUSAND)),
                *(payload_g, limit_g(cell.chemicals_most_kg)),
                *((row[supply.place], supply.service_s) if supply else (-1, 0)),
                _bits(cell.skills, bit),
                *((meal.minutes * 60, meal.earliest_s, meal.latest_s) if meal else (0, 0, 0)),
                ids.index(cell.technician_id),
                *(cell.last_end_s, payload_g),
            )
        )
    return np.array(rows, dtype=np.int64).reshape(-1, 18)


def _units(
    problem: Problem,
    variants: tuple[tuple[Variant, ...], ...],
    first: tuple[Ints, Ints],
    row: Ints,
) -> Ints:
    """Units, but for open cells and bulk; `first` variants and load kinds of each."""
    demands = problem.demands
    unit = np.zeros((len(demands) + 1, 11), dtype=np.int64)
    unit[:-1, AT_PLACE] = row[_column([one.place for one in demands])]
    unit[:-1, VISIT_COUNT] = [len(one.visit_ids) for one in demands]
    unit[:-1, LEAST_PRICE] = [min(one.price_s for one in options) for options in variants]
    windows = _column([len(one.windows) for one in demands])
    unit[:, FIRST_VARIANT], unit[:, FIRST_LOAD] = first
    unit[1:, FIRST_NODE] = np.cumsum(unit[:-1, VISIT_COUNT])
    unit[1:, FIRST_WINDOW] = np.cumsum(windows)
    unit[1:, FIRST_PAIR] = np.cumsum(np.diff(unit[:, FIRST_LOAD]) * windows)
    return unit


def _windows(problem: Problem) -> Ints:
    """Time windows of all units, unit after unit."""
    rows = [(one.start_s, one.end_s) for demand in problem.demands for one in demand.windows]
    return np.array(rows, dtype=np.int64).reshape(-1, 2)


def technicians_of(problem: Problem) -> list[str]:
    """Ids of the technicians who have a cell, in order."""
    return sorted({cell.technician_id for cell in problem.cells})


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


def _variant_arrays(
    problem: Problem, variants: tuple[tuple[Variant, ...], ...], bit: dict[str, int]
) -> tuple[Ints, Ints, Ints, tuple[Ints, Ints]]:
    """Load kinds and variants of all units, unit after unit, and the first ones of each unit."""
    monday = problem.week.monday
    most = max((len(d.visit_ids) for d in problem.demands), default=1)
    load_first, loads = [0], list[tuple[int, ...]]()
    first, rows, visits = [0], list[tuple[int, int]](), list[list[tuple[int, int]]]()
    for demand, options in zip(problem.demands, variants, strict=True):
        known = {_load(demand, 0, (), bit): load_first[-1]}  # one even where no day is open
        for variant in options:
            visit_rows = [(UNPLACED, 0)] * most
            for k, day in enumerate(variant.days):
                if day is not None:
                    load = _load(demand, k, variant.riders[k], bit)
                    kind = known.setdefault(load, load_first[-1] + len(known))
                    visit_rows[k] = ((day - monday).days, kind)
            visits.append(visit_rows)
            rows.append((variant.price_s, variant.days.count(None)))
        loads.extend(known)
        load_first.append(len(loads))
        first.append(len(rows))
    return (
        np.array(loads, dtype=np.int64).reshape(-1, 4),
        np.array(rows, dtype=np.int64).reshape(-1, 2),
        np.array(visits, dtype=np.int64).reshape(-1, most, 2),
        (_column(first), _column(load_first)),
    )


def _load_prices(problem: Problem, unit: Ints, variant: Ints, variant_visit: Ints) -> Ints:
    """Least price at which a variant asks for a load on a day, the bound that prunes insertion.

    Only a unit with a single visit can be bounded this way; others get 0 where the load is used.
    """
    day_count = max([(cell.day - problem.week.monday).days for cell in problem.cells], default=0)
    least = np.full((int(unit[-1, FIRST_LOAD]), day_count + 1), NEVER, dtype=np.int64)
    for u, demand in enumerate(problem.demands):
        single = len(demand.visit_ids) == 1
        for v in range(unit[u, FIRST_VARIANT], unit[u + 1, FIRST_VARIANT]):
            for day, load in variant_visit[v, : len(demand.visit_ids)]:
                if 0 <= day <= day_count:
                    price = variant[v, PRICE] if single else 0
                    least[load, day] = min(least[load, day], price)
    return least


def _load(
    demand: Demand, visit: int, riders: tuple[int, ...], bit: dict[str, int]
) -> tuple[int, ...]:
    """Seconds, grams, grams of chemicals and skills of a visit with its riders."""
    items = [demand.upkeep[n] for n in riders]
    mass_kg = demand.load_kg + sum(item.mass_kg for item in items)
    skills = demand.skills | {item.skill for item in items if item.skill}
    return (
        demand.seconds_of(visit) + 60 * sum(item.minutes for item in items),
        load_g(mass_kg),
        load_g(demand.chemicals_kg),
        _bits(frozenset(skills), bit),
    )


def _drives(drive_s: npt.NDArray[np.int32]) -> tuple[Drives, int]:
    """Drives there and back between all places, and what stands among them for no way.

    Most of what the search reads is drives, and reading two bytes for each instead of four makes it
    a tenth (400 sites) to a quarter (1,000) faster. That is enough for 18 hours.
    """
    is_way = drive_s < NO_DRIVE_S
    longest = np.iinfo(np.uint16).max
    if drive_s[is_way].max(initial=0) < longest:
        short = np.where(is_way, drive_s, longest).astype(np.uint16)
        return np.stack([short, short.T], axis=-1), int(longest)
    long = drive_s.astype(np.uint32)
    return np.stack([long, long.T], axis=-1), NO_DRIVE_S


def _neighbours(drive_s: npt.NDArray[np.int32], place: Ints, most: int = 120) -> Ints:
    """Units by the drive there and back, nearest first; every unit is its own first neighbour."""
    between = drive_s[np.ix_(place, place)]
    both_ways = between + between.T
    np.fill_diagonal(both_ways, -1)
    return np.argsort(both_ways, axis=1, kind="stable")[:, :most].astype(np.int64)


def _near_nodes(unit: Ints, neighbours: Ints) -> tuple[Ints, Counts]:
    """Where the nodes near each unit begin, and these nodes, the nearest unit's first."""
    near = neighbours[:, :NEAR]
    visits = unit[near, VISIT_COUNT]
    first = np.concatenate([[0], np.cumsum(visits.sum(axis=1))])
    ends = np.cumsum(visits.ravel())
    skipped = unit[near.ravel(), FIRST_NODE] - (ends - visits.ravel())
    nodes = np.arange(first[-1]) + np.repeat(skipped, visits.ravel())
    return first, nodes.astype(np.uint32)


def _bulk(cells: Ints, unit: Ints, load: Ints) -> Ints:
    """Time and mass of all visits of each unit, as shares of an average truck-day, added up.

    Of its load kinds the last counts: the one with all the upkeep that a visit can carry.
    """
    day_s = int((cells[:, LAST_END_S] - cells[:, SHIFT_START_S]).sum())
    day_g = int(cells[:, PAYLOAD_G].sum())
    last = load[unit[1:, FIRST_LOAD] - 1]
    share = last[:, KIND_S] / max(1, day_s) + last[:, KIND_G] / max(1, day_g)
    return (MILLION * len(cells) * unit[:-1, VISIT_COUNT] * share).astype(np.int64)


def _hours(problem: Problem) -> Ints:
    """The rules of the technicians' weeks.

    Columns: regular, most, price of overtime in thousandths, lower and upper end of the band,
    price outside it in thousandths, seconds spent already.
    """
    rules = {one.technician_id: one for one in problem.hours}
    rows = [
        _hours_row(rules.get(one, Hours(one)), problem.prices.uneven)
        for one in technicians_of(problem)
    ]
    return np.array(rows, dtype=np.int64).reshape(-1, 7)


def _hours_row(rule: Hours, uneven: float) -> tuple[int, ...]:
    low, high = 0, NO_LIMIT
    if rule.target_s is not None:
        low, high = max(0, rule.target_s - rule.band_s), rule.target_s + rule.band_s
    return (
        NO_LIMIT if rule.regular_s is None else rule.regular_s,
        NO_LIMIT if rule.most_s is None else rule.most_s,
        round(rule.pay_factor * THOUSAND),
        low,
        high,
        round(uneven * THOUSAND) if rule.target_s is not None else 0,
        rule.spent_s,
    )


def _route_limit(problem: Problem, nodes: int) -> int:
    """Stops that fit into the longest day, or all there are."""
    longest_s = max((c.last_end_s - c.shift.start_s for c in problem.cells), default=0)
    shortest_s = min((d.service_s for d in problem.demands), default=1)
    by_time = longest_s // shortest_s + 1 if shortest_s > 0 else nodes
    return int(max(1, min(nodes, by_time)))
