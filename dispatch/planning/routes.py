"""Routes under construction, as the compiled search holds them.

Row r of `node`, `place`, `ready_s` and `latest_s` is the route of cell r: position 0 is the start
place, 1 to `stops[r]` the nodes in order, `stops[r] + 1` the end place. A node is a visit (below
N) or the meal of cell r (N + r), which stands between two stops and is taken where the truck is.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import numpy as np

from dispatch.compiled import compiler
from dispatch.planning.arrays import Arrays, Ints

compiled = compiler(Path(__file__).parent, "arrays", "routes", "ruin", "recreate", "anneal")


class Routes(NamedTuple):
    """Routes and who is in them; W is the most nodes a route can hold plus its two ends.

    `ready_s` is the earliest departure after a position, `latest_s` the latest arrival at it that
    keeps all that follows in time. `variant` is the variant of each unit.

    The least duration of a route that takes a new stop follows from what leads up to the stop and
    what comes after it (T. Vidal et al., "A unified solution framework for multi-attribute
    vehicle routing problems", EJOR 234, 2014, eq. 12 to 16, here with hard windows): `lead_s` is
    the least duration up to and including a position and `lead_latest_s` the latest departure
    from the start place that allows it; `rest_s` is the least duration from the beginning of
    service at a position to the end of the route, and `rest_from_s` the earliest beginning that
    allows it.
    """

    node: Ints  # (R, W)
    stops: Ints  # (R,) nodes in the route, the meal included
    place: Ints  # (R, W)
    leg_s: Ints  # (R, W) drive from the position before
    ready_s: Ints  # (R, W)
    latest_s: Ints  # (R, W)
    lead_s: Ints  # (R, W)
    lead_latest_s: Ints  # (R, W)
    rest_s: Ints  # (R, W)
    rest_from_s: Ints  # (R, W)
    drive_s: Ints  # (R,) 0 for a route that visits nobody
    wait_s: Ints  # (R,) least waiting, 0 for a route that visits nobody
    load_g: Ints  # (R,)
    visits: Ints  # (R,) nodes that are visits
    variant: Ints  # (U,)
    node_cell: Ints  # (N,) -1 while unplaced
    node_load: Ints  # (N,) load kind
    price_s: Ints  # (U,) price of the unit's variant and cells


class Undo(NamedTuple):
    """What a round has changed, so that it can be taken back.

    The first `changed[0]` entries of `cells` are the routes touched since the round began, those
    of `units` (`changed[1]`) the units taken out; their old contents stand beside them.
    """

    changed: Ints  # (2,)
    cells: Ints  # (R,)
    touched: Ints  # (R,) 1 for a route that has been kept
    node: Ints  # (R, W)
    stops: Ints  # (R,)
    cost_s: Ints  # (R,)
    units: Ints  # (U,)
    is_out: Ints  # (U,) 1 for a unit that has been taken out
    variant: Ints  # (U,)
    price_s: Ints  # (U,)


def empty_routes(a: Arrays) -> Routes:
    """Routes without a stop, every unit left out, every meal in place."""
    cells, units, nodes = len(a.cell_day), len(a.unit_place), len(a.node_unit)
    width = a.route_limit + 3
    routes = Routes(
        node=np.full((cells, width), -1, dtype=np.int64),
        stops=np.zeros(cells, dtype=np.int64),
        place=np.zeros((cells, width), dtype=np.int64),
        leg_s=np.zeros((cells, width), dtype=np.int64),
        ready_s=np.zeros((cells, width), dtype=np.int64),
        latest_s=np.zeros((cells, width), dtype=np.int64),
        lead_s=np.zeros((cells, width), dtype=np.int64),
        lead_latest_s=np.zeros((cells, width), dtype=np.int64),
        rest_s=np.zeros((cells, width), dtype=np.int64),
        rest_from_s=np.zeros((cells, width), dtype=np.int64),
        drive_s=np.zeros(cells, dtype=np.int64),
        wait_s=np.zeros(cells, dtype=np.int64),
        load_g=np.zeros(cells, dtype=np.int64),
        visits=np.zeros(cells, dtype=np.int64),
        variant=a.variant_first[:units].copy(),
        node_cell=np.full(nodes, -1, dtype=np.int64),
        node_load=np.zeros(nodes, dtype=np.int64),
        price_s=a.variant_price[a.variant_first[:units]].copy(),
    )
    for cell in range(cells):
        if a.break_s[cell] > 0:
            routes.node[cell, 1] = nodes + cell
            routes.stops[cell] = 1
        refresh(a, routes, cell)
    return routes


def nothing_to_undo(s: Routes) -> Undo:
    """An empty list of changes for these routes."""
    return Undo(
        changed=np.zeros(2, dtype=np.int64),
        cells=np.zeros_like(s.stops),
        touched=np.zeros_like(s.stops),
        node=np.zeros_like(s.node),
        stops=np.zeros_like(s.stops),
        cost_s=np.zeros_like(s.drive_s),
        units=np.zeros_like(s.variant),
        is_out=np.zeros_like(s.variant),
        variant=np.zeros_like(s.variant),
        price_s=np.zeros_like(s.price_s),
    )


@compiled
def route_cost_s(a: Arrays, s: Routes, r: int) -> int:
    """Driving and waiting of route r."""
    return int(s.drive_s[r] + a.waiting * s.wait_s[r])


@compiled
def keep_cell(a: Arrays, s: Routes, undo: Undo, r: int) -> None:
    """Note the contents of route r before its first change in this round."""
    if undo.touched[r] == 0:
        undo.touched[r] = 1
        undo.cells[undo.changed[0]] = r
        undo.changed[0] += 1
        undo.node[r, :] = s.node[r, :]
        undo.stops[r] = s.stops[r]
        undo.cost_s[r] = route_cost_s(a, s, r)


@compiled
def take_unit(a: Arrays, s: Routes, undo: Undo, u: int) -> None:
    """Take all visits of unit u out of their routes, whose times are left stale."""
    if undo.is_out[u]:
        return
    undo.is_out[u] = 1
    undo.units[undo.changed[1]] = u
    undo.changed[1] += 1
    undo.variant[u] = s.variant[u]
    undo.price_s[u] = s.price_s[u]
    for k in range(a.unit_visits[u]):
        node = a.unit_node[u] + k
        r = s.node_cell[node]
        if r >= 0:
            keep_cell(a, s, undo, r)
            take_out(a, s, r, node)
            s.visits[r] -= 1


@compiled
def forget(undo: Undo) -> None:
    """Begin a new round: what has changed so far stays."""
    for i in range(undo.changed[0]):
        undo.touched[undo.cells[i]] = 0
    for i in range(undo.changed[1]):
        undo.is_out[undo.units[i]] = 0
    undo.changed[:] = 0


@compiled
def take_back(a: Arrays, s: Routes, undo: Undo) -> None:
    """Restore the routes and units as they were when the round began."""
    for i in range(undo.changed[1]):
        u = undo.units[i]
        s.variant[u] = undo.variant[u]
        s.price_s[u] = undo.price_s[u]
        for k in range(a.unit_visits[u]):
            s.node_cell[a.unit_node[u] + k] = -1
            s.node_load[a.unit_node[u] + k] = a.variant_load[s.variant[u], k]
    for i in range(undo.changed[0]):
        r = undo.cells[i]
        s.node[r, :] = undo.node[r, :]
        s.stops[r] = undo.stops[r]
        refresh(a, s, r)
    forget(undo)


@compiled
def refresh(a: Arrays, s: Routes, r: int) -> bool:
    """Recompute all that follows from the order of route r; False when it runs out of time."""
    nodes, n = len(a.node_unit), s.stops[r]
    # Arrays are taken out of their bundles before the loop: each would cost more than a stop there.
    order, place, legs, ready = s.node[r], s.place[r], s.leg_s[r], s.ready_s[r]
    lead, lead_latest = s.lead_s[r], s.lead_latest_s[r]
    node_unit, node_load, node_cell = a.node_unit, s.node_load, s.node_cell
    unit_place, drive_s = a.unit_place, a.drive_s
    from_s, to_s, load_s, load_g = a.window_start_s, a.window_end_s, a.load_s, a.load_g
    place[0], ready[0] = a.cell_start[r], a.shift_start_s[r]
    lead[0], lead_latest[0] = 0, a.shift_end_s[r]
    in_time = True
    drive, busy, load, visits = np.int64(0), 0, 0, 0
    for i in range(1, n + 1):
        v = order[i]
        if v < nodes:
            u, kind = node_unit[v], node_load[v]
            place[i] = unit_place[u]
            leg = np.int64(drive_s[place[i - 1], place[i]])
            opens, closes, duration = from_s[u], to_s[u], load_s[kind]
            load += load_g[kind]
            visits += 1
            node_cell[v] = r
        else:
            place[i] = place[i - 1]
            leg = np.int64(0)
            opens, closes = a.break_earliest_s[r], a.break_latest_s[r]
            duration = a.break_s[r]
        legs[i] = leg
        begin = max(ready[i - 1] + leg, opens)
        in_time &= begin <= closes
        ready[i] = begin + duration
        reach = lead[i - 1] + leg
        lead[i] = reach + max(opens - reach - lead_latest[i - 1], 0) + duration
        lead_latest[i] = min(closes - reach, lead_latest[i - 1])
        drive += leg
        busy += duration
    place[n + 1] = a.cell_end[r]
    legs[n + 1] = drive_s[place[n], place[n + 1]]
    s.drive_s[r] = drive + legs[n + 1] if visits > 0 else 0
    s.wait_s[r] = lead[n] - drive - busy if visits > 0 else 0
    s.load_g[r] = load
    s.visits[r] = visits
    in_time &= ready[n] + legs[n + 1] <= a.shift_end_s[r]
    _refresh_rest(a, s, r)
    return bool(in_time)


@compiled
def _refresh_rest(a: Arrays, s: Routes, r: int) -> None:
    nodes, n = len(a.node_unit), s.stops[r]
    latest, rest, rest_from, legs = s.latest_s[r], s.rest_s[r], s.rest_from_s[r], s.leg_s[r]
    order, node_unit, node_load = s.node[r], a.node_unit, s.node_load
    from_s, to_s, load_s = a.window_start_s, a.window_end_s, a.load_s
    latest[n + 1] = a.shift_end_s[r]
    rest[n + 1], rest_from[n + 1] = 0, a.shift_start_s[r]
    for i in range(n, 0, -1):
        v = order[i]
        if v < nodes:
            opens, closes = from_s[node_unit[v]], to_s[node_unit[v]]
            whole = load_s[node_load[v]] + legs[i + 1]
        else:
            opens, closes = a.break_earliest_s[r], a.break_latest_s[r]
            whole = a.break_s[r] + legs[i + 1]
        latest[i] = min(closes, latest[i + 1] - whole)
        wait = max(rest_from[i + 1] - whole - closes, 0)
        rest[i] = whole + wait + rest[i + 1]
        rest_from[i] = max(rest_from[i + 1] - whole, opens) - wait


@compiled
def insert(a: Arrays, s: Routes, r: int, position: int, v: int) -> None:
    """Put node v at `position` (1 is right after the start place) of route r."""
    order = s.node[r]
    for i in range(s.stops[r], position - 1, -1):
        order[i + 1] = order[i]
    order[position] = v
    s.stops[r] += 1
    refresh(a, s, r)


@compiled
def take_out(a: Arrays, s: Routes, r: int, v: int) -> None:
    """Take node v out of route r; its times must be refreshed afterwards."""
    keep, order = 0, s.node[r]
    for i in range(1, s.stops[r] + 1):
        if order[i] != v:
            keep += 1
            order[keep] = order[i]
    s.stops[r] = keep
    if v < len(a.node_unit):
        s.node_cell[v] = -1


@compiled
def move_meal(a: Arrays, s: Routes, r: int) -> bool:
    """Put the meal of route r where the day is shortest, and refresh; False when out of time."""
    if a.break_s[r] == 0:
        return refresh(a, s, r)
    meal = len(a.node_unit) + r
    take_out(a, s, r, meal)
    refresh(a, s, r)
    ready, latest_at, legs = s.ready_s[r], s.latest_s[r], s.leg_s[r]
    lead_to, lead_latest, rest, rest_from = (
        s.lead_s[r],
        s.lead_latest_s[r],
        s.rest_s[r],
        s.rest_from_s[r],
    )
    opens, closes, meal_s = a.break_earliest_s[r], a.break_latest_s[r], a.break_s[r]
    where, most, least = 1, -(1 << 60), 1 << 60
    for i in range(s.stops[r] + 1):
        begin = max(ready[i], opens)
        slack = min(latest_at[i + 1] - begin - meal_s - legs[i + 1], closes - begin)
        wait = max(opens - lead_to[i] - lead_latest[i], 0)
        lead = lead_to[i] + wait + meal_s + legs[i + 1]
        latest = min(closes - lead_to[i], lead_latest[i])
        lasts = lead + max(rest_from[i + 1] - lead - latest, 0) + rest[i + 1]
        if (slack >= 0 and lasts < least) or (most < 0 and slack > most):
            where, most = i + 1, slack
            least = lasts if slack >= 0 else least
    insert(a, s, r, where, meal)
    return most >= 0
