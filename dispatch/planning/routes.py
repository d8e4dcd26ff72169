"""Routes under construction, as the compiled search holds them.

Row r of `node`, `place`, `ready_s` and `latest_s` is the route of cell r: position 0 is the start
place, 1 to `stops[r]` the nodes in order, `stops[r] + 1` the end place. A node is a visit (below
N) or the meal of cell r (N + r), which stands between two stops and is taken where the truck is.
"""

from __future__ import annotations

from typing import NamedTuple

import numba
import numpy as np

from dispatch.planning.arrays import Arrays, Ints

compiled = numba.njit(cache=True, nogil=True)


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
    nodes = len(a.node_unit)
    n = s.stops[r]
    s.place[r, 0] = a.cell_start[r]
    s.ready_s[r, 0] = a.shift_start_s[r]
    s.lead_s[r, 0] = 0
    s.lead_latest_s[r, 0] = a.shift_end_s[r]
    in_time = True
    drive, busy, load, visits = 0, 0, 0, 0
    for i in range(1, n + 1):
        v = s.node[r, i]
        leg, place = 0, s.place[r, i - 1]
        if v < nodes:
            place = a.unit_place[a.node_unit[v]]
            leg = a.drive_s[s.place[r, i - 1], place]
            load += a.load_g[s.node_load[v]]
            visits += 1
            s.node_cell[v] = r
        opens, closes, duration = span_of(a, s, r, v)
        s.place[r, i] = place
        s.leg_s[r, i] = leg
        begin = max(s.ready_s[r, i - 1] + leg, opens)
        in_time &= begin <= closes
        s.ready_s[r, i] = begin + duration
        lead = s.lead_s[r, i - 1] + leg
        wait = max(opens - lead - s.lead_latest_s[r, i - 1], 0)
        s.lead_s[r, i] = lead + wait + duration
        s.lead_latest_s[r, i] = min(closes - lead, s.lead_latest_s[r, i - 1])
        drive += leg
        busy += duration
    end = a.cell_end[r]
    leg = a.drive_s[s.place[r, n], end]
    s.place[r, n + 1] = end
    s.leg_s[r, n + 1] = leg
    s.drive_s[r] = drive + leg if visits > 0 else 0
    s.wait_s[r] = s.lead_s[r, n] - drive - busy if visits > 0 else 0
    s.load_g[r] = load
    s.visits[r] = visits
    in_time &= s.ready_s[r, n] + leg <= a.shift_end_s[r]
    _refresh_rest(a, s, r)
    return bool(in_time)


@compiled
def span_of(a: Arrays, s: Routes, r: int, v: int) -> tuple[int, int, int]:
    """When node v of route r may begin (from, to) and how long it lasts, in seconds."""
    if v >= len(a.node_unit):
        return a.break_earliest_s[r], a.break_latest_s[r], a.break_s[r]
    u = a.node_unit[v]
    return a.window_start_s[u], a.window_end_s[u], a.load_s[s.node_load[v]]


@compiled
def _refresh_rest(a: Arrays, s: Routes, r: int) -> None:
    n = s.stops[r]
    s.latest_s[r, n + 1] = a.shift_end_s[r]
    s.rest_s[r, n + 1] = 0
    s.rest_from_s[r, n + 1] = a.shift_start_s[r]
    for i in range(n, 0, -1):
        opens, closes, duration = span_of(a, s, r, s.node[r, i])
        whole = duration + s.leg_s[r, i + 1]
        s.latest_s[r, i] = min(closes, s.latest_s[r, i + 1] - whole)
        wait = max(s.rest_from_s[r, i + 1] - whole - closes, 0)
        s.rest_s[r, i] = whole + wait + s.rest_s[r, i + 1]
        s.rest_from_s[r, i] = max(s.rest_from_s[r, i + 1] - whole, opens) - wait


@compiled
def insert(a: Arrays, s: Routes, r: int, position: int, v: int) -> None:
    """Put node v at `position` (1 is right after the start place) of route r."""
    for i in range(s.stops[r], position - 1, -1):
        s.node[r, i + 1] = s.node[r, i]
    s.node[r, position] = v
    s.stops[r] += 1
    refresh(a, s, r)


@compiled
def take_out(a: Arrays, s: Routes, r: int, v: int) -> None:
    """Take node v out of route r; its times must be refreshed afterwards."""
    keep = 0
    for i in range(1, s.stops[r] + 1):
        if s.node[r, i] != v:
            keep += 1
            s.node[r, keep] = s.node[r, i]
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
    where, most, least = 1, -(1 << 60), 1 << 60
    for i in range(s.stops[r] + 1):
        opens, closes, leg = a.break_earliest_s[r], a.break_latest_s[r], s.leg_s[r, i + 1]
        begin = max(s.ready_s[r, i], opens)
        slack = min(s.latest_s[r, i + 1] - begin - a.break_s[r] - leg, closes - begin)
        lead = s.lead_s[r, i]
        lead += max(opens - lead - s.lead_latest_s[r, i], 0) + a.break_s[r] + leg
        latest = min(closes - s.lead_s[r, i], s.lead_latest_s[r, i])
        lasts = lead + max(s.rest_from_s[r, i + 1] - lead - latest, 0) + s.rest_s[r, i + 1]
        if (slack >= 0 and lasts < least) or (most < 0 and slack > most):
            where, most = i + 1, slack
            least = lasts if slack >= 0 else least
    insert(a, s, r, where, meal)
    return most >= 0
