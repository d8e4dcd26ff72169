"""Who stands where in the routes, and all that follows from the order but its times.

Stops are put in and taken out one by one. Places, legs and spans of a route move along with them,
so that its times can be reckoned from what lies side by side, without a look at units, loads,
windows and drives.
"""

from __future__ import annotations

from dispatch.planning.arrays import (
    AT_PLACE,
    CLOSES_S,
    END,
    KIND_CHEMICALS_G,
    KIND_G,
    KIND_S,
    MEAL_FROM_S,
    MEAL_S,
    MEAL_TO_S,
    OPENS_S,
    START,
    SUPPLY,
    SUPPLY_S,
    Arrays,
)
from dispatch.planning.problem import NO_DRIVE_S
from dispatch.planning.routes import (
    AFTER_G,
    AS_LOAD,
    BEFORE_G,
    FROM_S,
    IN_CELL,
    IN_WINDOW,
    LASTS_S,
    LEG_S,
    LOAD_G,
    MEAL_AT,
    PLACE,
    STOPS,
    SUPPLY_AT,
    TO_S,
    UNBOUNDED_S,
    VISITS,
    Routes,
    inlined,
)


@inlined
def put(a: Arrays, s: Routes, r: int, position: int, v: int) -> None:
    """Put node v at `position` (1 is right after the start place) of route r; times are stale."""
    day = s.day[r]
    for i in range(day[STOPS] + 1, position - 1, -1):
        _move_stop(s, r, i, i + 1)
    day[STOPS] += 1
    day[MEAL_AT] += day[MEAL_AT] >= position
    day[SUPPLY_AT] += day[SUPPLY_AT] >= position
    s.node[r, position] = v
    write_stop(a, s, r, position)
    link(a, s, r, position + 1)
    if day[MEAL_AT] == position + 1:
        link(a, s, r, position + 2)


@inlined
def take_out(a: Arrays, s: Routes, r: int, position: int) -> None:
    """Take the node at `position` out of route r; its times are stale afterwards."""
    day = s.day[r]
    leave_stop(a, s, r, position)
    for i in range(position, day[STOPS] + 1):
        _move_stop(s, r, i + 1, i)
    day[STOPS] -= 1
    day[MEAL_AT] -= day[MEAL_AT] > position
    day[SUPPLY_AT] -= day[SUPPLY_AT] > position
    link(a, s, r, position)
    if day[MEAL_AT] == position:
        link(a, s, r, position + 1)


@inlined
def _move_stop(s: Routes, r: int, i: int, to: int) -> None:
    """Copy what stands at position i of route r to another position."""
    node, near, span = s.node[r], s.near[r], s.span[r]
    node[to] = node[i]
    near[to, PLACE], near[to, LEG_S] = near[i, PLACE], near[i, LEG_S]
    span[to, FROM_S], span[to, TO_S], span[to, LASTS_S] = (
        span[i, FROM_S],
        span[i, TO_S],
        span[i, LASTS_S],
    )


@inlined
def position_of(s: Routes, r: int, v: int) -> int:
    """Where node v stands in route r, which holds it."""
    order, i = s.node[r], 1
    while order[i] != v:
        i += 1
    return i


@inlined
def write_order(a: Arrays, s: Routes, r: int) -> None:
    """Write down all that follows from the nodes of route r; its times are stale afterwards."""
    near, day = s.near[r], s.day[r]
    for k in (VISITS, LOAD_G, BEFORE_G, AFTER_G, SUPPLY_AT, MEAL_AT):
        day[k] = 0
    near[0, PLACE], near[0, LEG_S] = a.cell[r, START], 0
    for i in range(1, day[STOPS] + 1):
        write_stop(a, s, r, i)
    near[day[STOPS] + 1, PLACE] = a.cell[r, END]
    link(a, s, r, day[STOPS] + 1)


@inlined
def write_stop(a: Arrays, s: Routes, r: int, i: int) -> None:
    """Write down what follows from the node at position i of route r, and the leg to it."""
    nodes, v = len(a.node_unit), s.node[r, i]
    near, span, day, cell = s.near[r], s.span[r], s.day[r], a.cell[r]
    if v < nodes:
        load, window = a.load[s.visit[v, AS_LOAD]], a.window[s.visit[v, IN_WINDOW]]
        near[i, PLACE] = a.unit[a.node_unit[v], AT_PLACE]
        span[i, FROM_S], span[i, TO_S] = window[OPENS_S], window[CLOSES_S]
        span[i, LASTS_S] = load[KIND_S]
        day[VISITS] += 1
        day[LOAD_G] += load[KIND_G]
        day[AFTER_G if 0 < day[SUPPLY_AT] < i else BEFORE_G] += load[KIND_CHEMICALS_G]
        s.visit[v, IN_CELL] = r
    elif v < nodes + len(a.cell):
        span[i, FROM_S], span[i, TO_S] = cell[MEAL_FROM_S], cell[MEAL_TO_S]
        span[i, LASTS_S] = cell[MEAL_S]
        day[MEAL_AT] = i
    else:
        near[i, PLACE] = cell[SUPPLY]
        span[i, FROM_S], span[i, TO_S], span[i, LASTS_S] = 0, UNBOUNDED_S, cell[SUPPLY_S]
        before_g = 0
        for k in range(1, i):
            if s.node[r, k] < nodes:
                before_g += a.load[s.visit[s.node[r, k], AS_LOAD], KIND_CHEMICALS_G]
        day[BEFORE_G], day[AFTER_G] = before_g, day[BEFORE_G] - before_g
        day[SUPPLY_AT] = i
    link(a, s, r, i)


@inlined
def leave_stop(a: Arrays, s: Routes, r: int, i: int) -> None:
    """Take back what `write_stop` added up for the node at position i of route r."""
    nodes, v, day = len(a.node_unit), s.node[r, i], s.day[r]
    if v < nodes:
        load = a.load[s.visit[v, AS_LOAD]]
        day[VISITS] -= 1
        day[LOAD_G] -= load[KIND_G]
        day[AFTER_G if 0 < day[SUPPLY_AT] < i else BEFORE_G] -= load[KIND_CHEMICALS_G]
        s.visit[v, IN_CELL] = -1
    elif v < nodes + len(a.cell):
        day[MEAL_AT] = 0
    else:
        day[BEFORE_G] += day[AFTER_G]
        day[AFTER_G] = day[SUPPLY_AT] = 0


@inlined
def link(a: Arrays, s: Routes, r: int, i: int) -> None:
    """Write down the leg to position i of route r; a meal is taken where the truck is."""
    near = s.near[r]
    here, there = near[i - 1, PLACE], near[i, PLACE]
    if i == s.day[r, MEAL_AT]:
        near[i, PLACE], near[i, LEG_S] = here, 0
    elif here == there and i <= s.day[r, STOPS]:
        near[i, LEG_S] = 0
    else:
        leg = a.drives_s[here, there, 0]
        near[i, LEG_S] = NO_DRIVE_S if leg >= a.no_drive else leg
