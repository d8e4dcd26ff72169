"""Rounds of ruin and recreate, accepted by simulated annealing."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from dispatch.planning.arrays import Arrays, Ints
from dispatch.planning.recreate import BLINK, order_units, place_unit
from dispatch.planning.routes import (
    Routes,
    Undo,
    compiled,
    forget,
    move_meal,
    route_cost_s,
    take_back,
    take_unit,
)
from dispatch.planning.ruin import ruin

MOST_RETRIED = 20  # units with a missing visit that one round tries again


class Best(NamedTuple):
    """The best routes seen: contents only, times are derived."""

    cost_s: Ints  # (2,) cost of the routes at hand, cost of the best
    node: Ints  # (R, W)
    stops: Ints  # (R,)
    variant: Ints  # (U,)


def best_of(a: Arrays, s: Routes) -> Best:
    """The routes at hand as the best so far."""
    routes_s = sum(route_cost_s(a, s, r) for r in range(len(s.stops)))
    cost = np.full(2, int(routes_s + s.price_s.sum()), dtype=np.int64)
    return Best(cost, s.node.copy(), s.stops.copy(), s.variant.copy())


@compiled
def anneal(
    a: Arrays,
    s: Routes,
    undo: Undo,
    best: Best,
    rng: np.random.Generator,
    first: int,
    rounds: int,
    total: int,
    hot_s: float,
    cold_s: float,
) -> None:
    """Run `rounds` rounds, the first of them number `first` of `total`.

    The temperature falls from `hot_s` to `cold_s` (seconds of driving) with the number of the
    round, never with the clock. `best` is updated in place.
    """
    for n in range(first, first + rounds):
        temperature = hot_s * (cold_s / hot_s) ** (n / total)
        change = one_round(a, s, undo, rng, BLINK)
        if change < -temperature * np.log(1.0 - rng.random()):
            best.cost_s[0] += change
            if best.cost_s[0] < best.cost_s[1]:
                best.cost_s[1] = best.cost_s[0]
                best.node[:] = s.node
                best.stops[:] = s.stops
                best.variant[:] = s.variant
            forget(undo)
        else:
            take_back(a, s, undo)


@compiled
def one_round(a: Arrays, s: Routes, undo: Undo, rng: np.random.Generator, blink: float) -> int:
    """Ruin and recreate once; returns the change of the cost in seconds."""
    ruin(a, s, undo, rng)
    _take_incomplete(a, s, undo, rng)
    _settle(a, s, undo)
    count = undo.changed[1]
    order_units(a, rng, undo.units, count)
    for i in range(count):
        place_unit(a, s, undo, rng, undo.units[i], blink)
    change = 0
    for i in range(count):
        u = undo.units[i]
        change += s.price_s[u] - undo.price_s[u]
    for i in range(undo.changed[0]):
        r = undo.cells[i]
        change += route_cost_s(a, s, r) - undo.cost_s[r]
    return change


@compiled
def _take_incomplete(a: Arrays, s: Routes, undo: Undo, rng: np.random.Generator) -> None:
    """Take out units with a missing visit, so that they are tried again."""
    units, variant, missing, is_out = len(s.variant), s.variant, a.variant_missing, undo.is_out
    shift = int(rng.random() * units)
    taken = 0
    for i in range(units):
        u = (i + shift) % units
        if missing[variant[u]] > 0 and not is_out[u]:
            take_unit(a, s, undo, u)
            taken += 1
            if taken == MOST_RETRIED:
                return


@compiled
def _settle(a: Arrays, s: Routes, undo: Undo) -> None:
    """Bring the times of the touched routes up to date.

    A route that cannot be driven in time with fewer stops (drive times need not obey the triangle
    inequality) is emptied.
    """
    nodes = len(a.node_unit)
    again = True
    while again:
        again = False
        i = 0
        while i < undo.changed[0]:
            r = undo.cells[i]
            if not move_meal(a, s, r) and s.visits[r] > 0:
                again = True
                for v in s.node[r, 1 : s.stops[r] + 1].copy():
                    if v < nodes:
                        take_unit(a, s, undo, a.node_unit[v])
            i += 1


@compiled
def construct(a: Arrays, s: Routes, undo: Undo, rng: np.random.Generator) -> None:
    """Place every unit into empty routes, once, as a first plan."""
    for u in range(len(s.variant)):
        take_unit(a, s, undo, u)
    order_units(a, rng, undo.units, len(s.variant))
    for i in range(len(s.variant)):
        place_unit(a, s, undo, rng, undo.units[i], 0.0)
    forget(undo)
