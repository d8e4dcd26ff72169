"""Take strings of neighbouring stops out of routes that lie near each other, and order them.

The removal of Christiaens and Vanden Berghe, "Slack Induction by String Removals for Vehicle
Routing Problems", Transportation Science 54(2), 2020: algorithm 2 with both string procedures.
"""

from __future__ import annotations

import numpy as np

from dispatch.planning.arrays import (
    AT_PLACE,
    BULK,
    CELL_COUNT,
    FIRST_LOAD,
    FIRST_NODE,
    LEAST_PRICE,
    PRICE,
    START,
    VISIT_COUNT,
    Arrays,
)
from dispatch.planning.routes import (
    AS_LOAD,
    IN_CELL,
    IS_OUT,
    STOPS,
    VARIANT,
    VISITS,
    Routes,
    Undo,
    compiled,
    inlined,
)
from dispatch.planning.times import take_unit

MEAN_REMOVED = 10  # stops taken out per round, on average (their parameter c-bar)
LONGEST_STRING = 10  # most stops taken from one route (their L-max)
WISH_SHARE = 0.2  # share of rounds that make room for upkeep which is put off or late
MOST_ROOM = 4  # most stops that such a round takes from the route in a row
SPLIT_SHARE = 0.5  # share of strings that leave a middle part standing (their alpha)
SPLIT_GROWTH = 0.01  # chance that the standing part grows by one more stop (their beta)


@compiled
def ruin(a: Arrays, s: Routes, undo: Undo, rng: np.random.Generator) -> None:
    """Take units out around a random one; times of the touched routes are left stale.

    Now and then those that keep upkeep of another from being done (our own).
    """
    if len(a.choosers) > 0 and rng.random() < WISH_SHARE and _make_room(a, s, undo, rng):
        return
    units = len(a.unit) - 1
    total, used = 0, 0
    for r in range(len(s.day)):
        total += s.day[r, VISITS]
        used += s.day[r, VISITS] > 0
    if total == 0:
        return
    longest = min(float(LONGEST_STRING), total / used)
    most_strings = 4 * MEAN_REMOVED / (1 + longest) - 1
    strings = int(rng.random() * most_strings + 1)
    seed = min(int(rng.random() * units), units - 1)
    cut = 0
    for u in a.neighbours[seed]:
        if cut >= strings:
            break
        if undo.unit[u, IS_OUT]:
            continue
        node = _placed_node(a, s, rng, u)
        if node < 0 or _is_cut(undo, s.visit[node, IN_CELL], cut):
            continue
        r = s.visit[node, IN_CELL]
        undo.cut[cut] = r
        cut += 1
        length = int(rng.random() * min(float(s.day[r, VISITS]), longest) + 1)
        length = min(length, s.day[r, VISITS])
        _cut_string(a, s, undo, rng, r, node, length)


@compiled
def _make_room(a: Arrays, s: Routes, undo: Undo, rng: np.random.Generator) -> bool:
    """Take out a unit whose upkeep is put off or late, and what is in its way in a random route.

    In its way are all who have upkeep done there, and a short string. False, and nothing taken
    out, when no unit wants for anything.
    """
    count = len(a.choosers)
    shift, wisher = int(rng.random() * count), -1
    for i in range(count):
        u = a.choosers[(i + shift) % count]
        if a.variant[s.unit[u, VARIANT], PRICE] > a.unit[u, LEAST_PRICE]:
            wisher = u
            break
    if wisher < 0 or a.unit[wisher, CELL_COUNT] == 0:
        return False
    r = a.cell_order[wisher, int(rng.random() * a.unit[wisher, CELL_COUNT])]
    take_unit(a, s, undo, wisher)
    if s.day[r, VISITS] == 0:
        return True
    at = 1 + int(rng.random() * s.day[r, STOPS])
    node, nodes = s.node[r, at], len(a.node_unit)
    if node < nodes:
        _cut_string(
            a, s, undo, rng, r, node, min(1 + int(rng.random() * MOST_ROOM), s.day[r, VISITS])
        )
    i = 1
    while i <= s.day[r, STOPS]:
        v = s.node[r, i]
        if v < nodes and s.visit[v, AS_LOAD] != a.unit[a.node_unit[v], FIRST_LOAD]:
            take_unit(a, s, undo, a.node_unit[v])
        else:
            i += 1
    return True


@inlined
def _is_cut(undo: Undo, r: int, cut: int) -> bool:
    is_cut = False
    for i in range(cut):
        is_cut |= undo.cut[i] == r
    return is_cut


@compiled
def _placed_node(a: Arrays, s: Routes, rng: np.random.Generator, u: int) -> int:
    """One of the placed visits of unit u, -1 when none is placed."""
    visits = a.unit[u, VISIT_COUNT]
    shift = int(rng.random() * visits) if visits > 1 else 0
    for k in range(visits):
        node = a.unit[u, FIRST_NODE] + (k + shift) % visits
        if s.visit[node, IN_CELL] >= 0:
            return int(node)
    return -1


@compiled
def _cut_string(
    a: Arrays, s: Routes, undo: Undo, rng: np.random.Generator, r: int, node: int, length: int
) -> None:
    """Take `length` visits around `node` out of route r, perhaps with a gap left standing."""
    nodes = len(a.node_unit)
    visits, at, n = undo.order, 0, 0
    for i in range(1, s.day[r, STOPS] + 1):
        if s.node[r, i] < nodes:
            if s.node[r, i] == node:
                at = n
            visits[n] = s.node[r, i]
            n += 1
    gap = 0
    if length > 1 and length < n and rng.random() < SPLIT_SHARE:
        gap = 1
        while length + gap < n and rng.random() < SPLIT_GROWTH:
            gap += 1
    span = length + gap
    first = max(0, at - span + 1)
    last = min(at, n - span)
    begin = first + int(rng.random() * (last - first + 1))
    gap_at = 1 + int(rng.random() * (length - 1)) if gap > 0 else length
    for i in range(span):
        if gap_at <= i < gap_at + gap:
            continue
        take_unit(a, s, undo, a.node_unit[visits[begin + i]])


@compiled
def order_units(a: Arrays, undo: Undo, rng: np.random.Generator, count: int) -> None:
    """Sort the first `count` units taken out by one of five orders drawn at random.

    Random, most bulk first, farthest first, nearest first (weights 4, 4, 2, 1 as in Christiaens and
    Vanden Berghe 2020) and fewest open cells first (weight 2, our own).
    """
    key, units = undo.key, undo.units
    draw = rng.random() * 13
    for i in range(count):
        u = units[i]
        if draw < 4:
            key[i] = rng.random()
        elif draw < 8:
            key[i] = -a.unit[u, BULK]
        elif draw < 11:
            start = a.cell[a.cell_order[u, 0], START]
            far = a.drives_s[a.unit[u, AT_PLACE], start, 1]
            key[i] = -far if draw < 10 else far
        else:
            key[i] = a.unit[u, CELL_COUNT]
    for i in range(1, count):
        k, u, j = key[i], units[i], i - 1
        while j >= 0 and key[j] > k:
            key[j + 1], units[j + 1] = key[j], units[j]
            j -= 1
        key[j + 1], units[j + 1] = k, u
