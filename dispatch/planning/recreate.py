"""Put units that are left out back into the routes, each where it costs least.

What a load in a time window costs at least in a route is remembered with the stamp of the route,
and looked up as long as the route has not changed. Routes touched in the present round are always
looked at anew.
"""

from __future__ import annotations

import numpy as np

from dispatch.planning.arrays import (
    DAY,
    PAYLOAD_G,
    ROOM_G,
    SKILLS,
    START,
    TECHNICIAN,
    Arrays,
    Ints,
)
from dispatch.planning.hours import is_over_hours, week_gain_s, week_price_s
from dispatch.planning.position import Position, best_position, lines_of, newcomer
from dispatch.planning.routes import (
    EXTRA_S,
    INCOMPLETE,
    LOAD_G,
    MORE_OVER_S,
    MORE_WORK_S,
    OF_STAMP,
    PER_GRAM,
    PER_SECOND,
    STAMP,
    WHERE,
    Routes,
    Undo,
    compiled,
    inlined,
    keep_cell,
    load_price_s,
)
from dispatch.planning.times import insert, refresh, take_out
from dispatch.planning.variants import NEVER

BLINK = 0.01  # share of positions passed over (Christiaens and Vanden Berghe 2020)
FEW = 64  # units up to which sorting by insertion is quickest
COST, CELL, POSITION, WINDOW = 0, 1, 2, 3  # columns of `Routes.found`


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
            start = a.cell[a.cell_order[u, 0], START]
            far = a.drive_s[start, a.unit_place[u]]
            key[i] = -far if draw < 10 else far
        else:
            key[i] = a.cell_count[u]
    if count > FEW:
        units[:count] = units[:count][np.argsort(key, kind="mergesort")]
        return
    for i in range(1, count):
        k, u, j = key[i], units[i], i - 1
        while j >= 0 and key[j] > k:
            key[j + 1], units[j + 1] = key[j], units[j]
            j -= 1
        key[j + 1], units[j + 1] = k, u


@compiled
def place_unit(
    a: Arrays, s: Routes, undo: Undo, rng: np.random.Generator, u: int, blink: float
) -> None:
    """Choose the cheapest variant of unit u, put its visits in and set its price.

    The price is the variant's own and that of its cells; driving stands in the routes.
    """
    low, high = a.load_first[u], a.load_first[u + 1]
    s.found[: high - low, :, COST] = NEVER
    bound = np.full(1, NEVER, dtype=np.int64)
    if a.unit_visits[u] == 1:
        bound[0] = a.variant_price[a.variant_first[u]]
    pair = a.pair_first[u]
    for load in range(low, high):
        for w in range(a.window_first[u], a.window_first[u + 1]):
            _look_up(a, s, undo, rng, u, load, pair, w, bound, blink)
            _look_at(a, s, undo, rng, u, load, pair, w, bound, blink)
            pair += 1
    _take_variant(a, s, undo, u, _cheapest_variant(a, s, u))


@inlined
def _look_up(
    a: Arrays,
    s: Routes,
    undo: Undo,
    rng: np.random.Generator,
    u: int,
    load: int,
    pair: int,
    w: int,
    bound: Ints,
    blink: float,
) -> None:
    """Try all routes of which the best position is known."""
    found, known = s.found[load - a.load_first[u]], s.known[pair]
    cells, prices, load_price, single = (
        a.cell_order[u],
        a.cell_price[u],
        a.load_price[load],
        (a.unit_visits[u] == 1),
    )
    cell, day, touched, has_hours = a.cell, s.day, undo.touched, a.has_hours
    mass_g, needed, weight = a.load_g[load], a.load_skills[load], s.weight[PER_GRAM]
    for index in range(a.cell_count[u]):
        r = cells[index]
        if touched[r] or known[r, OF_STAMP] != day[r, STAMP] or known[r, WHERE] == 0:
            continue
        on, price = cell[r, DAY], prices[r] + known[r, EXTRA_S]
        if has_hours:
            more_s, over_s = known[r, MORE_WORK_S], known[r, MORE_OVER_S]
            price += week_price_s(a, s, cell[r, TECHNICIAN], more_s, over_s)
        if price >= min(found[on, COST], bound[0] - load_price[on]) or needed & ~cell[r, SKILLS]:
            continue
        load_g = day[r, LOAD_G] + mass_g
        if load_g > cell[r, ROOM_G]:
            continue
        if load_g > cell[r, PAYLOAD_G]:
            price += _more_load_s(weight, day[r, LOAD_G], load_g, cell[r, PAYLOAD_G])
            if price >= min(found[on, COST], bound[0] - load_price[on]):
                continue
        if blink == 0.0 or rng.random() >= blink:
            found[on, COST], found[on, CELL] = price, r
            found[on, POSITION], found[on, WINDOW] = known[r, WHERE], w
            if single:
                bound[0] = min(bound[0], price + load_price[on])


@inlined
def _more_load_s(weight: float, now_g: int, then_g: int, payload_g: int) -> int:
    """What growing from one load to another adds to the price of too much."""
    return load_price_s(weight, then_g - payload_g) - load_price_s(weight, now_g - payload_g)


@inlined
def _remember(known: Ints, r: int, stamp: int, spot: Position) -> None:
    """Write down what a route with this stamp offers."""
    known[r, OF_STAMP], known[r, EXTRA_S], known[r, WHERE] = stamp, spot.extra_s, spot.where
    known[r, MORE_WORK_S], known[r, MORE_OVER_S] = spot.work_s, spot.over_s


@inlined
def _look_at(
    a: Arrays,
    s: Routes,
    undo: Undo,
    rng: np.random.Generator,
    u: int,
    load: int,
    pair: int,
    w: int,
    bound: Ints,
    blink: float,
) -> None:
    """Try all routes of which the best position is not known, and remember it."""
    found, known = s.found[load - a.load_first[u]], s.known[pair]
    cells, prices, load_price, single = (
        a.cell_order[u],
        a.cell_price[u],
        a.load_price[load],
        (a.unit_visits[u] == 1),
    )
    cell, day, touched, has_hours = a.cell, s.day, undo.touched, a.has_hours
    mass_g, needed, weight = a.load_g[load], a.load_skills[load], s.weight[PER_GRAM]
    new, lines = newcomer(a, u, load, w), lines_of(a, s)
    for index in range(a.cell_count[u]):
        r = cells[index]
        is_known = not touched[r] and known[r, OF_STAMP] == day[r, STAMP]
        if (is_known and known[r, WHERE] > 0) or needed & ~cell[r, SKILLS]:
            continue
        on = cell[r, DAY]
        limit = min(found[on, COST], bound[0] - load_price[on]) - prices[r]
        load_g = day[r, LOAD_G] + mass_g
        if load_g > cell[r, ROOM_G]:
            continue
        if load_g > cell[r, PAYLOAD_G]:
            limit -= _more_load_s(weight, day[r, LOAD_G], load_g, cell[r, PAYLOAD_G])
        gain = week_gain_s(a, s, cell[r, TECHNICIAN]) if has_hours else 0
        reach = limit + gain
        if reach <= 0 or (is_known and known[r, EXTRA_S] >= reach):
            continue
        spot = best_position(lines, r, new, reach, rng, blink if touched[r] else 0.0)
        if not touched[r]:
            _remember(known, r, day[r, STAMP], spot)
        extra = spot.extra_s
        if has_hours:
            extra += week_price_s(a, s, cell[r, TECHNICIAN], spot.work_s, spot.over_s)
        passed_over = not touched[r] and blink > 0.0 and rng.random() < blink
        if spot.where == 0 or extra >= limit or passed_over:
            continue
        found[on, COST] = extra - limit + min(found[on, COST], bound[0] - load_price[on])
        found[on, CELL], found[on, POSITION], found[on, WINDOW] = r, spot.where, w
        if single:
            bound[0] = min(bound[0], found[on, COST] + load_price[on])


@inlined
def _cheapest_variant(a: Arrays, s: Routes, u: int) -> int:
    chosen, least = a.variant_first[u], a.variant_price[a.variant_first[u]]
    low, found = a.load_first[u], s.found
    for v in range(a.variant_first[u] + 1, a.variant_first[u + 1]):
        total = a.variant_price[v]
        for k in range(a.unit_visits[u]):
            day = a.variant_day[v, k]
            if day >= found.shape[1]:
                total = NEVER
            elif day >= 0:
                total += found[a.variant_load[v, k] - low, day, COST]
            if total >= least:
                break
        if total < least:
            chosen, least = v, total
    return int(chosen)


@inlined
def _take_variant(a: Arrays, s: Routes, undo: Undo, u: int, v: int) -> None:
    price, low = a.variant_price[v], a.load_first[u]
    s.variant[u] = v
    for k in range(a.unit_visits[u]):
        day = a.variant_day[v, k]
        if day < 0:
            continue
        load = a.variant_load[v, k]
        node, spot = a.unit_node[u] + k, s.found[load - low, day]
        r = spot[CELL]
        s.node_load[node], s.node_window[node] = load, spot[WINDOW]
        keep_cell(a, s, undo, r)
        insert(a, s, r, spot[POSITION], node)
        price += a.cell_price[u, r]
    s.price_s[u] = price
    if a.has_hours and a.unit_visits[u] > 1 and s.weight[PER_SECOND] == 0.0 and is_over_hours(a, s):
        _leave_out(a, s, u)
    s.counts[INCOMPLETE] += a.variant_missing[s.variant[u]] > 0


@compiled
def _leave_out(a: Arrays, s: Routes, u: int) -> None:
    """Take back a unit whose visits fit one by one into a week's hours but not together."""
    for node in range(a.unit_node[u], a.unit_node[u] + a.unit_visits[u]):
        r = s.node_cell[node]
        if r >= 0:
            take_out(a, s, r, node)
            refresh(a, s, r)
    s.variant[u] = a.variant_first[u]
    s.price_s[u] = a.variant_price[s.variant[u]]
