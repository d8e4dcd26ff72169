"""Put units that are left out back into the routes, each where it costs least."""

from __future__ import annotations

import numpy as np

from dispatch.planning.arrays import NEVER, Arrays, Ints
from dispatch.planning.routes import Routes, Undo, compiled, insert, keep_cell

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


@compiled
def best_position(
    a: Arrays, s: Routes, rng: np.random.Generator, u: int, r: int, load_s: int, blink: float
) -> tuple[int, int]:
    """Cheapest position of unit u in route r: (extra driving and waiting in seconds, position).

    The extra is NEVER where no position keeps the route in time. Each position is passed over
    with the probability `blink`.
    """
    n = s.stops[r]
    node, place, legs = s.node[r], s.place[r], s.leg_s[r]
    ready, latest_at = s.ready_s[r], s.latest_s[r]
    lead_to, lead_latest, rest, rest_from = (
        s.lead_s[r],
        s.lead_latest_s[r],
        s.rest_s[r],
        s.rest_from_s[r],
    )
    into, onward = a.arrive_s[a.unit_place[u]], a.drive_s[a.unit_place[u]]
    opens, closes, nodes = a.window_start_s[u], a.window_end_s[u], len(a.node_unit)
    meal_s, meal_from, meal_to = a.break_s[r], a.break_earliest_s[r], a.break_latest_s[r]
    empty = s.visits[r] == 0  # an empty route is not driven
    unused = legs[n + 1] if empty else 0
    lasted = meal_s if empty else lead_to[n] + legs[n + 1]
    saved = a.waiting * s.wait_s[r]  # most that a stop can save by filling waiting time
    best, where = NEVER, 0
    for i in range(n + 1):
        leg = into[place[i]]
        begin = max(ready[i] + leg, opens)
        if begin > closes:
            break
        j = i + 1
        meal_follows = j <= n and node[j] >= nodes  # then it is taken at this stop
        if meal_follows:
            j += 1
        after = onward[place[j]]
        extra = leg + after - legs[j] + unused
        if extra - saved >= best:
            continue
        leave = begin + load_s
        lead = lead_to[i] + leg
        latest = min(closes - lead, lead_latest[i])
        lead += max(opens - lead - lead_latest[i], 0) + load_s
        if meal_follows:
            meal = max(leave, meal_from)
            if meal > meal_to:
                continue
            leave = meal + meal_s
            wait = max(meal_from - lead - latest, 0)
            latest = min(meal_to - lead, latest)
            lead += wait + meal_s
        if leave + after > latest_at[j]:
            continue
        lead += after
        lasts = lead + max(rest_from[j] - lead - latest, 0) + rest[j]
        extra += a.waiting * (lasts - lasted - load_s - extra)
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
    bound = NEVER
    if a.unit_visits[u] == 1:
        bound = a.variant_price[a.variant_first[u]]
    for load in range(low, high):
        k = load - low
        for index in range(a.cell_count[u]):
            r = a.cell_order[u, index]
            price = a.cell_price[u, r]
            day = a.cell_day[r]
            least = a.load_price[load, day]
            if price >= best[k, day] or price + least >= bound:
                continue
            if a.load_skills[load] & ~a.skills[r] or s.load_g[r] + a.load_g[load] > a.payload_g[r]:
                continue
            extra, where = best_position(a, s, rng, u, r, a.load_s[load], blink)
            if extra < NEVER and extra + price < best[k, day]:
                best[k, day] = extra + price
                cell[k, day] = r
                position[k, day] = where
                if a.unit_visits[u] == 1:
                    bound = min(bound, extra + price + least)
    v = _cheapest_variant(a, u, low, best)
    _take_variant(a, s, undo, u, v, low, cell, position)


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
