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
    DAY,
    FIRST_LOAD,
    FIRST_NODE,
    FIRST_VARIANT,
    KIND_G,
    KIND_SKILLS,
    LEAST_PRICE,
    ON_DAY,
    PAYLOAD_G,
    PRICE,
    SKILLS,
    START,
    UNPLACED,
    VISIT_COUNT,
    WITH_LOAD,
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
    merged,
)
from dispatch.planning.times import take_unit
from dispatch.planning.variants import NEVER

MEAN_REMOVED = 10  # stops taken out per round, on average (their parameter c-bar)
LONGEST_STRING = 10  # most stops taken from one route (their L-max)
WISH_SHARE = 0.2  # share of rounds that make room for upkeep which is put off or late
REPLACED = 0.5  # share of such rounds that take other upkeep out there
MOST_ROOM = 4  # most stops that such a round takes out there for time
NEARBY = 0.5  # share of such rounds that look for room near by
NEAREST = 0.5  # chance of each route near by, from the nearest on, that it is taken
SPLIT_SHARE = 0.5  # share of strings that leave a middle part standing (their alpha)
SPLIT_GROWTH = 0.01  # chance that the standing part grows by one more stop (their beta)
UNITS_CACHED = 1_500  # up to so many units a round takes stops out anywhere
PART, STAY = 100, 300  # else around so many units, for at most so many rounds,
SWEEPS = 20  # and around every unit about so often at least in the whole search
GOLDEN_SECTION = (5.0**0.5 - 1.0) / 2.0


@inlined
def part_at(n: int, total: int, units: int) -> tuple[int, int]:
    """First unit and number of the units around which round n of `total` takes stops out.

    All of them, but in large weeks a small part for a while: units stand in the order of their
    neighbourhoods, so that the drives of the part stay in the processor's cache, and a round up to
    a third shorter. Steps of the golden section of all units visit every part equally often.
    """
    if units <= UNITS_CACHED:
        return 0, units
    stay = min(STAY, max(1, PART * total // (SWEEPS * units)))
    return int(n // stay * GOLDEN_SECTION % 1.0 * units), PART


@merged
def ruin(a: Arrays, s: Routes, undo: Undo, rng: np.random.Generator, part: tuple[int, int]) -> None:
    """Take units out around one of a part; times of the touched routes are left stale.

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
    first, count = part
    seed = (first + min(int(rng.random() * count), count - 1)) % units
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
    """Take out a unit whose upkeep is put off or late, and what is in its way where it would fit.

    In its way are, half the time, all who have upkeep done there; then so many stops in a row as
    the truck must leave for the mass, and some more for the time. False, and nothing taken out,
    when no unit wants for anything that could be had.
    """
    count = len(a.choosers)
    shift, wisher = int(rng.random() * count), -1
    for i in range(count):
        u = a.choosers[(i + shift) % count]
        if a.variant[s.unit[u, VARIANT], PRICE] > a.unit[u, LEAST_PRICE]:
            wisher = u
            break
    if wisher < 0:
        return False
    day, load = _wish(a, s, rng, wisher)
    r = _wished_cell(a, s, rng, wisher, day, load) if day >= 0 else -1
    if r < 0:
        return False
    take_unit(a, s, undo, wisher)
    if rng.random() < REPLACED:
        i = 1
        while i <= s.day[r, STOPS]:
            if _has_upkeep(a, s, s.node[r, i]):
                take_unit(a, s, undo, a.node_unit[s.node[r, i]])
            else:
                i += 1
    _clear(a, s, undo, rng, r, a.load[load, KIND_G])
    return True


@compiled
def _clear(a: Arrays, s: Routes, undo: Undo, rng: np.random.Generator, r: int, mass_g: int) -> None:
    """Take stops in a row out of route r, those with upkeep left, for `mass_g` and some time."""
    over_g = mass_g - a.cell[r, PAYLOAD_G]
    for i in range(1, s.day[r, STOPS] + 1):
        if s.node[r, i] < len(a.node_unit):
            over_g += a.load[s.visit[s.node[r, i], AS_LOAD], KIND_G]
    more, stops = int(rng.random() * (MOST_ROOM + 1)), s.day[r, STOPS]
    at = 1 + int(rng.random() * stops)
    for _ in range(stops):
        if over_g <= 0 and more <= 0:
            break
        at = 1 if at > s.day[r, STOPS] else at
        node = s.node[r, at]
        if node >= len(a.node_unit) or _has_upkeep(a, s, node):
            at += 1
            continue
        over_g -= a.load[s.visit[node, AS_LOAD], KIND_G]
        more -= 1
        take_unit(a, s, undo, a.node_unit[node])


@inlined
def _has_upkeep(a: Arrays, s: Routes, node: int) -> bool:
    """Whether a visit has more to do than its site usually asks (no meal nor supply stop has)."""
    if node >= len(a.node_unit):
        return False
    return bool(s.visit[node, AS_LOAD] != a.unit[a.node_unit[node], FIRST_LOAD])


@compiled
def _wished_cell(
    a: Arrays, s: Routes, rng: np.random.Generator, u: int, day: int, load: int
) -> int:
    """A random cell of the day where unit u may have the load; -1 where there is none.

    Half the time it is one of those that pass near the unit.
    """
    if rng.random() < NEARBY:
        for v in a.neighbours[u]:
            node = _placed_node(a, s, rng, v)
            r = s.visit[node, IN_CELL] if node >= 0 else -1
            if r < 0 or v == u or not _suits(a, r, day, load):
                continue
            if a.cell_price[u, r] < NEVER and rng.random() < NEAREST:
                return int(r)
    cells = a.unit[u, CELL_COUNT]
    shift = int(rng.random() * cells)
    for i in range(cells):
        r = a.cell_order[u, (i + shift) % cells]
        if _suits(a, r, day, load):
            return int(r)
    return -1


@inlined
def _suits(a: Arrays, r: int, day: int, load: int) -> bool:
    """Whether an empty route r of that day could take the load."""
    wanted, cell = a.load[load], a.cell[r]
    has_skills = not wanted[KIND_SKILLS] & ~cell[SKILLS]
    return bool(cell[DAY] == day and has_skills and wanted[KIND_G] <= cell[PAYLOAD_G])


@compiled
def _wish(a: Arrays, s: Routes, rng: np.random.Generator, u: int) -> tuple[int, int]:
    """Day and load kind of a visit of unit u in a random variant that costs less; -1 for none."""
    now = a.variant[s.unit[u, VARIANT], PRICE]
    better, chosen = 0, -1
    for v in range(a.unit[u, FIRST_VARIANT], a.unit[u + 1, FIRST_VARIANT]):
        if a.variant[v, PRICE] < now:
            better += 1
            if rng.random() * better < 1.0:
                chosen = v
    day, load = UNPLACED, a.unit[u, FIRST_LOAD]
    for k in range(a.unit[u, VISIT_COUNT] if chosen >= 0 else 0):
        on, with_load = a.variant_visit[chosen, k, ON_DAY], a.variant_visit[chosen, k, WITH_LOAD]
        if on >= 0 and (day < 0 or with_load != a.unit[u, FIRST_LOAD]):
            day, load = on, with_load
    return int(day), int(load)


@inlined
def _is_cut(undo: Undo, r: int, cut: int) -> bool:
    is_cut = False
    for i in range(cut):
        is_cut |= undo.cut[i] == r
    return is_cut


@merged
def _placed_node(a: Arrays, s: Routes, rng: np.random.Generator, u: int) -> int:
    """One of the placed visits of unit u, -1 when none is placed."""
    visits = a.unit[u, VISIT_COUNT]
    shift = int(rng.random() * visits) if visits > 1 else 0
    for k in range(visits):
        node = a.unit[u, FIRST_NODE] + (k + shift) % visits
        if s.visit[node, IN_CELL] >= 0:
            return int(node)
    return -1


@merged
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


@merged
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
            far = np.int64(a.drives_s[a.unit[u, AT_PLACE], start, 1])
            key[i] = -far if draw < 10 else far
        else:
            key[i] = a.unit[u, CELL_COUNT]
    for i in range(1, count):
        k, u, j = key[i], units[i], i - 1
        while j >= 0 and key[j] > k:
            key[j + 1], units[j + 1] = key[j], units[j]
            j -= 1
        key[j + 1], units[j + 1] = k, u
