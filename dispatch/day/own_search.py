"""Our own search of a cheap rest of the day, for exactly what a repair pays for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from dispatch.day.field import Field
from dispatch.day.kernel import NOWHERE, Orders, Scratch, improve, insert_best, refresh, total_s
from dispatch.day.rest import Order

ROUNDS = 40_000  # of each of our own searches
MOST_STOPS = 60  # stops of one technician that the search can hold
HOT_S = (200.0, 400.0)  # first temperature of each run, seconds of driving (measured)
COLD_S = 10.0  # last temperature


@dataclass(frozen=True, slots=True)
class Found:
    """Orders of the cells and what they cost in all, in seconds of driving."""

    orders: tuple[Order, ...]
    cost_s: int


def laid(f: Field, orders: Sequence[Order]) -> Orders:
    """The orders as the compiled search holds them."""
    cells, count = len(f.cell), len(f.place)
    width = max(min(count, MOST_STOPS), *(len(one) for one in orders), 0) + 2
    o = Orders(
        np.full((cells, width), NOWHERE, dtype=np.int64),
        np.zeros(cells, dtype=np.int64),
        np.zeros(cells, dtype=np.int64),
        np.zeros(cells, dtype=np.int64),
        np.zeros(cells, dtype=np.int64),
        np.full(count, NOWHERE, dtype=np.int64),
    )
    for r, order in enumerate(orders):
        o.node[r, : len(order)] = order
        o.length[r] = len(order)
        refresh(f, o, r)
    return o


def _scratch(f: Field, orders: Sequence[Order]) -> Scratch:
    old = laid(f, orders)
    return Scratch(
        old,
        np.zeros(len(f.cell), dtype=np.int64),
        np.zeros(len(f.place), dtype=np.int64),
        np.zeros(old.node.shape[1] + 1, dtype=np.int64),
    )


def found_of(f: Field, o: Orders) -> Found:
    """What stands in the search's arrays, as a value."""
    orders = tuple(
        tuple(int(n) for n in row[:length]) for row, length in zip(o.node, o.length, strict=True)
    )
    return Found(orders, int(total_s(f, o)))


def cost_of(f: Field, orders: Sequence[Order]) -> int:
    """What orders cost in all, with the price of what stands in none of them."""
    return int(total_s(f, laid(f, orders)))


def inserted(f: Field, base: Sequence[Order], wanted: Sequence[int]) -> Found:
    """The orders with `wanted` put in one by one where each costs least; nothing else moves.

    The dearest to leave out go first, then those that fewest can do.
    """
    o = laid(f, base)
    notes = _scratch(f, base)
    rng = np.random.Generator(np.random.PCG64(1))
    few = f.may.sum(axis=1)
    for node in sorted(wanted, key=lambda n: (-int(f.unplaced_s[n]), int(few[n]), n)):
        insert_best(f, o, notes.touched, notes.row, node, rng, 0.0)
    return found_of(f, o)


def own_search(
    f: Field,
    start: Sequence[Order],
    *,
    seed: int,
    rounds: int = ROUNDS,
    hot_s: float = HOT_S[0],
) -> Found:
    """Ruin and recreate from `start`; never worse than it."""
    o = laid(f, start)
    if not len(f.place) or not len(f.cell):
        return found_of(f, o)
    best = laid(f, start)
    rng = np.random.Generator(np.random.PCG64(seed))
    improve(f, o, best, _scratch(f, start), rng, rounds, hot_s, COLD_S)
    return found_of(f, best)
