"""Put units that are left out back into the routes, each where it costs least."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from dispatch.planning.arrays import NEVER, Arrays, Ints
from dispatch.planning.routes import Routes, Undo, compiled, insert, keep_cell

Row = npt.NDArray[np.int32]

BLINK = 0.01  # share of positions passed over (Christiaens and Vanden Berghe 2020)


@compiled
def order_units(a: Arrays, rng: np.random.Generator, units: Ints, count: int) -> None:
    """Sort units[:count] in place by one of five orders drawn at random.

    Random, longest service first, farthest first, nearest first (weights 4, 4, 2, 1 as in
    Christiaens and Vanden Berghe 2020) and fewest open cells first (weight 2, our own).
    """
    key = np.empty(count, dtype=np.float64)
    draw = rng.random() * 13
    for i in range(count):
        u = units[i]
        if draw < 4:
            key[i] = rng.random()
        elif draw < 8:
            key[i] = -a.load_s[a.load_first[u + 1] - 1]
        elif draw < 11:
            start = a.cell_start[a.cell_order[u, 0]]
            far = a.drive_s[start, a.unit_place[u]]
            key[i] = -far if draw < 10 else far
        else:
            key[i] = a.cell_count[u]
    order = np.argsort(key, kind="mergesort")
    units[:count] = units[:count][order]


class Lines(NamedTuple):
    """Of `Routes`, what `best_position` reads; small bundles are cheap to pass, large ones not."""

    node: Ints
    place: Ints
    leg_s: Ints
    ready_s: Ints
    latest_s: Ints
    lead_s: Ints
    lead_latest_s: Ints
    rest_s: Ints
    rest_from_s: Ints


class Newcomer(NamedTuple):
    """The visit that looks for a position: drives to it and from it by place, window, duration."""

    into_s: Row
    onward_s: Row
    from_s: int
    to_s: int
    lasts_s: int


class Day(NamedTuple):
    """The route it is tried in: number, stops, whether it visits nobody, and its waiting."""

    r: int
    stops: int
    empty: bool
    wait_s: int
    waiting: int  # price of a second of waiting


class Meal(NamedTuple):
    """The meal of that route: its node, how long it lasts and when it may begin."""

    node: int
    lasts_s: int
    from_s: int
    to_s: int


@compiled
def best_position(
    lines: Lines,
    new: Newcomer,
    day: Day,
    meal: Meal,
    limit_s: int,
    rng: np.random.Generator,
    blink: float,
) -> tuple[int, int]:
    """Cheapest position in a route: (extra driving and waiting in seconds, position).

    The position is 0 where none keeps the route in time for less than `limit_s`. Each position is
    passed over with the probability `blink`.
    """
    node, place, legs, ready, latest_at, lead_to, lead_latest, rest, rest_from = lines
    r, n = day.r, day.stops
    unused = legs[r, n + 1] if day.empty else 0  # an empty route is not driven
    lasted = meal.lasts_s if day.empty else lead_to[r, n] + legs[r, n + 1]
    saved = day.waiting * day.wait_s  # most that a stop can save by filling waiting time
    best, where = limit_s, 0
    for i in range(n + 1):
        leg = new.into_s[place[r, i]]
        meal_follows = i < n and node[r, i + 1] == meal.node  # then it is taken at this stop
        j = i + 2 if meal_follows else i + 1
        after = new.onward_s[place[r, j]]
        extra = leg + after - legs[r, j] + unused
        if extra - saved >= best:
            continue
        begin = max(ready[r, i] + leg, new.from_s)
        if begin > new.to_s:
            break
        leave = begin + new.lasts_s
        lead = lead_to[r, i] + leg
        latest = min(new.to_s - lead, lead_latest[r, i])
        lead += max(new.from_s - lead - lead_latest[r, i], 0) + new.lasts_s
        if meal_follows:
            eat = max(leave, meal.from_s)
            if eat > meal.to_s:
                continue
            leave = eat + meal.lasts_s
            wait = max(meal.from_s - lead - latest, 0)
            latest = min(meal.to_s - lead, latest)
            lead += wait + meal.lasts_s
        if leave + after > latest_at[r, j]:
            continue
        lead += after
        lasts = lead + max(rest_from[r, j] - lead - latest, 0) + rest[r, j]
        extra += day.waiting * (lasts - lasted - new.lasts_s - extra)
        if extra < best and (blink == 0.0 or rng.random() >= blink):
            best, where = extra, i + 1
    return best, where


@compiled
def place_unit(
    a: Arrays, s: Routes, undo: Undo, rng: np.random.Generator, u: int, blink: float
) -> None:
    """Choose the cheapest variant of unit u, put its visits in and set its price.

    The price is the variant's own and that of its cells; driving stands in the routes.
    """
    low, high = a.load_first[u], a.load_first[u + 1]
    days = a.load_price.shape[1]
    best = np.full((high - low, days), NEVER, dtype=np.int64)
    cell = np.zeros((high - low, days), dtype=np.int64)
    position = np.zeros((high - low, days), dtype=np.int64)
    single = a.unit_visits[u] == 1
    bound = a.variant_price[a.variant_first[u]] if single else NEVER
    # Arrays are taken out of their bundles before the loop; in it, each would cost as much as a
    # look at several positions.
    cells, count, prices = a.cell_order[u], a.cell_count[u], a.cell_price[u]
    cell_day, load_price = a.cell_day, a.load_price
    skills, payload_g, load_g = a.skills, a.payload_g, s.load_g
    stops, visits, wait_s = s.stops, s.visits, s.wait_s
    meal_s, meal_from_s, meal_to_s = a.break_s, a.break_earliest_s, a.break_latest_s
    nodes, waiting = len(a.node_unit), a.waiting
    lines = lines_of(s)
    for load in range(low, high):
        new = newcomer(a, u, load)
        mass_g, needed = a.load_g[load], a.load_skills[load]
        for index in range(count):
            r = cells[index]
            price, on = prices[r], cell_day[r]
            dearest = min(best[load - low, on], bound - load_price[load, on])
            if price >= dearest or needed & ~skills[r] or load_g[r] + mass_g > payload_g[r]:
                continue
            meal = Meal(nodes + r, meal_s[r], meal_from_s[r], meal_to_s[r])
            day = Day(r, stops[r], visits[r] == 0, wait_s[r], waiting)
            extra, where = best_position(lines, new, day, meal, dearest - price, rng, blink)
            if where > 0:
                best[load - low, on] = extra + price
                cell[load - low, on] = r
                position[load - low, on] = where
                if single:
                    bound = min(bound, extra + price + load_price[load, on])
    v = _cheapest_variant(a, u, low, best)
    _take_variant(a, s, undo, u, v, low, cell, position)


@compiled
def lines_of(s: Routes) -> Lines:
    """The columns of the routes that positions are judged by."""
    return Lines(
        s.node,
        s.place,
        s.leg_s,
        s.ready_s,
        s.latest_s,
        s.lead_s,
        s.lead_latest_s,
        s.rest_s,
        s.rest_from_s,
    )


@compiled
def newcomer(a: Arrays, u: int, load: int) -> Newcomer:
    """Unit u with a load kind, as a visit that looks for a position."""
    place = a.unit_place[u]
    return Newcomer(
        a.arrive_s[place],
        a.drive_s[place],
        a.window_start_s[u],
        a.window_end_s[u],
        a.load_s[load],
    )


@compiled
def _cheapest_variant(a: Arrays, u: int, low: int, best: Ints) -> int:
    chosen, least = a.variant_first[u], a.variant_price[a.variant_first[u]]
    for v in range(a.variant_first[u] + 1, a.variant_first[u + 1]):
        total = a.variant_price[v]
        for k in range(a.unit_visits[u]):
            day = a.variant_day[v, k]
            if day >= best.shape[1]:
                total = NEVER
            elif day >= 0:
                total += best[a.variant_load[v, k] - low, day]
            if total >= least:
                break
        if total < least:
            chosen, least = v, total
    return int(chosen)


@compiled
def _take_variant(
    a: Arrays, s: Routes, undo: Undo, u: int, v: int, low: int, cell: Ints, position: Ints
) -> None:
    price = a.variant_price[v]
    s.variant[u] = v
    for k in range(a.unit_visits[u]):
        day = a.variant_day[v, k]
        if day < 0:
            continue
        load = a.variant_load[v, k]
        node = a.unit_node[u] + k
        r = cell[load - low, day]
        s.node_load[node] = load
        keep_cell(a, s, undo, r)
        insert(a, s, r, position[load - low, day], node)
        price += a.cell_price[u, r]
    s.price_s[u] = price
