"""Times of routes under construction, and what changes them: insert, take out, take back."""

from __future__ import annotations

import numpy as np

from dispatch.planning.arrays import (
    CHEMICALS_G,
    FIRST_NODE,
    KIND_CHEMICALS_G,
    MEAL_FROM_S,
    MEAL_S,
    MEAL_TO_S,
    MISSING,
    ROOM_END_S,
    SHIFT_START_S,
    SUPPLY,
    SUPPLY_S,
    VISIT_COUNT,
    WITH_LOAD,
    Arrays,
)
from dispatch.planning.hours import set_hours
from dispatch.planning.routes import (
    AFTER_G,
    AS_LOAD,
    BEFORE_G,
    DAY_END_S,
    DRIVE_S,
    FROM_S,
    IN_CELL,
    IN_WINDOW,
    INCOMPLETE,
    IS_OUT,
    LASTS_S,
    LATEST_S,
    LEAD_LATEST_S,
    LEAD_S,
    LEG_S,
    MEAL_AT,
    PLACE,
    PRICE_S,
    READY_S,
    REST_FROM_S,
    REST_S,
    STAMP,
    STAMPS,
    STOPS,
    SUPPLY_AT,
    TAIL_END_S,
    TAIL_S,
    TO_S,
    VARIANT,
    VISITS,
    WAIT_S,
    WORK_S,
    Routes,
    Undo,
    compiled,
    copy_route,
    copy_row,
    forget,
    inlined,
    keep_cell,
    merged,
    rows_of,
)
from dispatch.planning.sequence import position_of, put, take_out, write_order

UNBOUNDED = 1 << 60  # seconds; never reached


@merged
def take_unit(a: Arrays, s: Routes, undo: Undo, u: int) -> None:
    """Take all visits of unit u out of their routes, whose times are left stale."""
    if undo.unit[u, IS_OUT]:
        return
    undo.unit[u, IS_OUT] = 1
    undo.units[undo.changed[1]] = u
    undo.changed[1] += 1
    undo.unit[u, VARIANT] = s.unit[u, VARIANT]
    undo.unit[u, PRICE_S] = s.unit[u, PRICE_S]
    s.counts[INCOMPLETE] -= a.variant[s.unit[u, VARIANT], MISSING] > 0
    for k in range(a.unit[u, VISIT_COUNT]):
        node = a.unit[u, FIRST_NODE] + k
        r = s.visit[node, IN_CELL]
        undo.window[node] = s.visit[node, IN_WINDOW]
        if r >= 0:
            keep_cell(a, s, undo, r)
            take_out(a, s, r, position_of(s, r, node))


@merged
def take_back(a: Arrays, s: Routes, undo: Undo) -> None:
    """Restore the routes and units as they were when the round began."""
    nodes = len(a.node_unit)
    for i in range(undo.changed[1]):
        u = undo.units[i]
        s.counts[INCOMPLETE] -= a.variant[s.unit[u, VARIANT], MISSING] > 0
        s.unit[u, VARIANT] = undo.unit[u, VARIANT]
        s.counts[INCOMPLETE] += a.variant[s.unit[u, VARIANT], MISSING] > 0
        s.unit[u, PRICE_S] = undo.unit[u, PRICE_S]
        for k in range(a.unit[u, VISIT_COUNT]):
            node = a.unit[u, FIRST_NODE] + k
            s.visit[node, IN_CELL] = -1
            s.visit[node, AS_LOAD] = a.variant_visit[s.unit[u, VARIANT], k, WITH_LOAD]
            s.visit[node, IN_WINDOW] = undo.window[node]
    for i in range(undo.changed[0]):
        r = undo.cells[i]
        day, order = undo.day[r], s.node[r]
        copy_route(day[STOPS], rows_of(undo, r), rows_of(s, r))
        for n in range(1, day[STOPS] + 1):
            if order[n] < nodes:
                s.visit[order[n], IN_CELL] = r
        if a.has_hours:
            set_hours(a, s, r, day[WORK_S], day[DAY_END_S])
        copy_row(day, s.day[r])
    forget(undo)


@merged
def refresh(a: Arrays, s: Routes, r: int) -> bool:
    """Recompute the times of route r, which follow from its legs and spans; False when late."""
    # Arrays are taken out of their bundles before the loop: each would cost more than a stop there.
    n, near, span, at, cell = s.day[r, STOPS], s.near[r], s.span[r], s.at[r], a.cell[r]
    ready, lead, lead_latest = cell[SHIFT_START_S], np.int64(0), cell[ROOM_END_S]
    at[0, READY_S], at[0, LEAD_S], at[0, LEAD_LATEST_S] = ready, lead, lead_latest
    in_time, drive, busy = True, np.int64(0), np.int64(0)
    for i in range(1, n + 1):
        leg, lasts = np.int64(near[i, LEG_S]), np.int64(span[i, LASTS_S])
        opens, closes = np.int64(span[i, FROM_S]), np.int64(span[i, TO_S])
        begin = max(ready + leg, opens)
        in_time &= begin <= closes
        ready = begin + lasts
        reach = lead + leg
        lead = reach + max(opens - reach - lead_latest, 0) + lasts
        lead_latest = min(closes - reach, lead_latest)
        at[i, READY_S], at[i, LEAD_S], at[i, LEAD_LATEST_S] = ready, lead, lead_latest
        drive += leg
        busy += lasts
    leg = np.int64(near[n + 1, LEG_S])
    _set_day(a, s, r, drive + leg, lead - drive - busy, lead + leg, ready + leg)
    _refresh_rest(a, s, r)
    return bool(in_time and ready + leg <= cell[ROOM_END_S])


@inlined
def _set_day(
    a: Arrays,
    s: Routes,
    r: int,
    drive: np.int64,
    wait: np.int64,
    lasts: np.int64,
    end: np.int64,
) -> None:
    """Write down what route r comes to; a route that visits nobody is not driven."""
    driven = s.day[r, VISITS] > 0
    if a.has_hours:
        meal_s = a.cell[r, MEAL_S] if s.day[r, MEAL_AT] > 0 else 0
        set_hours(a, s, r, int(lasts - meal_s) * driven, int(end) * driven)
    day = s.day[r]
    day[DRIVE_S] = drive if driven else 0
    day[WAIT_S] = wait if driven else 0
    day[DAY_END_S] = end if driven else 0


@inlined
def _refresh_rest(a: Arrays, s: Routes, r: int) -> None:
    n, near, span, at, cell = s.day[r, STOPS], s.near[r], s.span[r], s.at[r], a.cell[r]
    latest, rest, rest_from = cell[ROOM_END_S], np.int64(0), cell[SHIFT_START_S]
    tail, tail_end = np.int64(0), np.int64(0)
    s.counts[STAMPS] += 1
    s.day[r, STAMP] = s.counts[STAMPS]
    end = at[n + 1]
    end[LATEST_S], end[REST_S], end[REST_FROM_S] = latest, rest, rest_from
    end[TAIL_S], end[TAIL_END_S] = tail, tail_end
    for i in range(n, 0, -1):
        opens, closes = np.int64(span[i, FROM_S]), np.int64(span[i, TO_S])
        whole = np.int64(span[i, LASTS_S]) + np.int64(near[i + 1, LEG_S])
        latest = min(closes, latest - whole)
        wait = max(rest_from - whole - closes, 0)
        rest += whole + wait
        rest_from = max(rest_from - whole, opens) - wait
        tail += whole
        tail_end = max(opens + tail, tail_end)
        at[i, LATEST_S], at[i, REST_S], at[i, REST_FROM_S] = latest, rest, rest_from
        at[i, TAIL_S], at[i, TAIL_END_S] = tail, tail_end


@merged
def insert(a: Arrays, s: Routes, r: int, position: int, v: int) -> bool:
    """Put node v at `position` (1 is right after the start place) of route r, and refresh.

    Where the day then owes a meal, that goes in too; one that has been pushed back is moved to an
    earlier stop if it can be, so that more fits in before it. False when the route is out of time.
    """
    put(a, s, r, position, v)
    in_time = refresh(a, s, r)
    if a.cell[r, MEAL_S] == 0:
        return in_time
    meal_at = s.day[r, MEAL_AT]
    if meal_at > position and s.at[r, meal_at - 2, READY_S] >= a.cell[r, MEAL_FROM_S]:
        return move_meal(a, s, r)
    if meal_at == 0 and s.day[r, DAY_END_S] > a.cell[r, MEAL_TO_S]:
        return _put_meal(a, s, r)
    return in_time


@compiled
def write_all(a: Arrays, s: Routes) -> None:
    """Write down all that follows from the nodes of all routes, times and all."""
    for r in range(len(s.day)):
        write_order(a, s, r)
        refresh(a, s, r)


@compiled
def move_meal(a: Arrays, s: Routes, r: int) -> bool:
    """Refresh route r with its meal where the day is shortest, or without one where none is owed.

    False when the route is out of time.
    """
    if a.cell[r, MEAL_S] == 0:
        return refresh(a, s, r)
    if s.day[r, MEAL_AT] > 0:
        take_out(a, s, r, s.day[r, MEAL_AT])
    in_time = refresh(a, s, r)
    if s.day[r, DAY_END_S] <= a.cell[r, MEAL_TO_S]:
        return in_time
    return _put_meal(a, s, r)


@compiled
def _put_meal(a: Arrays, s: Routes, r: int) -> bool:
    """Put the meal where the day is shortest; of such places, where most can still come before it.

    That is where the day ends first, the meal waits least, and what follows has most time to spare.
    A meal before the span in which it may be taken makes no day longer, as the truck can leave
    later, but the time until then is lost for other visits. False when it fits nowhere.
    """
    cell = a.cell[r]
    at, near = s.at[r], s.near[r]
    opens, closes, meal_s = cell[MEAL_FROM_S], cell[MEAL_TO_S], cell[MEAL_S]
    where, most, least, ends, waits = 1, -UNBOUNDED, UNBOUNDED, UNBOUNDED, UNBOUNDED
    for i in range(s.day[r, STOPS] + 1):
        leg = near[i + 1, LEG_S]
        begin = max(at[i, READY_S], opens)
        leave = begin + meal_s + leg
        slack = min(at[i + 1, LATEST_S] - leave, closes - begin)
        lead_to = at[i, LEAD_S]
        lead = lead_to + max(opens - lead_to - at[i, LEAD_LATEST_S], 0) + meal_s + leg
        latest = min(closes - lead_to, at[i, LEAD_LATEST_S])
        lasts = lead + max(at[i + 1, REST_FROM_S] - lead - latest, 0) + at[i + 1, REST_S]
        end = max(leave + at[i + 1, TAIL_S], at[i + 1, TAIL_END_S])
        wait = begin - at[i, READY_S]
        if slack >= 0 and (lasts, end, wait, -slack) < (least, ends, waits, -most):
            where, most, least, ends, waits = i + 1, slack, lasts, end, wait
        elif most < 0 and slack > most:
            where, most = i + 1, slack
    put(a, s, r, where, len(a.node_unit) + r)
    refresh(a, s, r)
    return most >= 0


@compiled
def move_supply(a: Arrays, s: Routes, r: int) -> bool:
    """Put a supply stop into route r where it costs least; False where it fits nowhere.

    It fits between two stops when both parts of the day keep within what may be aboard, and the
    rest of the day stays in time.
    """
    total, most, before = s.day[r, BEFORE_G], a.cell[r, CHEMICALS_G], np.int64(0)
    at, near, order = s.at[r], s.near[r], s.node[r]
    supply, least = a.cell[r, SUPPLY], np.int64(UNBOUNDED)
    where = np.int64(0)  # a plain 0 would have `insert` compiled twice
    for i in range(s.day[r, STOPS] + 1):
        if i > 0 and order[i] < len(a.node_unit):
            before += a.load[s.visit[order[i], AS_LOAD], KIND_CHEMICALS_G]
        there = np.int64(a.drives_s[supply, near[i, PLACE], 1])
        onward = np.int64(a.drives_s[supply, near[i + 1, PLACE], 0])
        leave = at[i, READY_S] + there + a.cell[r, SUPPLY_S]
        extra = there + onward - near[i + 1, LEG_S]
        fits = before <= most and total - before <= most and max(there, onward) < a.no_drive
        if fits and leave + onward <= at[i + 1, LATEST_S] and extra < least:
            where, least = np.int64(i + 1), extra
    if where == 0:
        return False
    stop = len(a.node_unit) + len(a.cell) + r
    if insert(a, s, r, int(where), stop):
        return True
    take_out(a, s, r, s.day[r, SUPPLY_AT])
    move_meal(a, s, r)
    return False


@compiled
def drop_supply(a: Arrays, s: Routes, r: int) -> bool:
    """Take the supply stop out of route r when the day needs none; False when it is then too late.

    A stop fewer can be too late for the meal: that was taken at the supply stop.
    """
    day = s.day[r]
    if day[SUPPLY_AT] > 0 and day[BEFORE_G] + day[AFTER_G] <= a.cell[r, CHEMICALS_G]:
        take_out(a, s, r, day[SUPPLY_AT])
        return move_meal(a, s, r)
    return True
