"""Put units that are left out back into the routes, each where it costs least.

What a load in a time window costs at least in a route is remembered with the stamp of the route,
and looked up as long as the route has not changed. Routes touched in the present round are always
looked at anew.
"""

from __future__ import annotations

import numpy as np

from dispatch.planning.arrays import (
    CELL_COUNT,
    DAY,
    FIRST_LOAD,
    FIRST_NEAR,
    FIRST_NODE,
    FIRST_PAIR,
    FIRST_VARIANT,
    FIRST_WINDOW,
    KIND_G,
    KIND_SKILLS,
    MISSING,
    ON_DAY,
    PAYLOAD_G,
    PRICE,
    ROOM_G,
    SKILLS,
    TECHNICIAN,
    VISIT_COUNT,
    WITH_LOAD,
    Arrays,
)
from dispatch.planning.hours import is_over_hours, week_gain_s, week_price_s
from dispatch.planning.position import Position, best_position, newcomer
from dispatch.planning.routes import (
    AS_LOAD,
    EXTRA_S,
    IDLE,
    IN_CELL,
    IN_WINDOW,
    INCOMPLETE,
    LOAD_G,
    MARKS,
    MORE_OVER_S,
    MORE_WORK_S,
    OF_STAMP,
    PER_GRAM,
    PER_SECOND,
    PRICE_S,
    STAMP,
    TOUCHED,
    VARIANT,
    VISITS,
    WHERE,
    Routes,
    Undo,
    compiled,
    inlined,
    keep_cell,
    load_price_s,
    merged,
)
from dispatch.planning.sequence import position_of, take_out
from dispatch.planning.times import insert, refresh
from dispatch.planning.variants import NEVER

BLINK = 0.01  # share of positions passed over (Christiaens and Vanden Berghe 2020)
# Visits of a site are priced one by one, though together they may be too much for one week: every
# second time many positions are passed over, so that the visits meet other technicians.
MIXED, MIXED_BLINK = 0.5, 0.4
COST, CELL, POSITION, WINDOW = 0, 1, 2, 3  # columns of `Routes.found`


@merged
def place_unit(
    a: Arrays, s: Routes, undo: Undo, rng: np.random.Generator, u: int, blink: float
) -> int:
    """Choose the cheapest variant of unit u, put its visits in, set its price, return the cost.

    Where its visits fit one by one into a week's hours but not together, more of them are left
    out. The price is the variant's own and that of its cells; driving stands in the routes, and
    is a part of the cost.
    """
    if a.has_hours and a.unit[u, VISIT_COUNT] > 1 and rng.random() < MIXED:
        blink = MIXED_BLINK
    for is_all in (False, True):
        listed = _list_all(a, s, u) if is_all else _list_near(a, s, u)
        _look_around(a, s, undo, rng, u, listed, blink)
        chosen = _cheapest_variant(a, s, u, 0)
        if a.variant[chosen, MISSING] == 0:
            break
    for left_out in range(1, a.unit[u, VISIT_COUNT] + 1):
        if _take_variant(a, s, undo, u, chosen):
            break
        chosen = _cheapest_variant(a, s, u, left_out)
    s.counts[INCOMPLETE] += a.variant[s.unit[u, VARIANT], MISSING] > 0
    return _paid(a, s, u)


@inlined
def _paid(a: Arrays, s: Routes, u: int) -> int:
    """What placing unit u as it has been placed has cost."""
    v, low = s.unit[u, VARIANT], a.unit[u, FIRST_LOAD]
    paid = a.variant[v, PRICE]
    for k in range(a.unit[u, VISIT_COUNT]):
        day = a.variant_visit[v, k, ON_DAY]
        if day >= 0:
            paid += s.found[a.variant_visit[v, k, WITH_LOAD] - low, day, COST]
    return int(paid)


@inlined
def _list_all(a: Arrays, s: Routes, u: int) -> int:
    """List the cells open to unit u; returns how many."""
    for index in range(a.unit[u, CELL_COUNT]):
        s.look[index] = a.cell_order[u, index]
    return int(a.unit[u, CELL_COUNT])


@inlined
def _list_near(a: Arrays, s: Routes, u: int) -> int:
    """List the cells worth a look for unit u; returns how many.

    Those that cost less than the dearest, routes that pass by one of the unit's nearest
    neighbours, those that visit nobody yet, and those of technicians short of hours.
    """
    s.counts[MARKS] += 1
    cells, prices, count = a.cell_order[u], a.cell_price[u], a.unit[u, CELL_COUNT]
    listed = 0
    look, marks, mark = s.look, s.mark, s.counts[MARKS]
    dearest = prices[cells[count - 1]] if count > 0 else 0
    for index in range(count):
        r = cells[index]
        if prices[r] == dearest:
            break
        look[listed], marks[r] = r, mark
        listed += 1
    nodes, visit = a.near_node, s.visit
    for i in range(a.unit[u, FIRST_NEAR], a.unit[u + 1, FIRST_NEAR]):
        r = visit[nodes[i], IN_CELL]
        if r >= 0 and marks[r] != mark and prices[r] < NEVER:
            look[listed], marks[r] = r, mark
            listed += 1
    for index in range(s.counts[IDLE]):
        r = s.idle[index]
        if marks[r] != mark and prices[r] < NEVER:
            look[listed], marks[r] = r, mark
            listed += 1
    return _list_short(a, s, u, listed) if a.has_hours else listed


@inlined
def _list_short(a: Arrays, s: Routes, u: int, listed: int) -> int:
    """List the open cells of technicians short of hours, behind those listed; returns how many."""
    cells, marks, mark = a.cell_order[u], s.mark, s.counts[MARKS]
    for index in range(a.unit[u, CELL_COUNT]):
        r = cells[index]
        if marks[r] != mark and week_gain_s(a, s, a.cell[r, TECHNICIAN]) > 0:
            s.look[listed], marks[r] = r, mark
            listed += 1
    return listed


@merged
def list_idle(s: Routes) -> None:
    """List the routes that visit nobody, for all that is placed in this round."""
    count = 0
    for r in range(len(s.day)):
        if s.day[r, VISITS] == 0:
            s.idle[count] = r
            count += 1
    s.counts[IDLE] = count


@inlined
def _look_around(
    a: Arrays, s: Routes, undo: Undo, rng: np.random.Generator, u: int, listed: int, blink: float
) -> None:
    """Find where each load of unit u costs least on each day, in the cells listed."""
    low, high = a.unit[u, FIRST_LOAD], a.unit[u + 1, FIRST_LOAD]
    s.found[: high - low, :, COST] = NEVER
    bound = (
        int(a.variant[a.unit[u, FIRST_VARIANT], PRICE]) if a.unit[u, VISIT_COUNT] == 1 else NEVER
    )
    pair = a.unit[u, FIRST_PAIR]
    for load in range(low, high):
        for w in range(a.unit[u, FIRST_WINDOW], a.unit[u + 1, FIRST_WINDOW]):
            bound, asked = _look_up(a, s, rng, u, load, pair, w, bound, listed, blink)
            bound = _look_at(a, s, undo, rng, u, load, pair, w, bound, asked, blink)
            pair += 1


@inlined
def _look_up(
    a: Arrays,
    s: Routes,
    rng: np.random.Generator,
    u: int,
    load: int,
    pair: int,
    w: int,
    bound: int,
    listed: int,
    blink: float,
) -> tuple[int, int]:
    """Try all routes of which the best position is known; the new bound, how many are not known.

    What is known of a route that has been touched in this round holds for another stamp.
    """
    found, known = s.found[load - a.unit[u, FIRST_LOAD]], s.known[pair]
    cells, prices, load_price, single = (
        s.look,
        a.cell_price[u],
        a.load_price[load],
        (a.unit[u, VISIT_COUNT] == 1),
    )
    cell, day, ask, has_hours = a.cell, s.day, s.ask, a.has_hours
    more, asked = s.more_s[pair if has_hours else 0], 0
    mass_g, needed, weight = a.load[load, KIND_G], a.load[load, KIND_SKILLS], s.weight[PER_GRAM]
    for index in range(listed):
        r = cells[index]
        if known[r, OF_STAMP] != day[r, STAMP] or known[r, WHERE] == 0:
            ask[asked] = r
            asked += 1
            continue
        on, price = cell[r, DAY], prices[r] + known[r, EXTRA_S]
        if has_hours:
            more_s, over_s = more[r, MORE_WORK_S], more[r, MORE_OVER_S]
            price += week_price_s(a, s, cell[r, TECHNICIAN], more_s, over_s)
        if price >= min(found[on, COST], bound - load_price[on]) or needed & ~cell[r, SKILLS]:
            continue
        load_g = day[r, LOAD_G] + mass_g
        if load_g > cell[r, ROOM_G]:
            continue
        if load_g > cell[r, PAYLOAD_G]:
            price += _more_load_s(weight, day[r, LOAD_G], load_g, cell[r, PAYLOAD_G])
            if price >= min(found[on, COST], bound - load_price[on]):
                continue
        if blink == 0.0 or rng.random() >= blink:
            found[on, COST], found[on, CELL] = price, r
            found[on, POSITION], found[on, WINDOW] = known[r, WHERE], w
            if single:
                bound = min(bound, price + load_price[on])
    return bound, asked


@inlined
def _more_load_s(weight: float, now_g: int, then_g: int, payload_g: int) -> int:
    """What growing from one load to another adds to the price of too much."""
    return load_price_s(weight, then_g - payload_g) - load_price_s(weight, now_g - payload_g)


@inlined
def _remember(s: Routes, pair: int, r: int, spot: Position, has_hours: bool) -> None:
    """Write down what route r, as it stands, offers."""
    known = s.known[pair, r]
    known[OF_STAMP], known[EXTRA_S], known[WHERE] = s.day[r, STAMP], spot.extra_s, spot.where
    if has_hours:
        s.more_s[pair, r, MORE_WORK_S], s.more_s[pair, r, MORE_OVER_S] = spot.work_s, spot.over_s


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
    bound: int,
    asked: int,
    blink: float,
) -> int:
    """Try and remember the routes of which it is not known; returns the new bound."""
    found, known = s.found[load - a.unit[u, FIRST_LOAD]], s.known[pair]
    cells, prices, load_price, single = (
        s.ask,
        a.cell_price[u],
        a.load_price[load],
        (a.unit[u, VISIT_COUNT] == 1),
    )
    cell, day, kept, has_hours = a.cell, s.day, undo.kept, a.has_hours
    mass_g, needed, weight = a.load[load, KIND_G], a.load[load, KIND_SKILLS], s.weight[PER_GRAM]
    new = newcomer(a, u, load, w)
    for index in range(asked):
        r = cells[index]
        if needed & ~cell[r, SKILLS]:
            continue
        on = cell[r, DAY]
        limit = min(found[on, COST], bound - load_price[on]) - prices[r]
        load_g = day[r, LOAD_G] + mass_g
        if load_g > cell[r, ROOM_G]:
            continue
        if load_g > cell[r, PAYLOAD_G]:
            limit -= _more_load_s(weight, day[r, LOAD_G], load_g, cell[r, PAYLOAD_G])
        gain = week_gain_s(a, s, cell[r, TECHNICIAN]) if has_hours else 0
        reach = limit + gain
        is_known = known[r, OF_STAMP] == day[r, STAMP]
        if reach <= 0 or (is_known and known[r, EXTRA_S] >= reach):
            continue
        spot = best_position(a, s, r, new, reach, rng, blink if kept[r, TOUCHED] else 0.0)
        if not kept[r, TOUCHED]:
            _remember(s, pair, r, spot, has_hours)
        extra = spot.extra_s
        if has_hours:
            extra += week_price_s(a, s, cell[r, TECHNICIAN], spot.work_s, spot.over_s)
        passed_over = not kept[r, TOUCHED] and blink > 0.0 and rng.random() < blink
        if spot.where == 0 or extra >= limit or passed_over:
            continue
        found[on, COST] = extra - limit + min(found[on, COST], bound - load_price[on])
        found[on, CELL], found[on, POSITION], found[on, WINDOW] = r, spot.where, w
        if single:
            bound = min(bound, found[on, COST] + load_price[on])
    return bound


@inlined
def _cheapest_variant(a: Arrays, s: Routes, u: int, left_out: int) -> int:
    """The cheapest variant of unit u that leaves out so many visits, or more."""
    chosen, least = a.unit[u, FIRST_VARIANT], a.variant[a.unit[u, FIRST_VARIANT], PRICE]
    low, found = a.unit[u, FIRST_LOAD], s.found
    for v in range(a.unit[u, FIRST_VARIANT] + 1, a.unit[u + 1, FIRST_VARIANT]):
        total = a.variant[v, PRICE]
        if a.variant[v, MISSING] < left_out:
            continue
        for k in range(a.unit[u, VISIT_COUNT]):
            day = a.variant_visit[v, k, ON_DAY]
            if day >= found.shape[1]:
                total = NEVER
            elif day >= 0:
                total += found[a.variant_visit[v, k, WITH_LOAD] - low, day, COST]
            if total >= least:
                break
        if total < least:
            chosen, least = v, total
    return int(chosen)


@inlined
def _take_variant(a: Arrays, s: Routes, undo: Undo, u: int, v: int) -> bool:
    """Put the visits of a variant in; False, and nothing in, where a week gets too long."""
    price, low = a.variant[v, PRICE], a.unit[u, FIRST_LOAD]
    s.unit[u, VARIANT] = v
    for k in range(a.unit[u, VISIT_COUNT]):
        day = a.variant_visit[v, k, ON_DAY]
        if day < 0:
            continue
        load = a.variant_visit[v, k, WITH_LOAD]
        node, spot = a.unit[u, FIRST_NODE] + k, s.found[load - low, day]
        r = spot[CELL]
        s.visit[node, AS_LOAD], s.visit[node, IN_WINDOW] = load, spot[WINDOW]
        keep_cell(a, s, undo, r)
        insert(a, s, r, spot[POSITION], node)
        price += a.cell_price[u, r]
    s.unit[u, PRICE_S] = price
    if (
        a.has_hours
        and a.unit[u, VISIT_COUNT] > 1
        and s.weight[PER_SECOND] == 0.0
        and is_over_hours(a, s)
    ):
        leave_out(a, s, u)  # they fit one by one into a week's hours but not together
        return False
    return True


@compiled
def leave_out(a: Arrays, s: Routes, u: int) -> None:
    """Take all visits of unit u out of their routes, and leave them unplaced."""
    for node in range(a.unit[u, FIRST_NODE], a.unit[u + 1, FIRST_NODE]):
        r = s.visit[node, IN_CELL]
        if r >= 0:
            take_out(a, s, r, position_of(s, r, node))
            refresh(a, s, r)
    s.unit[u, VARIANT] = a.unit[u, FIRST_VARIANT]
    s.unit[u, PRICE_S] = a.variant[s.unit[u, VARIANT], PRICE]
