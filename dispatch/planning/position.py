"""Where one visit costs least in one route."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from dispatch.planning.arrays import (
    AT_PLACE,
    CHEMICALS_G,
    CLOSES_S,
    KIND_CHEMICALS_G,
    KIND_S,
    MEAL_FROM_S,
    MEAL_S,
    MEAL_TO_S,
    OPENS_S,
    REGULAR_END_S,
    Arrays,
    Counts,
    Drives,
    Ints,
)
from dispatch.planning.routes import (
    AFTER_G,
    BEFORE_G,
    DAY_END_S,
    LATEST_S,
    LEAD_LATEST_S,
    LEAD_S,
    LEG_S,
    MEAL_AT,
    PER_SECOND,
    PLACE,
    READY_S,
    REST_FROM_S,
    REST_S,
    STOPS,
    SUPPLY_AT,
    TAIL_END_S,
    TAIL_S,
    VISITS,
    WAIT_S,
    Routes,
    compiled,
    end_price_s,
    inlined,
    merged,
)

NO_MEAL, MEAL_BEFORE, MEAL_AFTER = 0, 1, 2  # whether the meal is taken beside a newcomer


class Newcomer(NamedTuple):
    """The visit that looks for a position: drives from it and to it by place, window, duration."""

    drives_s: Drives  # (P, 2)
    from_s: int
    to_s: int
    lasts_s: int
    chemicals_g: int


class Position(NamedTuple):
    """Where a visit costs least in a route: extra cost, position (0: nowhere), extra hours."""

    extra_s: int
    where: int
    work_s: int
    over_s: int


@inlined
def fit(
    at: Ints, i: int, j: int, new: Newcomer, leg: int, after: int, cell: Ints, when: int
) -> tuple[int, int]:
    """Arrival at position j and least duration of the route with the newcomer behind position i.

    The meal is taken just before or after it, or not between i and j (`when`). The arrival is -1
    where something would be out of time.
    """
    ready, lead, latest = at[i, READY_S], at[i, LEAD_S], at[i, LEAD_LATEST_S]
    if when == MEAL_BEFORE:
        ready = max(ready, cell[MEAL_FROM_S]) + cell[MEAL_S]
        if ready > cell[MEAL_TO_S] + cell[MEAL_S]:
            return -1, 0
        wait = max(cell[MEAL_FROM_S] - lead - latest, 0)
        latest = min(cell[MEAL_TO_S] - lead, latest)
        lead += wait + cell[MEAL_S]
    begin = max(ready + leg, new.from_s)
    if begin > new.to_s:
        return -1, 0
    leave = begin + new.lasts_s
    lead += leg
    wait = max(new.from_s - lead - latest, 0)
    latest = min(new.to_s - lead, latest)
    lead += wait + new.lasts_s
    if when == MEAL_AFTER:
        leave = max(leave, cell[MEAL_FROM_S]) + cell[MEAL_S]
        if leave > cell[MEAL_TO_S] + cell[MEAL_S]:
            return -1, 0
        wait = max(cell[MEAL_FROM_S] - lead - latest, 0)
        latest = min(cell[MEAL_TO_S] - lead, latest)
        lead += wait + cell[MEAL_S]
    leave += after
    if leave > at[j, LATEST_S]:
        return -1, 0
    lead += after
    lasts = lead + max(at[j, REST_FROM_S] - lead - latest, 0) + at[j, REST_S]
    return int(leave), int(lasts)


@inlined
def fit_with_meal(
    at: Ints, i: int, j: int, new: Newcomer, leg: int, after: int, cell: Ints
) -> tuple[int, int]:
    """As `fit`, for a day that now owes a meal: before or after, whichever makes it shorter.

    The meal is not counted in the duration: it is unpaid, and the route had none before.
    """
    leave, lasts = fit(at, i, j, new, leg, after, cell, MEAL_BEFORE)
    later, longer = fit(at, i, j, new, leg, after, cell, MEAL_AFTER)
    if leave < 0 or (later >= 0 and longer < lasts):
        leave, lasts = later, longer
    return leave, lasts - int(cell[MEAL_S])


@inlined
def end_with_later_meal(near: Counts, at: Ints, i: int, n: int, later_s: int, cell: Ints) -> int:
    """Earliest end of the day with the meal after one of the `n` stops behind position i.

    All stops behind it are reached at most `later_s` later than without the newcomer. -1 where the
    meal, or what comes after it, would be out of time everywhere.
    """
    ends = -1
    for k in range(i + 1, n + 1):
        begin = max(at[k, READY_S] + later_s, cell[MEAL_FROM_S])
        if begin > cell[MEAL_TO_S]:
            break
        leave = begin + cell[MEAL_S] + near[k + 1, LEG_S]
        end = max(leave + at[k + 1, TAIL_S], at[k + 1, TAIL_END_S])
        if leave <= at[k + 1, LATEST_S] and (ends < 0 or end < ends):
            ends = end
    return int(ends)


@compiled
def fit_owing(
    near: Counts,
    at: Ints,
    i: int,
    n: int,
    new: Newcomer,
    leg: int,
    after: int,
    cell: Ints,
    arrive: int,
    end: int,
    lasts: int,
) -> tuple[int, int]:
    """End and least duration of a day that owes a meal with the newcomer behind position i.

    Without the meal the next stop is reached at `arrive`, and the day ends at `end` and `lasts` so
    long. It is taken beside the newcomer or after a later stop, wherever the day ends first. The
    end is -1 where it fits nowhere.
    """
    j = i + 1
    later_s = arrive - at[i, READY_S] - near[j, LEG_S]
    later_end = end_with_later_meal(near, at, i, n, later_s, cell)
    lasts += max(later_end - end - cell[MEAL_S], 0)  # what the later meal is waited for
    leave, beside = fit_with_meal(at, i, j, new, leg, after, cell)
    end = max(leave + at[j, TAIL_S], at[j, TAIL_END_S])
    if leave >= 0 and (later_end < 0 or end <= later_end):
        return int(end), int(beside)
    return int(later_end), int(lasts)


@merged
def best_position(
    a: Arrays,
    s: Routes,
    r: int,
    new: Newcomer,
    limit_s: int,
    rng: np.random.Generator,
    blink: float,
) -> Position:
    """Cheapest position in route r: extra driving, waiting and overtime in seconds.

    The position is 0 where none keeps the route in time for less than `limit_s`. Each position is
    passed over with the probability `blink`.
    """
    node, near, at, day, cell = s.node[r], s.near[r], s.at[r], s.day[r], a.cell[r]
    n, waiting, empty = day[STOPS], a.waiting, day[VISITS] == 0
    meal, too_late = len(a.node_unit) + r, s.weight[PER_SECOND]
    drives_s, no_drive = new.drives_s, a.no_drive
    unused = near[n + 1, LEG_S] if empty else 0  # an empty route is not driven
    lasted = 0 if empty else at[n, LEAD_S] + near[n + 1, LEG_S]
    can_owe = cell[MEAL_S] > 0 and day[MEAL_AT] == 0  # a longer day would owe a meal
    saved = waiting * day[WAIT_S]  # most that a stop can save by filling waiting time
    best, where, work, most_over = np.int64(limit_s), 0, np.int64(0), np.int64(0)
    now_over = max(day[DAY_END_S] - cell[REGULAR_END_S], 0)
    now_price = end_price_s(cell, int(day[DAY_END_S]), too_late) if now_over > 0 else 0
    supply_at = day[SUPPLY_AT] if day[SUPPLY_AT] > 0 else n + 2
    onward = np.int64(drives_s[near[0, PLACE], 1])
    for i in range(n + 1):
        leg = onward
        meal_follows = i < n and node[i + 1] == meal  # then it is taken at this stop
        j = i + 2 if meal_follows else i + 1
        place = near[j, PLACE]
        after = np.int64(drives_s[place, 0])
        onward = leg if meal_follows else np.int64(drives_s[place, 1])
        drive = leg + after - near[j, LEG_S] + unused
        if drive - saved >= best or leg >= no_drive or after >= no_drive:
            continue
        if at[i, READY_S] + leg > new.to_s:
            break
        aboard = day[BEFORE_G] if i < supply_at else day[AFTER_G]
        if aboard + new.chemicals_g > cell[CHEMICALS_G]:
            continue
        when = MEAL_AFTER if meal_follows else NO_MEAL
        leave, lasts = fit(at, i, j, new, int(leg), int(after), cell, when)
        if leave < 0:
            continue
        end = np.int64(max(leave + at[j, TAIL_S], at[j, TAIL_END_S]))
        if can_owe and end > cell[MEAL_TO_S]:
            end_s, lasts = fit_owing(
                near, at, i, n, new, int(leg), int(after), cell, leave, int(end), lasts
            )
            if end_s < 0:
                continue
            end = np.int64(end_s)
        extra = drive + waiting * (lasts - lasted - new.lasts_s - drive)
        over = end - cell[REGULAR_END_S]
        if over > 0:
            extra += end_price_s(cell, int(end), too_late) - now_price
        if extra < best and (blink == 0.0 or rng.random() >= blink):
            best, where = np.int64(extra), i + 1
            work, most_over = np.int64(lasts - lasted), max(over, 0) - now_over
    return Position(int(best), where, int(work), int(most_over))


@inlined
def newcomer(a: Arrays, u: int, load: int, w: int) -> Newcomer:
    """Unit u with a load kind and a time window, as a visit that looks for a position."""
    place = a.unit[u, AT_PLACE]
    return Newcomer(
        a.drives_s[place],
        a.window[w, OPENS_S],
        a.window[w, CLOSES_S],
        a.load[load, KIND_S],
        a.load[load, KIND_CHEMICALS_G],
    )
