"""Routes under construction, as the compiled search holds them.

Row r of `node`, `near` and `at` is the route of cell r: position 0 is the start place, 1 to STOPS
the nodes in order, STOPS + 1 the end place. A node is a visit (below N), the meal of cell r
(N + r), which stands between two stops and is taken where the truck is, or the supply stop of
cell r (N + R + r). A meal is in the route when the day lasts beyond the latest time it may begin.

The search may walk through routes that carry too much or end too late (up to ROOM_G and
ROOM_END_S of the cell), at a price that rises and falls with how often it does; what it gives
back never does.

The least duration of a route that takes a new stop follows from what leads up to the stop and
what comes after it (T. Vidal et al., "A unified solution framework for multi-attribute vehicle
routing problems", EJOR 234, 2014, eq. 12 to 16, here with hard windows).
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from dispatch.compiled import compiler
from dispatch.planning.arrays import (
    END,
    FIRST_PAIR,
    FIRST_VARIANT,
    FIRST_WINDOW,
    LAST_END_S,
    OVERTIME_MILLI,
    PAYLOAD_G,
    PRICE,
    REGULAR_END_S,
    START,
    THOUSAND,
    Arrays,
    Counts,
    Ints,
)
from dispatch.planning.problem import NO_DRIVE_S

Floats = npt.NDArray[np.float64]

SOURCES = (
    "problem",
    "arrays",
    "variants",
    "routes",
    "sequence",
    "times",
    "hours",
    "position",
    "ruin",
    "recreate",
    "anneal",
)
# Counting the users of arrays that are passed and sliced took two fifths of the time.
compiled = compiler(Path(__file__).parent, *SOURCES, counted=False)
inlined = compiler(Path(__file__).parent, *SOURCES, counted=False, inline=True)
merged = compiler(Path(__file__).parent, *SOURCES, counted=False, merged=True)

# Columns of `Routes.near`: what decides most of the time that a position is not worth a look.
PLACE, LEG_S = 0, 1  # LEG_S is the drive from the position before
# Columns of `Routes.span`: between which times of the day a stop begins, and how long it lasts.
FROM_S, TO_S, LASTS_S = 0, 1, 2
UNBOUNDED_S = (1 << 32) - 1  # the greatest number that a span can hold; never reached
# Columns of `Routes.at`, in seconds.
READY_S = 0  # earliest departure after a position
LATEST_S = 1  # latest arrival at it that keeps all that follows in time
LEAD_S = 2  # least duration up to and including it
LEAD_LATEST_S = 3  # latest departure from the start place that allows that duration
REST_S = 4  # least duration from the beginning of service at it to the end of the route
REST_FROM_S = 5  # earliest beginning that allows that duration
TAIL_S, TAIL_END_S = 6, 7  # who arrives at t ends the day at max(t + TAIL_S, TAIL_END_S)
# Columns of `Routes.day`; seconds and grams, 0 for a route that visits nobody.
STOPS, VISITS = 0, 1  # nodes in the route, the meal included; nodes that are visits
DRIVE_S, WAIT_S, DAY_END_S, WORK_S = 2, 3, 4, 5  # least waiting, earliest end, least paid time
LOAD_G = 6
BEFORE_G, AFTER_G = 7, 8  # chemicals before the supply stop (or in all, without one) and after it
SUPPLY_AT = 9  # position of the supply stop, 0 without one
STAMP = 10  # changes whenever the route does, and never comes back for other contents
MEAL_AT = 11  # position of the meal, 0 where none is owed
# Columns of `Routes.unit` and `Undo.unit`: the price of a unit is that of its variant and its
# cells; IS_OUT, of `Undo` alone, is 1 for a unit that has been taken out.
VARIANT, PRICE_S, IS_OUT = 0, 1, 2
IN_CELL, AS_LOAD, IN_WINDOW = 0, 1, 2  # of `Routes.visit`; IN_CELL is -1 while it is unplaced
TOUCHED, COST_S = 0, 1  # of `Undo.kept`: 1 for a route that has been kept; what it did cost
# Columns of `Routes.known`: what is known of a load in a time window and a route.
OF_STAMP = 0  # the route it is known of
EXTRA_S, WHERE = 1, 2  # least extra cost and its position; position 0: no less than EXTRA_S
MORE_WORK_S, MORE_OVER_S = 0, 1  # of `Routes.more_s`: paid time and overtime that it adds
# Places of `Routes.counts`.
# Stamps given out; units with a visit missing; marks given out; routes listed as idle.
STAMPS, INCOMPLETE, MARKS, IDLE = 0, 1, 2, 3
# Places of `Routes.weight`: prices of what is too much, and the share of its price that unevenness
# of hours costs at the moment.
PER_GRAM, PER_SECOND, UNEVENNESS = 0, 1, 2


class Routes(NamedTuple):
    """Routes and who is in them; W is the most nodes a route can hold plus its two ends.

    Q pairs of a load kind and a time window; `variant` is the variant of each unit. The prices in
    `weight` are 0 where nothing may ever be too much.
    """

    node: Ints  # (R, W)
    near: Counts  # (R, W, 2)
    span: Counts  # (R, W, 3)
    at: Ints  # (R, W, 8)
    day: Ints  # (R, 12)
    unit: Ints  # (U, 2)
    visit: Ints  # (N, 3)
    week_s: Ints  # (T, 2) paid time and daily overtime of each technician
    weight: Floats  # (3,)
    counts: Ints  # (4,)
    known: Ints  # (Q, R, 3)
    more_s: Ints  # (Q, R, 2) where weeks have hours
    found: Ints  # (most load kinds of a unit, days, 4) room for choosing: cost, cell, position, ...
    look: Counts  # (R,) the cells to choose from, in the first places
    ask: Counts  # (R,) those of them of which the best position is not known
    mark: Ints  # (R,) the mark of the unit that a route was last listed for
    idle: Ints  # (R,) routes that visit nobody, in the first places


class Undo(NamedTuple):
    """What a round has changed, so that it can be taken back.

    The first `changed[0]` entries of `cells` are the routes touched since the round began, those
    of `units` (`changed[1]`) the units taken out; their old contents stand beside them.
    """

    changed: Ints  # (2,)
    cells: Ints  # (R,)
    kept: Ints  # (R, 2)
    node: Ints  # (R, W)
    near: Counts  # (R, W, 2)
    span: Counts  # (R, W, 3)
    at: Ints  # (R, W, 8)
    day: Ints  # (R, 12)
    units: Ints  # (U,)
    unit: Ints  # (U, 3)
    window: Ints  # (N,) windows of the visits taken out
    key: Floats  # (U,) room for sorting units
    cut: Ints  # (R,) routes that the present ruin has cut, in the first places
    order: Ints  # (W,) room for the visits of a route


def empty_routes(a: Arrays) -> Routes:
    """Routes without a stop, every unit left out, times still to be refreshed."""
    cells, units, nodes = len(a.cell), len(a.unit) - 1, len(a.node_unit)
    first = a.unit[:units, FIRST_VARIANT]
    pairs = int(a.unit[-1, FIRST_PAIR])
    width, days = a.route_limit + 4, a.load_price.shape[1]
    near = np.zeros((cells, width, 2), dtype=np.uint32)
    near[:, 0, PLACE], near[:, 1, PLACE] = a.cell[:, START], a.cell[:, END]
    home_s = a.drives_s[a.cell[:, START], a.cell[:, END], 0].astype(np.int64)
    near[:, 1, LEG_S] = np.where(home_s < a.no_drive, home_s, NO_DRIVE_S)
    return Routes(
        node=_zeros(cells, width) - 1,
        near=near,
        span=np.zeros((cells, width, 3), dtype=np.uint32),
        at=_zeros(cells, width, 8),
        day=_zeros(cells, 12),
        unit=np.stack([first, a.variant[first, PRICE]], axis=1),
        visit=np.stack(
            [_zeros(nodes) - 1, _zeros(nodes), a.unit[a.node_unit, FIRST_WINDOW]], axis=1
        ),
        week_s=_zeros(len(a.hours), 2),
        weight=np.array([0.0, 0.0, 1.0]),
        counts=np.array([0, units, 0, 0], dtype=np.int64),
        known=_zeros(pairs, cells, 3) - 1,
        more_s=_zeros(pairs if a.has_hours else 1, cells, 2),
        found=_zeros(a.most_loads, days, 4),
        look=np.zeros(cells, dtype=np.uint32),
        ask=np.zeros(cells, dtype=np.uint32),
        mark=_zeros(cells),
        idle=_zeros(cells),
    )


def _zeros(*shape: int) -> Ints:
    return np.zeros(shape, dtype=np.int64)


def nothing_to_undo(s: Routes) -> Undo:
    """An empty list of changes for these routes."""
    cells, units = len(s.day), len(s.unit)
    return Undo(
        changed=_zeros(2),
        cells=_zeros(cells),
        kept=_zeros(cells, 2),
        node=np.zeros_like(s.node),
        near=np.zeros_like(s.near),
        span=np.zeros_like(s.span),
        at=np.zeros_like(s.at),
        day=np.zeros_like(s.day),
        units=_zeros(units),
        unit=_zeros(units, 3),
        window=_zeros(len(s.visit)),
        key=np.zeros(units),
        cut=_zeros(cells),
        order=_zeros(s.node.shape[1]),
    )


@inlined
def route_cost_s(a: Arrays, s: Routes, r: int) -> int:
    """Driving, waiting and overtime of route r, and the price of what is too much in it."""
    day = s.day[r]
    cost = day[DRIVE_S] + a.waiting * day[WAIT_S]
    if day[DAY_END_S] > a.cell[r, REGULAR_END_S]:
        cost += end_price_s(a.cell[r], day[DAY_END_S], s.weight[PER_SECOND])
    return int(cost + load_price_s(s.weight[PER_GRAM], day[LOAD_G] - a.cell[r, PAYLOAD_G]))


@inlined
def load_price_s(weight: float, over_g: int) -> int:
    """Price of a load that is `over_g` more than the payload (below 0: less)."""
    return int(weight * over_g) if over_g > 0 else 0


@inlined
def end_price_s(cell: Ints, end_s: int, weight: float) -> int:
    """Price of ending the day of a cell at `end_s`, which is after its regular end."""
    paid = cell[OVERTIME_MILLI] * (end_s - cell[REGULAR_END_S]) // THOUSAND
    return int(paid) + int(weight * max(end_s - cell[LAST_END_S], 0))


@inlined
def is_too_much(a: Arrays, s: Routes, r: int) -> bool:
    """Whether route r carries too much or ends too late."""
    return bool(
        s.day[r, LOAD_G] > a.cell[r, PAYLOAD_G] or s.day[r, DAY_END_S] > a.cell[r, LAST_END_S]
    )


class Rows(NamedTuple):
    """What is kept of the stops of one route, position by position."""

    node: Ints
    near: Counts
    span: Counts
    at: Ints


@inlined
def rows_of(s: Routes | Undo, r: int) -> Rows:
    """The stops of route r."""
    return Rows(s.node[r], s.near[r], s.span[r], s.at[r])


@inlined
def copy_route(stops: int, rows: Rows, to: Rows) -> None:
    """Copy a route of `stops` stops, times and all."""
    for i in range(stops + 2):
        to.node[i] = rows.node[i]
        for k in range(2):
            to.near[i, k] = rows.near[i, k]
        for k in range(3):
            to.span[i, k] = rows.span[i, k]
        for k in range(8):
            to.at[i, k] = rows.at[i, k]


@inlined
def copy_row(row: Ints, to_row: Ints) -> None:
    """Copy numbers one by one; an assignment of arrays would ask for memory."""
    for i in range(len(row)):
        to_row[i] = row[i]


@inlined
def keep_cell(a: Arrays, s: Routes, undo: Undo, r: int) -> None:
    """Note route r, contents and times, before its first change in this round."""
    if undo.kept[r, TOUCHED] == 0:
        undo.kept[r, TOUCHED] = 1
        undo.cells[undo.changed[0]] = r
        undo.changed[0] += 1
        undo.kept[r, COST_S] = route_cost_s(a, s, r)
        copy_route(s.day[r, STOPS], rows_of(s, r), rows_of(undo, r))
        copy_row(s.day[r], undo.day[r])


@merged
def forget(undo: Undo) -> None:
    """Begin a new round: what has changed so far stays."""
    for i in range(undo.changed[0]):
        undo.kept[undo.cells[i], TOUCHED] = 0
    for i in range(undo.changed[1]):
        undo.unit[undo.units[i], IS_OUT] = 0
    undo.changed[0] = 0
    undo.changed[1] = 0
