"""Two engines that look for a cheap rest of the day, and the better of what they find.

Our own searches for exactly what a repair pays for. PyVRP, a general library, knows neither meals
nor the price of a changed order, and looks at the day as if windows could not be broken; what it
finds counts for what it really costs. Both begin with the day as it stands. Neither looks at the
clock: the same rest of a day, seed and rounds give the same answer.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor

from dispatch.day.field import Field
from dispatch.day.general import general_search
from dispatch.day.kernel import total_s
from dispatch.day.own_search import HOT_S, ROUNDS, Found, cost_of, laid, own_search
from dispatch.day.rest import Order

GENERAL_ROUNDS = 150  # iterations of the general library


def combined(f: Field, one: Found, other: Found) -> Found:
    """The cheaper half of two answers, for every group of technicians that can be told apart.

    Technicians belong together when a visit stands with one of them in the first answer and with
    another in the second. The result is never dearer than either.
    """
    cells = len(f.cell)
    group = list(range(cells + 1))  # the last stands for no technician at all

    def root(n: int) -> int:
        while group[n] != n:
            n = group[n]
        return n

    where = [_where(f, answer.orders) for answer in (one, other)]
    for first, second in zip(*where, strict=True):
        group[root(first)] = root(second)
    costs = [_costs(f, answer.orders) for answer in (one, other)]
    chosen: list[Order] = [()] * cells
    for r in {root(n) for n in range(cells + 1)}:
        members = [n for n in range(cells) if root(n) == r]
        left_out = [0, 0]
        if root(cells) == r:
            left_out = [cost[-1] for cost in costs]
        totals = [
            sum(cost[n] for n in members) + extra
            for cost, extra in zip(costs, left_out, strict=True)
        ]
        better = one if totals[0] <= totals[1] else other
        for n in members:
            chosen[n] = better.orders[n]
    return Found(tuple(chosen), cost_of(f, chosen))


def _where(f: Field, orders: Sequence[Order]) -> list[int]:
    found = [len(f.cell)] * len(f.place)
    for r, order in enumerate(orders):
        for n in order:
            found[n] = r
    return found


def _costs(f: Field, orders: Sequence[Order]) -> list[int]:
    """Cost of each order, and at the end the price of what is left out."""
    o = laid(f, orders)
    return [*(int(cost) for cost in o.cost_s), int(total_s(f, o) - o.cost_s.sum())]


def best_rest(
    f: Field,
    start: Sequence[Order],
    *,
    seed: int,
    rounds: int = ROUNDS,
    general_rounds: int = GENERAL_ROUNDS,
) -> Found:
    """The best of both engines side by side, never dearer than either alone."""
    with ThreadPoolExecutor(max_workers=len(HOT_S)) as pool:
        own = [
            pool.submit(own_search, f, start, seed=seed + n, rounds=rounds, hot_s=hot_s)
            for n, hot_s in enumerate(HOT_S)
        ]
        general = pool.submit(general_search, f, start, seed=seed, rounds=general_rounds)
        best = Found(tuple(tuple(one) for one in start), cost_of(f, start))
        for answer in (*own, general):
            best = combined(f, best, answer.result())
    return best
