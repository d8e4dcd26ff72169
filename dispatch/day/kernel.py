"""Rounds of ruin and recreate over the rest of a day, accepted by simulated annealing.

Removal of strings of neighbouring stops and insertion with blinks follow J. Christiaens and
G. Vanden Berghe, Transportation Science 54(2), 2020; prices of windows and shifts are our own. So
is the other removal: a changed order has a fixed price, which no small step ever takes back, so
now and then one technician's old order is put back whole.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from dispatch.day.field import (
    END,
    IS_OUT,
    LAST_END_S,
    NEVER,
    OVER,
    OVERTIME_MILLI,
    REGULAR_END_S,
    START,
    THRESHOLD_S,
    WAIT,
    Field,
    Ints,
    compiled,
    order_cost_s,
)

BLINK = 0.01  # share of positions passed over (Christiaens and Vanden Berghe 2020)
MOST_STRING = 5  # stops of one route that a round takes out in a row
MOST_ROUTES = 3  # routes that a round takes stops from
OLD_ORDER = 0.2  # share of rounds that put an old order back (measured: 0.1 to 0.3 are alike)
NOWHERE = -1


class Orders(NamedTuple):
    """Orders of the cells; `cell_of` is NOWHERE for a node that is left out."""

    node: Ints  # (R, W)
    length: Ints  # (R,)
    cost_s: Ints  # (R,)
    wait_s: Ints  # (R,)
    end_s: Ints  # (R,)
    cell_of: Ints  # (N,)


class Scratch(NamedTuple):
    """What a search writes its notes on; nothing compiled here makes an array."""

    old: Orders  # the orders before the round
    touched: Ints  # (R,) 1 where the round has changed the order
    out: Ints  # (N,) nodes that look for a place
    row: Ints  # (W + 1,) one order


@compiled
def improve(
    f: Field,
    o: Orders,
    best: Orders,
    scratch: Scratch,
    rng: np.random.Generator,
    rounds: int,
    hot_s: float,
    cold_s: float,
) -> int:
    """Run `rounds` rounds on the orders at hand; `best` holds the best seen, its cost is returned.

    The temperature falls from `hot_s` to `cold_s` with the number of the round.
    """
    old, touched, out, row = scratch.old, scratch.touched, scratch.out, scratch.row
    cells = len(f.cell)
    now = total_s(f, o)
    least = now
    _copy(o, old)
    _copy(o, best)
    for n in range(rounds):
        temperature = hot_s * (cold_s / hot_s) ** (n / rounds)
        if rng.random() < OLD_ORDER:
            taken = _old_order(f, o, touched, out, int(rng.random() * cells))
        else:
            taken = _ruin(f, o, touched, out, rng)
        taken = _take_left_out(f, o, out, taken)
        _shuffle(f, out, taken, rng)
        for i in range(taken):
            insert_best(f, o, touched, row, out[i], rng, BLINK)
        cost = total_s(f, o)
        if cost - now < -temperature * np.log(1.0 - rng.random()):
            now = cost
            _settle(o, old, touched, True)
            if now < least:
                least = now
                _copy(o, best)
        else:
            _settle(o, old, touched, False)
    return int(least)


@compiled
def total_s(f: Field, o: Orders) -> int:
    """Cost of all orders and of what is left out."""
    total = 0
    for r in range(len(o.cost_s)):
        total += o.cost_s[r]
    for v in range(len(f.place)):
        if o.cell_of[v] == NOWHERE:
            total += f.unplaced_s[v]
    return int(total)


@compiled
def refresh(f: Field, o: Orders, r: int) -> None:
    """Recompute what the order of cell r costs, and who is in it."""
    o.cost_s[r], o.wait_s[r], o.end_s[r] = order_cost_s(f, r, o.node[r], o.length[r])
    for i in range(o.length[r]):
        o.cell_of[o.node[r, i]] = r


@compiled
def _copy(one: Orders, other: Orders) -> None:
    for r in range(len(one.length)):
        _copy_order(one, other, r)
    for v in range(len(one.cell_of)):
        other.cell_of[v] = one.cell_of[v]


@compiled
def _copy_order(one: Orders, other: Orders, r: int) -> None:
    for k in range(one.length[r]):
        other.node[r, k] = one.node[r, k]
    other.length[r] = one.length[r]
    other.cost_s[r], other.wait_s[r], other.end_s[r] = one.cost_s[r], one.wait_s[r], one.end_s[r]


@compiled
def _settle(o: Orders, old: Orders, touched: Ints, is_kept: bool) -> None:
    """Keep what a round has changed, or take it back."""
    source, target = (o, old) if is_kept else (old, o)
    for r in range(len(touched)):
        if touched[r]:
            touched[r] = 0
            _copy_order(source, target, r)
    for v in range(len(source.cell_of)):
        target.cell_of[v] = source.cell_of[v]


@compiled
def _ruin(f: Field, o: Orders, touched: Ints, out: Ints, rng: np.random.Generator) -> int:
    """Take strings of stops out of a few routes around a node drawn at random; how many."""
    count, taken, routes = len(f.place), 0, 0
    most = 1 + int(rng.random() * MOST_ROUTES)
    near = f.near[int(rng.random() * count)]
    for v in near:
        r = o.cell_of[v]
        if r == NOWHERE or touched[r]:
            continue
        size = min(1 + int(rng.random() * MOST_STRING), o.length[r])
        at = 0
        while o.node[r, at] != v:
            at += 1
        begin = max(0, min(at - int(rng.random() * size), o.length[r] - size))
        touched[r] = 1
        for i in range(begin, begin + size):
            out[taken] = o.node[r, i]
            o.cell_of[o.node[r, i]] = NOWHERE
            taken += 1
        for i in range(begin + size, o.length[r]):
            o.node[r, i - size] = o.node[r, i]
        o.length[r] -= size
        refresh(f, o, r)
        routes += 1
        if routes == most:
            break
    return taken


@compiled
def _old_order(f: Field, o: Orders, touched: Ints, out: Ints, r: int) -> int:
    """Give cell r the order in which it stood; how many nodes of others lose their place."""
    taken, back = 0, 0
    touched[r] = 1
    for i in range(o.length[r]):
        v = o.node[r, i]
        if f.own_cell[v] != r:
            out[taken] = v
            taken += 1
            o.cell_of[v] = NOWHERE
    for v in range(len(f.place)):
        if f.own_cell[v] == r:
            if o.cell_of[v] != NOWHERE and o.cell_of[v] != r:
                touched[o.cell_of[v]] = 1
                _take_out(f, o, v)
            o.node[r, f.own_position[v]] = v
            back += 1
    o.length[r] = back
    refresh(f, o, r)
    return taken


@compiled
def _take_out(f: Field, o: Orders, v: int) -> None:
    """Take node v out of the order it stands in."""
    r, at = o.cell_of[v], 0
    while o.node[r, at] != v:
        at += 1
    for i in range(at + 1, o.length[r]):
        o.node[r, i - 1] = o.node[r, i]
    o.length[r] -= 1
    o.cell_of[v] = NOWHERE
    refresh(f, o, r)


@compiled
def _take_left_out(f: Field, o: Orders, out: Ints, taken: int) -> int:
    """Nodes that stood nowhere are tried again in every round."""
    drawn = taken
    for v in range(len(f.place)):
        if o.cell_of[v] == NOWHERE:
            is_new = True
            for i in range(drawn):
                is_new &= out[i] != v
            if is_new:
                out[taken] = v
                taken += 1
    return taken


@compiled
def _shuffle(f: Field, out: Ints, taken: int, rng: np.random.Generator) -> None:
    """Bring the nodes into a random order, or now and then the longest service first."""
    for i in range(taken - 1, 0, -1):
        j = int(rng.random() * (i + 1))
        out[i], out[j] = out[j], out[i]
    if rng.random() < 0.3:
        for i in range(1, taken):
            v, j = out[i], i - 1
            while j >= 0 and f.lasts_s[out[j]] < f.lasts_s[v]:
                out[j + 1] = out[j]
                j -= 1
            out[j + 1] = v


@compiled
def _write_with(o: Orders, r: int, position: int, v: int, row: Ints) -> None:
    """Write the order of cell r with node v at `position` into `row`."""
    for k in range(position):
        row[k] = o.node[r, k]
    row[position] = v
    for k in range(position, o.length[r]):
        row[k + 1] = o.node[r, k]


@compiled
def _longer_s(f: Field, r: int, end_s: int, later_s: int) -> int:
    """What it costs that the day of cell r ends later than it did."""
    cell = f.cell[r]
    over = max(0, later_s - cell[REGULAR_END_S]) - max(0, end_s - cell[REGULAR_END_S])
    beyond = max(0, later_s - cell[LAST_END_S]) - max(0, end_s - cell[LAST_END_S])
    return int(cell[OVERTIME_MILLI] * over // 1000 + f.price[OVER] * beyond)


@compiled
def insert_best(
    f: Field,
    o: Orders,
    touched: Ints,
    row: Ints,
    v: int,
    rng: np.random.Generator,
    blink: float,
) -> None:
    """Put node v where it costs least, or leave it out where that is cheaper.

    A position is not looked at when its detour and the longer day alone, less all the waiting that
    they may fill and the price of a changed order that they may mend, cost more than the best one
    found.
    """
    least, cell, position = f.unplaced_s[v], NOWHERE, 0
    there = f.place[v]
    for r in range(len(f.cell)):
        n = o.length[r]
        if not f.may[v, r] or n + 1 >= o.node.shape[1]:
            continue
        gain = f.price[WAIT] * o.wait_s[r]
        gain += f.price[THRESHOLD_S] if f.own_cell[v] == r else 0
        # waiting and a later departure may make up for a longer day; nothing else does
        spare = o.wait_s[r] + (0 if f.cell[r, IS_OUT] else NEVER)
        here = f.cell[r, START]
        for i in range(n + 1):
            onward = f.place[o.node[r, i]] if i < n else f.cell[r, END]
            detour = f.drive_s[here, there] + f.drive_s[there, onward]
            detour -= f.drive_s[here, onward] if n > 0 or f.cell[r, IS_OUT] else 0
            here = onward
            if detour - gain >= least:
                continue
            ends = o.end_s[r] + max(0, detour + f.lasts_s[v] - spare)
            if detour - gain + _longer_s(f, r, o.end_s[r], ends) >= least or rng.random() < blink:
                continue
            _write_with(o, r, i, v, row)
            cost, _, _ = order_cost_s(f, r, row, n + 1)
            if cost < NEVER and cost - o.cost_s[r] < least:
                least, cell, position = cost - o.cost_s[r], r, i
    if cell == NOWHERE:
        return
    touched[cell] = 1
    for k in range(o.length[cell], position, -1):
        o.node[cell, k] = o.node[cell, k - 1]
    o.node[cell, position] = v
    o.length[cell] += 1
    refresh(f, o, cell)
