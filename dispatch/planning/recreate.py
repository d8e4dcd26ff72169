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
    nodes = len(a.node_unit)
    n = s.stops[r]
    into, onward = a.arrive_s[a.unit_place[u]], a.drive_s[a.unit_place[u]]
    opens, closes = a.window_start_s[u], a.window_end_s[u]
    empty = s.visits[r] == 0  # an empty route is not driven
    unused = s.leg_s[r, n + 1] if empty else 0
    fixed = a.break_s[r] if empty else s.lead_s[r, n] + s.leg_s[r, n + 1]
    best, where = NEVER, 0
    for i in range(n + 1):
        leg = into[s.place[r, i]]
        begin = max(s.ready_s[r, i] + leg, opens)
        if begin > closes:
            break
        leave = begin + load_s
        lead = s.lead_s[r, i] + leg
        latest = min(closes - lead, s.lead_latest_s[r, i])
        lead += max(opens - lead - s.lead_latest_s[r, i], 0) + load_s
        j = i + 1
        if j <= n and s.node[r, j] >= nodes:  # the meal follows: it is taken at this stop
            meal = max(leave, a.break_earliest_s[r])
            if meal > a.break_latest_s[r]:
                continue
            leave = meal + a.break_s[r]
            wait = max(a.break_earliest_s[r] - lead - latest, 0)
            latest = min(a.break_latest_s[r] - lead, latest)
            lead += wait + a.break_s[r]
            j += 1
        after = onward[s.place[r, j]]
        if leave + after > s.latest_s[r, j]:
            continue
        extra = leg + after - s.leg_s[r, j] + unused
        if extra >= best and a.waiting == 0:
            continue
        lead += after
        lasts = lead + max(s.rest_from_s[r, j] - lead - latest, 0) + s.rest_s[r, j]
        extra += a.waiting * (lasts - fixed - load_s - extra)
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
