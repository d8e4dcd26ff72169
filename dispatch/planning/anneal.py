"""Rounds of ruin and recreate, accepted by simulated annealing."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from dispatch.planning.arrays import (
    CHEMICALS_G,
    FIRST_LOAD,
    KIND_CHEMICALS_G,
    LAST_END_S,
    LEAST_PRICE,
    MISSING,
    PAYLOAD_G,
    SUPPLY,
    Arrays,
    Ints,
)
from dispatch.planning.hours import (
    is_over_hours,
    is_over_week,
    spared_s,
    weeks_gain_s,
    weeks_price_s,
)
from dispatch.planning.recreate import BLINK, leave_out, list_idle, place_unit
from dispatch.planning.routes import (
    AFTER_G,
    BEFORE_G,
    COST_S,
    DAY_END_S,
    INCOMPLETE,
    IS_OUT,
    LOAD_G,
    PER_GRAM,
    PER_SECOND,
    PRICE_S,
    STAMP,
    STAMPS,
    STOPS,
    SUPPLY_AT,
    UNEVENNESS,
    VARIANT,
    VISITS,
    Routes,
    Undo,
    compiled,
    copy_row,
    forget,
    inlined,
    is_too_much,
    keep_cell,
    merged,
    route_cost_s,
)
from dispatch.planning.ruin import order_units, part_at, ruin
from dispatch.planning.times import (
    drop_supply,
    move_meal,
    move_supply,
    take_back,
    take_unit,
)
from dispatch.planning.variants import NEVER

MOST_RETRIED = 20  # units with a missing visit that one round tries again
ADAPT_ROUNDS = 500  # rounds after which the price of too much is looked at again
LOOK_ROUNDS = 10  # rounds from one look at the routes to the next
TOO_OFTEN = 0.6
TOO_SELDOM = 0.4
ADAPT_FACTOR = 1.2
LEAST_WEIGHT = 1e-6  # prices never fall to nothing
EVEN_UNTIL = 0.7  # share of the rounds after which unevenness of hours has its whole price,
EVEN_STEPS = 50  # which grows in so many steps at least
SUPPLY_FROM = 0.6  # share of the limit from which a supply stop is tried
SUPPLY_TRIED = 0.3  # chance that it is


class Best(NamedTuple):
    """The best routes seen: contents only, times are derived.

    `looks` counts looks at the routes at hand, and those that found too much in one of them.
    """

    cost_s: Ints  # (2,) present cost of the routes at hand, whole cost of the best
    node: Ints  # (R, W)
    stops: Ints  # (R,)
    unit: Ints  # (U, 2) as in `Routes`
    visit: Ints  # (N, 3)
    looks: Ints  # (2,)


def best_of(a: Arrays, s: Routes) -> Best:
    """The routes at hand as the best so far."""
    now_s = cost_s(a, s)
    return Best(
        cost_s=np.array([now_s, now_s + spared_s(a, s)], dtype=np.int64),
        node=s.node.copy(),
        stops=s.day[:, STOPS].copy(),
        unit=s.unit.copy(),
        visit=s.visit.copy(),
        looks=np.zeros(2, dtype=np.int64),
    )


@compiled
def cost_s(a: Arrays, s: Routes) -> int:
    """What the routes at hand cost in all, at present prices."""
    total = weeks_price_s(a, s)
    for u in range(len(s.unit)):
        total += s.unit[u, PRICE_S]
    for r in range(len(s.day)):
        total += route_cost_s(a, s, r)
    return int(total)


class Stretch(NamedTuple):
    """`rounds` of a search of `total`, the first of them number `first`.

    The temperature falls from `hot_s` to `cold_s` (seconds of driving) with the number of the
    round, never with the clock. In the same way the price of unevenness grows from a share of
    `even_from` to the whole: at once it would let nobody's customers go to anybody.
    """

    first: int
    rounds: int
    total: int
    hot_s: float
    cold_s: float
    even_from: float = 1.0


def anneal(
    a: Arrays, s: Routes, undo: Undo, best: Best, rng: np.random.Generator, stretch: Stretch
) -> None:
    """Run some rounds; `best` is updated in place, and never holds too much anywhere."""
    run_rounds(a, s, undo, best, rng, stretch, False)


def construct(a: Arrays, s: Routes, undo: Undo, rng: np.random.Generator) -> None:
    """Place every unit with a missing visit once, as a first plan.

    What is at hand already stays, but for routes that break a rule.
    """
    run_rounds(a, s, undo, best_of(a, s), rng, Stretch(1, 1, 1, 1.0, 1.0), True)


@compiled
def run_rounds(
    a: Arrays,
    s: Routes,
    undo: Undo,
    best: Best,
    rng: np.random.Generator,
    stretch: Stretch,
    from_nothing: bool,
) -> None:
    """The rounds of `anneal`, or the one round of `construct` where it is `from_nothing`.

    Both in one, so that what they call is compiled into one function only.
    """
    cooling = stretch.cold_s / stretch.hot_s
    step = max(1, min(ADAPT_ROUNDS, stretch.total // EVEN_STEPS))
    for n in range(stretch.first, stretch.first + stretch.rounds):
        temperature = stretch.hot_s * cooling ** (n / stretch.total)
        if stretch.even_from < 1.0 and n % step == 0:
            to_go = max(0.0, 1.0 - n / (EVEN_UNTIL * stretch.total))
            s.weight[UNEVENNESS] = stretch.even_from**to_go
            best.cost_s[0] = cost_s(a, s)
        most = float(NEVER) if from_nothing else -temperature * np.log(1.0 - rng.random())
        part = part_at(n, stretch.total, len(s.unit))
        change = _one_round(a, s, undo, rng, part, most, from_nothing)
        if change < most:
            best.cost_s[0] += change
            forget(undo)
            whole_s = best.cost_s[0] + spared_s(a, s)
            if whole_s < best.cost_s[1] and fits(a, s):
                _keep_best(s, best, whole_s)
        else:
            take_back(a, s, undo)
        if n % LOOK_ROUNDS == 0:
            best.looks[0] += 1
            best.looks[1] += not fits(a, s)
        if n % ADAPT_ROUNDS == 0:
            _adapt(a, s, best)


@compiled
def _keep_best(s: Routes, best: Best, whole_s: int) -> None:
    """Write down the routes at hand, which cost `whole_s`, as the best so far."""
    best.cost_s[1] = whole_s
    for r in range(len(s.day)):
        best.stops[r] = s.day[r, STOPS]
        for i in range(1, s.day[r, STOPS] + 1):
            best.node[r, i] = s.node[r, i]
    for u in range(len(s.unit)):
        copy_row(s.unit[u], best.unit[u])
    for node in range(len(s.visit)):
        copy_row(s.visit[node], best.visit[node])


@merged
def fits(a: Arrays, s: Routes) -> bool:
    """Whether no route carries too much or ends too late, and nobody works too long a week."""
    day, cell = s.day, a.cell
    for r in range(len(day)):
        if day[r, LOAD_G] > cell[r, PAYLOAD_G] or day[r, DAY_END_S] > cell[r, LAST_END_S]:
            return False
    return not (a.has_hours and is_over_hours(a, s))


@compiled
def _adapt(a: Arrays, s: Routes, best: Best) -> None:
    """Raise the price of too much where it is found too often, lower it where too seldom."""
    if s.weight[PER_GRAM] == 0.0 and not a.has_hours:
        return
    share = best.looks[1] / max(best.looks[0], 1)
    if share > TOO_OFTEN:
        for k in (PER_GRAM, PER_SECOND):
            s.weight[k] *= ADAPT_FACTOR
    elif share < TOO_SELDOM:
        for k in (PER_GRAM, PER_SECOND):
            if s.weight[k] > 0.0:
                s.weight[k] = max(s.weight[k] / ADAPT_FACTOR, LEAST_WEIGHT)
    best.looks[0] = best.looks[1] = 0
    if TOO_SELDOM <= share <= TOO_OFTEN:
        return
    best.cost_s[0] = cost_s(a, s)
    for r in range(len(s.day)):  # what is known of them holds for the old prices
        s.counts[STAMPS] += 1
        s.day[r, STAMP] = s.counts[STAMPS]


@inlined
def _one_round(
    a: Arrays,
    s: Routes,
    undo: Undo,
    rng: np.random.Generator,
    part: tuple[int, int],
    most: float,
    from_nothing: bool,
) -> int:
    """Ruin and recreate once in a part of the week; returns the change of the cost in seconds.

    Gives up where it sees that the change will be more than `most`, and returns NEVER.
    """
    before_s = weeks_price_s(a, s)
    if from_nothing:
        for r in range(len(s.day)):
            keep_cell(a, s, undo, r)
    else:
        ruin(a, s, undo, rng, part)
    if s.counts[INCOMPLETE] > 0:
        _take_incomplete(a, s, undo, rng, len(s.unit) if from_nothing else MOST_RETRIED)
    _settle(a, s, undo, rng)
    list_idle(s)
    count = undo.changed[1]
    order_units(a, undo, rng, count)
    most += before_s
    if not _place_all(a, s, undo, rng, count, most, 0.0 if from_nothing else BLINK):
        return NEVER
    change = -before_s
    for i in range(count):
        u = undo.units[i]
        change += s.unit[u, PRICE_S] - undo.unit[u, PRICE_S]
    for i in range(undo.changed[0]):
        r = undo.cells[i]
        in_time = drop_supply(a, s, r)
        if from_nothing and (not in_time or (a.has_hours and is_over_week(a, s, r))):
            _leave_all_out(a, s, r)
        elif not in_time:
            return NEVER
        change += route_cost_s(a, s, r) - undo.kept[r, COST_S]
    return int(change + weeks_price_s(a, s))


@compiled
def _leave_all_out(a: Arrays, s: Routes, r: int) -> None:
    """Leave out all whom route r of a first plan visits, for later rounds to place."""
    nodes, i = len(a.node_unit), 1
    while i <= s.day[r, STOPS]:
        if s.node[r, i] < nodes:
            u = a.node_unit[s.node[r, i]]
            s.counts[INCOMPLETE] += a.variant[s.unit[u, VARIANT], MISSING] == 0
            leave_out(a, s, u)
        else:
            i += 1
    move_meal(a, s, r)


@inlined
def _place_all(
    a: Arrays,
    s: Routes,
    undo: Undo,
    rng: np.random.Generator,
    count: int,
    most: float,
    blink: float,
) -> bool:
    """Place the first `count` units taken out; False, and some left out, where it costs too much.

    What the round saves at best is what was saved by taking units out and the prices that they
    need not pay; every unit placed takes some of it away, but for work that a week is short of.
    Three quarters of all rounds are in vain, and are left here after two thirds of their work. (In
    principle a later unit could save more, by filling waiting time.)
    """
    change = weeks_price_s(a, s)
    for i in range(undo.changed[0]):
        change += route_cost_s(a, s, undo.cells[i]) - undo.kept[undo.cells[i], COST_S]
    for i in range(count):
        change += a.unit[undo.units[i], LEAST_PRICE] - undo.unit[undo.units[i], PRICE_S]
    for i in range(count):
        u = undo.units[i]
        change += place_unit(a, s, undo, rng, u, blink) - a.unit[u, LEAST_PRICE]
        if change > most and change - weeks_gain_s(a, s) > most:
            for k in range(i + 1, count):
                s.counts[INCOMPLETE] += a.variant[s.unit[undo.units[k], VARIANT], MISSING] > 0
            return False
    return True


@inlined
def _take_incomplete(a: Arrays, s: Routes, undo: Undo, rng: np.random.Generator, most: int) -> None:
    """Take out units with a missing visit, `most` of them, so that they are tried again."""
    units, unit, variant, out = len(s.unit), s.unit, a.variant, undo.unit
    shift = int(rng.random() * units) if most < units else 0
    taken = 0
    for i in range(units):
        u = (i + shift) % units
        if variant[unit[u, VARIANT], MISSING] > 0 and not out[u, IS_OUT]:
            take_unit(a, s, undo, u)
            taken += 1
            if taken == most:
                break


@inlined
def _settle(a: Arrays, s: Routes, undo: Undo, rng: np.random.Generator) -> None:
    """Bring the times of the touched routes up to date.

    A route that cannot stand with fewer stops (drive times need not obey the triangle inequality,
    and a plan to begin with may break any rule) is emptied. One that comes near what may be
    aboard, or would with all that is out, sometimes gets a supply stop.
    """
    nodes = len(a.node_unit)
    again = True
    while again:
        again = False
        i = 0
        while i < undo.changed[0]:
            r = undo.cells[i]
            if not _stands(a, s, r) and s.day[r, VISITS] > 0:
                again = True
                k = 1
                while k <= s.day[r, STOPS]:
                    if s.node[r, k] < nodes:
                        take_unit(a, s, undo, a.node_unit[s.node[r, k]])
                    else:
                        k += 1
            elif a.cell[r, SUPPLY] >= 0 and s.day[r, SUPPLY_AT] == 0:
                aboard, most_g = s.day[r, BEFORE_G], a.cell[r, CHEMICALS_G]
                near = aboard > SUPPLY_FROM * most_g or aboard + _out_g(a, undo) > most_g
                if near and rng.random() < SUPPLY_TRIED:
                    move_supply(a, s, r)
            i += 1


@inlined
def _out_g(a: Arrays, undo: Undo) -> int:
    """Chemicals that one visit of each unit that is out takes, in grams."""
    total = 0
    for i in range(undo.changed[1]):
        total += a.load[a.unit[undo.units[i], FIRST_LOAD], KIND_CHEMICALS_G]
    return total


@inlined
def _stands(a: Arrays, s: Routes, r: int) -> bool:
    """Refresh route r; whether it keeps its times and loads, with a supply stop if it must."""
    if not move_meal(a, s, r):
        return False
    day, most_g = s.day[r], a.cell[r, CHEMICALS_G]
    if day[BEFORE_G] > most_g or day[AFTER_G] > most_g:
        can = a.cell[r, SUPPLY] >= 0 and day[SUPPLY_AT] == 0 and move_supply(a, s, r)
        return bool(can)
    if s.weight[PER_SECOND] > 0.0:
        return True
    return not (is_too_much(a, s, r) or (a.has_hours and is_over_week(a, s, r)))
