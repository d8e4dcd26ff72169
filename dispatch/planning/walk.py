"""The walk through one day, compiled: when everything of an order happens.

An order is a row of spans: visits, perhaps the supply stop, perhaps the meal. Each has the drive
to it, how long it takes and the time windows in which it may begin.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from dispatch.compiled import compiler

Ints = npt.NDArray[np.int64]
compiled = compiler(Path(__file__).parent, "walk")

FAR = 1 << 60  # no time limit
NOT = -1  # position of what does not take place


class Orders(NamedTuple):
    """The visits of an order; `n` of them, W time windows in all.

    Visit i begins in one of the windows `first[i]` to `first[i + 1] - 1`, which rise.
    """

    place: Ints  # (n,) rows of the drive-time matrix
    lasts_s: Ints  # (n,)
    chemicals_g: Ints  # (n,)
    first: Ints  # (n + 1,)
    from_s: Ints  # (W,)
    to_s: Ints  # (W,)


class Frame(NamedTuple):
    """The truck-day the order stands in.

    `regular_end_s` is when overtime begins, `last_end_s` when the day must be over. `meal_s` and
    `supply_s` are 0 where there is no such thing. Overtime is paid `overtime` times a second. A
    second of paid work, whatever it is, costs `paid` on top: so much that nothing else counts where
    the day must be as short as it can be, else nothing.
    """

    start: int
    end: int
    start_s: int
    regular_end_s: int
    last_end_s: int
    meal_s: int
    meal_from_s: int
    meal_to_s: int
    supply: int
    supply_s: int
    chemicals_most_g: int
    used_g: int  # of what was taken on, before the first visit
    overtime: float
    paid: float


class Walked(NamedTuple):
    """What one way to walk an order comes to; all that is broken is in `broken_s`.

    `cost_s` is driving, waiting, the price of overtime and that of all paid work.
    """

    broken_s: int
    cost_s: float
    start_s: int
    end_s: int
    wait_s: int
    meal_after: int  # spans before the meal, NOT without one
    supply_after: int  # visits before the supply stop, NOT without one


class Spans(NamedTuple):
    """Room for a row of spans; `of` is the visit, or MEAL or SUPPLY."""

    of: Ints
    leg_s: Ints
    lasts_s: Ints
    from_s: Ints
    to_s: Ints
    begin_s: Ints


MEAL = -2
SUPPLY = -3


@compiled
def room_for(n: int) -> Spans:
    """Room for `n` visits, the supply stop and the meal."""
    return Spans(
        np.zeros(n + 2, dtype=np.int64),
        np.zeros(n + 2, dtype=np.int64),
        np.zeros(n + 2, dtype=np.int64),
        np.zeros(n + 2, dtype=np.int64),
        np.zeros(n + 2, dtype=np.int64),
        np.zeros(n + 2, dtype=np.int64),
    )


@compiled
def best_walk(orders: Orders, frame: Frame, drive_s: npt.NDArray[np.int64]) -> Walked:
    """The walk that breaks least, then costs least, then ends first.

    The supply stop is made where the day's chemicals are more than the truck may carry, at a
    boundary that keeps both parts within the limit (where none does, at the one that exceeds it
    least). The meal is owed when the day lasts beyond the latest time it may begin.
    """
    n = len(orders.place)
    spans = room_for(n)
    total_g = frame.used_g + orders.chemicals_g.sum()
    best = Walked(FAR, 0.0, 0, 0, 0, NOT, NOT)
    if frame.supply_s == 0 or total_g <= frame.chemicals_most_g:
        nowhere = int(np.int64(NOT))  # a plain number would have `_best_meal` compiled twice
        return _best_meal(orders, frame, drive_s, spans, nowhere, best)
    before_g, least_g = frame.used_g, FAR
    for after in range(n + 1):
        least_g = min(least_g, _excess(before_g, total_g, frame.chemicals_most_g))
        before_g += orders.chemicals_g[after] if after < n else 0
    before_g = frame.used_g
    for after in range(n + 1):
        if _excess(before_g, total_g, frame.chemicals_most_g) == least_g:
            best = _best_meal(orders, frame, drive_s, spans, after, best)
        before_g += orders.chemicals_g[after] if after < n else 0
    return best


@compiled
def _excess(before_g: int, total_g: int, most_g: int) -> int:
    return int(max(before_g - most_g, 0) + max(total_g - before_g - most_g, 0))


@compiled
def _best_meal(
    orders: Orders,
    frame: Frame,
    drive_s: npt.NDArray[np.int64],
    spans: Spans,
    supply_after: int,
    best: Walked,
) -> Walked:
    """The better of `best` and every position of the meal, the supply stop given."""
    n = len(orders.place) + (supply_after != NOT)
    nowhere = int(np.int64(NOT))  # a plain number would have `walk` compiled twice
    plain = walk(orders, frame, drive_s, spans, supply_after, nowhere)
    if frame.meal_s == 0 or n == 0 or plain.end_s <= frame.meal_to_s:
        return plain if _better(plain, best) else best
    for meal_after in range(n + 1):
        tried = walk(orders, frame, drive_s, spans, supply_after, meal_after)
        if _better(tried, best):
            best = tried
    return best


@compiled
def _better(one: Walked, other: Walked) -> bool:
    if one.broken_s != other.broken_s:
        return one.broken_s < other.broken_s
    if one.cost_s != other.cost_s:
        return one.cost_s < other.cost_s
    return one.end_s < other.end_s


@compiled
def walk(
    orders: Orders,
    frame: Frame,
    drive_s: npt.NDArray[np.int64],
    spans: Spans,
    supply_after: int,
    meal_after: int,
) -> Walked:
    """Walk an order with the supply stop and the meal at given positions.

    Of all departures the one that waits least, then the earliest is taken; an order that breaks a
    time rule leaves with the shift. Where visits have several windows, a later departure may
    lead into later ones: each such choice is tried, from the earliest on (a later departure never
    meets an earlier window, so there are no more choices than windows).
    """
    n, here = lay_out(orders, frame, drive_s, spans, supply_after, meal_after)
    back_s = drive_s[here, frame.end] if n > 0 else 0
    driven_s = spans.leg_s[:n].sum() + back_s
    best = Walked(FAR, 0.0, 0, 0, 0, NOT, NOT)
    leave_s = frame.start_s
    while True:
        late_s = _choose_windows(orders, frame, spans, n, leave_s)
        at_s = leave_s if late_s > 0 else _departure_s(frame, spans, n, leave_s)
        now_s, wait_s = at_s, 0
        for i in range(n):
            arrive_s = now_s + spans.leg_s[i]
            begin_s = max(arrive_s, spans.from_s[i])
            wait_s += begin_s - arrive_s
            now_s = begin_s + spans.lasts_s[i]
        end_s = now_s + back_s
        broken_s = late_s + max(0, end_s - frame.last_end_s)
        cost_s = driven_s + wait_s + frame.overtime * max(0, end_s - frame.regular_end_s)
        cost_s += frame.paid * (end_s - at_s - (frame.meal_s if meal_after != NOT else 0))
        tried = Walked(broken_s, cost_s, at_s, end_s, wait_s, meal_after, supply_after)
        if _better(tried, best):
            best = tried
        if late_s > 0:
            return best
        leave_s = _latest_departure_s(frame, spans, n) + 1
        if leave_s > frame.last_end_s or not _has_more_windows(orders, spans, n):
            return best


@compiled
def lay_out(
    orders: Orders,
    frame: Frame,
    drive_s: npt.NDArray[np.int64],
    spans: Spans,
    supply_after: int,
    meal_after: int,
) -> tuple[int, int]:
    """Write the spans of an order, windows still open; their number, and where the last one is."""
    n, here, visit = 0, frame.start, 0
    visits = len(orders.place)
    total = visits + (supply_after != NOT) + (meal_after != NOT)
    supplied = supply_after == NOT
    while n < total:
        spans.leg_s[n] = 0
        if n == meal_after:
            spans.of[n], spans.lasts_s[n] = MEAL, frame.meal_s
        elif not supplied and visit == supply_after:
            spans.of[n], spans.lasts_s[n] = SUPPLY, frame.supply_s
            spans.leg_s[n] = drive_s[here, frame.supply]
            here, supplied = frame.supply, True
        else:
            there = orders.place[visit]
            spans.of[n], spans.lasts_s[n] = visit, orders.lasts_s[visit]
            spans.leg_s[n] = drive_s[here, there]
            here = there
            visit += 1
        n += 1
    return n, int(here)


@compiled
def _choose_windows(orders: Orders, frame: Frame, spans: Spans, n: int, leave_s: int) -> int:
    """The first window each span can meet when the truck leaves at `leave_s`; seconds too late."""
    now_s, late_s = leave_s, 0
    for i in range(n):
        visit = spans.of[i]
        now_s += spans.leg_s[i]
        if visit == MEAL:
            spans.from_s[i], spans.to_s[i] = frame.meal_from_s, frame.meal_to_s
        elif visit == SUPPLY:
            spans.from_s[i], spans.to_s[i] = 0, FAR
        else:
            w, last = orders.first[visit], orders.first[visit + 1] - 1
            while w < last and orders.to_s[w] < now_s:
                w += 1
            spans.from_s[i], spans.to_s[i] = orders.from_s[w], orders.to_s[w]
        now_s = max(now_s, spans.from_s[i])
        spans.begin_s[i] = now_s
        late_s += max(0, now_s - spans.to_s[i])
        now_s += spans.lasts_s[i]
    return int(late_s)


@compiled
def _has_more_windows(orders: Orders, spans: Spans, n: int) -> bool:
    """Whether a visit has a window after the one it meets now."""
    for i in range(n):
        visit = spans.of[i]
        if visit >= 0 and spans.to_s[i] < orders.to_s[orders.first[visit + 1] - 1]:
            return True
    return False


@compiled
def _departure_s(frame: Frame, spans: Spans, n: int, leave_s: int) -> int:
    """Earliest departure of all that wait least (Vidal et al., EJOR 234, 2014, eq. 12 to 16)."""
    lasts_s, from_s, to_s = 0, leave_s, frame.last_end_s
    for i in range(n):
        reach_s = lasts_s + spans.leg_s[i]
        wait_s = max(spans.from_s[i] - reach_s - to_s, 0)
        from_s = max(spans.from_s[i] - reach_s, from_s) - wait_s
        to_s = min(spans.to_s[i] - reach_s, to_s)
        lasts_s = reach_s + wait_s + spans.lasts_s[i]
    return int(from_s)


@compiled
def _latest_departure_s(frame: Frame, spans: Spans, n: int) -> int:
    """Latest departure that still meets every window chosen."""
    latest_s = FAR
    for i in range(n - 1, -1, -1):
        latest_s = min(spans.to_s[i], latest_s - spans.lasts_s[i]) - spans.leg_s[i]
    return int(min(latest_s, frame.last_end_s))


@compiled
def begin_times(
    orders: Orders, frame: Frame, drive_s: npt.NDArray[np.int64], chosen: Walked
) -> Spans:
    """The spans of the walk `chosen`, with the time at which each begins."""
    spans = room_for(len(orders.place))
    n, _ = lay_out(orders, frame, drive_s, spans, chosen.supply_after, chosen.meal_after)
    _choose_windows(orders, frame, spans, n, chosen.start_s)
    return spans


@compiled
def best_insertion(
    orders: Orders,
    frame: Frame,
    drive_s: npt.NDArray[np.int64],
    at: int,
) -> tuple[int, Walked]:
    """Where visit `at` of the order stands best among the others: position and walk.

    The other visits keep their order. Of positions that break equally little the first is taken.
    """
    n = len(orders.place)
    moved = Orders(
        orders.place.copy(),
        orders.lasts_s.copy(),
        orders.chemicals_g.copy(),
        orders.first.copy(),
        orders.from_s.copy(),
        orders.to_s.copy(),
    )
    best, where = Walked(FAR, 0.0, 0, 0, 0, NOT, NOT), 0
    for position in range(n):
        _rearrange(orders, moved, at, position)
        tried = best_walk(moved, frame, drive_s)
        if tried.broken_s < best.broken_s:
            best, where = tried, position
    return where, best


@compiled
def _rearrange(orders: Orders, moved: Orders, at: int, position: int) -> None:
    """Write the order with visit `at` moved to `position`."""
    n, w, taken = len(orders.place), 0, 0
    for i in range(n):
        if i == position:
            visit = at
        else:
            visit = taken if taken < at else taken + 1
            taken += 1
        moved.place[i] = orders.place[visit]
        moved.lasts_s[i] = orders.lasts_s[visit]
        moved.chemicals_g[i] = orders.chemicals_g[visit]
        moved.first[i] = w
        for k in range(orders.first[visit], orders.first[visit + 1]):
            moved.from_s[w], moved.to_s[w] = orders.from_s[k], orders.to_s[k]
            w += 1
    moved.first[n] = w
