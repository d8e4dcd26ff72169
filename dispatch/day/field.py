"""The rest of a day as flat integer arrays, the form in which it is searched; and what it costs.

A *cell* is the rest of one technician's day, a *node* a visit that may still change hands. Costs
are seconds of driving.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from dispatch.compiled import compiler

Ints = npt.NDArray[np.int64]
compiled = compiler(Path(__file__).parent, "field", "kernel", counted=False)

NEVER = 1 << 50  # cost of what cannot be
# Columns of `Field.cell`; seconds of the day, grams, and places as rows of `Field.drive_s`.
START, END, READY_S, IS_OUT = 0, 1, 2, 3  # IS_OUT: has left; a truck that has not may leave later
REGULAR_END_S, LAST_END_S, OVERTIME_MILLI = 4, 5, 6
MEAL_S, MEAL_FROM_S, MEAL_TO_S = 7, 8, 9
LOAD_G, CHEMICALS_G = 10, 11  # what may be aboard
FREE, OWN = 12, 13  # FREE: its order may change at no price; OWN: nodes that stood in it
# Places of `Field.price`.
LATE, OVER, WAIT, THRESHOLD_S = 0, 1, 2, 3


class Field(NamedTuple):
    """What the compiled search reads; R cells, N nodes, P places, X time windows.

    Node v stood at position `own_position[v]` of cell `own_cell[v]` (-1: nowhere). It begins in
    one of the windows `first[v]` to `first[v + 1] - 1`, which rise.
    """

    drive_s: Ints  # (P, P) row: from, column: to
    cell: Ints  # (R, 14)
    place: Ints  # (N,)
    lasts_s: Ints  # (N,)
    load_g: Ints  # (N,)
    chemicals_g: Ints  # (N,)
    unplaced_s: Ints  # (N,) price of leaving it out
    first: Ints  # (N + 1,)
    from_s: Ints  # (X,)
    to_s: Ints  # (X,)
    may: npt.NDArray[np.bool_]  # (N, R)
    own_cell: Ints  # (N,)
    own_position: Ints  # (N,)
    near: Ints  # (N, K) nodes near each, nearest first, itself included
    price: Ints  # (4,)


@compiled
def order_cost_s(f: Field, r: int, order: Ints, n: int) -> tuple[int, int, int]:
    """Cost of an order of `n` nodes in cell r, the waiting in it, and when it ends.

    Windows and the end of the shift may be broken at a price; payload and chemicals may not. The
    meal is taken between two stops where it costs least, when the day lasts beyond the latest
    time at which it may begin. The meal is placed by looking ahead one stop at a time; the true
    times of what the search gives back are the timetable's.
    """
    cell = f.cell[r]
    changed = _changed_price_s(f, r, order, n)
    if n == 0:
        home = f.drive_s[cell[START], cell[END]] if cell[IS_OUT] else 0
        return int(home + changed), 0, int(cell[READY_S] + home)
    load, chemicals, drive = 0, 0, 0
    # one walk without the meal, one with the meal taken somewhere on the way
    now, wait, late = cell[READY_S], 0, 0
    slack = 0 if cell[IS_OUT] else max(0, cell[LAST_END_S] - now)
    fed, fed_wait, fed_late, fed_slack = now, 0, NEVER, 0
    late_price, here = f.price[LATE], cell[START]
    for i in range(n + 1):
        if cell[MEAL_S] > 0:
            at = max(now, cell[MEAL_FROM_S])
            spare = max(0, at - now - slack)
            missed = late + max(0, at - cell[MEAL_TO_S])
            if late_price * missed + wait + spare + at + cell[MEAL_S] < (
                late_price * fed_late + fed_wait + fed
            ):
                fed, fed_wait, fed_late = at + cell[MEAL_S], wait + spare, missed
                fed_slack = max(0, min(slack - (at - now), cell[MEAL_TO_S] - at))
        if i == n:
            break
        v = order[i]
        leg = f.drive_s[here, f.place[v]]
        here = f.place[v]
        drive += leg
        load += f.load_g[v]
        chemicals += f.chemicals_g[v]
        now, wait, late, slack = _serve(f, v, now + leg, wait, late, slack)
        if fed_late < NEVER:
            fed, fed_wait, fed_late, fed_slack = _serve(
                f, v, fed + leg, fed_wait, fed_late, fed_slack
            )
    if load > cell[LOAD_G] or chemicals > cell[CHEMICALS_G]:
        return NEVER, 0, 0
    leg = f.drive_s[here, cell[END]]
    drive += leg
    if cell[MEAL_S] > 0 and now + leg > cell[MEAL_TO_S]:
        now, wait, late = fed, fed_wait, fed_late
    end = now + leg
    cost = drive + f.price[WAIT] * wait + late_price * late + changed
    cost += cell[OVERTIME_MILLI] * max(0, end - cell[REGULAR_END_S]) // 1000
    cost += f.price[OVER] * max(0, end - cell[LAST_END_S])
    return int(cost), int(wait), int(end)


@compiled
def _serve(
    f: Field, v: int, arrive: int, wait: int, late: int, slack: int
) -> tuple[int, int, int, int]:
    """Serve node v: when the truck leaves, and waiting, lateness and slack of the departure."""
    w, last = f.first[v], f.first[v + 1] - 1
    while w < last and f.to_s[w] < arrive:
        w += 1
    begin = max(arrive, f.from_s[w])
    gap = begin - arrive
    absorbed = min(gap, slack)
    late += max(0, begin - f.to_s[w])
    slack = max(0, min(slack - absorbed, f.to_s[w] - begin))
    return begin + f.lasts_s[v], wait + gap - absorbed, late, slack


@compiled
def _changed_price_s(f: Field, r: int, order: Ints, n: int) -> int:
    """What it costs that the remaining order of a technician is another than it was."""
    cell = f.cell[r]
    if cell[FREE] == 1 or cell[OWN] == 0:
        return 0
    kept, before = 0, -1
    for i in range(n):
        v = order[i]
        if f.own_cell[v] == r:
            if f.own_position[v] < before:
                return int(f.price[THRESHOLD_S])
            before = f.own_position[v]
            kept += 1
    return 0 if kept == cell[OWN] else int(f.price[THRESHOLD_S])
