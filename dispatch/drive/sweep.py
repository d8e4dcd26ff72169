"""Least costs in a contraction hierarchy: from some places up, then down to all others at once.

Every least-cost drive goes up through more and more important nodes, then down. So the costs of a
few starts, side by side, are carried up to the top, then in one pass down over all nodes that lie
above any end. D. Delling, A. V. Goldberg and R. F. Werneck, Faster batched shortest paths in road
networks, ATMOS 2011 (RPHAST), on the elimination tree of a customizable hierarchy.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from dispatch.compiled import compiler

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from dispatch.drive.hierarchy import Hierarchy
    from dispatch.drive.turn_graph import Ends

    Ints = npt.NDArray[np.int32]
    Longs = npt.NDArray[np.int64]
    Floats = npt.NDArray[np.float64]
    Flat = tuple[Longs, Longs, Floats]
    Ways = tuple[Longs, Ints, Floats]

compiled = compiler(Path(__file__).parent, "sweep")
inlined = compiler(Path(__file__).parent, "sweep", inline=True)

ABREAST = 16  # starts carried side by side: two cache lines of costs for a node


def least_costs_by_hierarchy(
    ready: Hierarchy, departures: Sequence[Ends], arrivals: Sequence[Ends]
) -> Floats:
    """Return the least cost of each drive, infinite where there is none.

    Row = departure, column = arrival.
    """
    up = (ready.up_first, ready.up_rank, ready.up_cost)
    down = (ready.down_first, ready.down_rank, ready.down_cost)
    starts, ends = _flat(ready, departures), _flat(ready, arrivals)
    if len(arrivals) < min(len(departures), ABREAST):
        return np.ascontiguousarray(_carry(ready.parent, down, up, ends, starts).T)
    return _carry(ready.parent, up, down, starts, ends)


def _flat(ready: Hierarchy, places: Sequence[Ends]) -> Flat:
    """Return where each place's nodes begin, their ranks and their costs."""
    begin = np.cumsum([0, *(len(ends.nodes) for ends in places)])
    nodes = np.array([node for ends in places for node in ends.nodes], dtype=np.int64)
    costs = np.array([cost for ends in places for cost in ends.costs], dtype=np.float64)
    return begin, ready.rank[nodes].astype(np.int64), costs


def _carry(parent: Ints, up: Ways, down: Ways, starts: Flat, ends: Flat) -> Floats:
    """Return costs from every start to every end; starts near each other go abreast."""
    above = _above(parent, ends[1])
    place = np.full(len(parent), -1, dtype=np.int32)
    place[above] = np.arange(len(above))
    arcs = _arcs_into(*down, above, place)
    count = len(starts[0]) - 1
    order = np.argsort(starts[1][starts[0][:-1]], kind="stable")
    cost = np.empty((count, len(ends[0]) - 1))
    for first in range(0, count, ABREAST):
        batch = order[first : first + ABREAST]
        climb, aside = _climb(parent, *up, batch, *starts)
        cost[batch] = _descend(climb, aside, place, len(above), *arcs, *ends).T
    return cost


@compiled
def _above(parent: Ints, ranks: Longs) -> Longs:  # pragma: no cover
    """Return the ranks given and all that lie above them, the least first."""
    marked = np.zeros(len(parent), dtype=np.bool_)
    for rank in ranks:
        v = rank
        while v >= 0 and not marked[v]:
            marked[v] = True
            v = parent[v]
    return np.flatnonzero(marked)


@compiled
def _arcs_into(
    first: Longs, rank: Ints, cost: Floats, above: Longs, place: Ints
) -> tuple[Longs, Ints, Floats]:  # pragma: no cover
    """Return the arcs into the ranks in `above` from higher ones, by their places in it."""
    begin = np.zeros(len(above) + 1, dtype=np.int64)
    for i in range(len(above)):
        begin[i + 1] = begin[i] + first[above[i] + 1] - first[above[i]]
    arc_source = np.empty(begin[-1], dtype=np.int32)
    arc_cost = np.empty(begin[-1])
    for i in range(len(above)):
        for n in range(begin[i + 1] - begin[i]):
            arc_source[begin[i] + n] = place[rank[first[above[i]] + n]]
            arc_cost[begin[i] + n] = cost[first[above[i]] + n]
    return begin, arc_source, arc_cost


@compiled
def _climb(
    parent: Ints,
    first: Longs,
    higher: Ints,
    step: Floats,
    batch: Longs,
    begin: Longs,
    rank: Longs,
    rest: Floats,
) -> tuple[Longs, Floats]:  # pragma: no cover
    """Return the ranks above the starts of a batch, and costs: row = rank, column = start."""
    nodes = np.empty(0, dtype=np.int64)
    for start in batch:
        nodes = np.append(nodes, rank[begin[start] : begin[start + 1]])
    climb = _above(parent, nodes)
    spot = np.full(len(parent), -1, dtype=np.int32)
    for i in range(len(climb)):
        spot[climb[i]] = i
    reached = np.full((len(climb), len(batch)), np.inf)
    for c in range(len(batch)):
        for k in range(begin[batch[c]], begin[batch[c] + 1]):
            row = spot[rank[k]]
            reached[row, c] = min(reached[row, c], rest[k])
    for i in range(len(climb)):
        for k in range(first[climb[i]], first[climb[i] + 1]):
            _lower(reached[spot[higher[k]]], reached[i], step[k])
    return climb, reached


@compiled
def _descend(
    climb: Longs,
    aside: Floats,
    place: Ints,
    size: int,
    arc_begin: Longs,
    arc_source: Ints,
    arc_cost: Floats,
    end_begin: Longs,
    end_rank: Longs,
    end_rest: Floats,
) -> Floats:  # pragma: no cover
    """Return costs to every end (row) from the starts of a batch (column)."""
    reached = np.full((size, aside.shape[1]), np.inf)
    for i in range(len(climb)):
        if place[climb[i]] >= 0:
            reached[place[climb[i]]] = aside[i]
    for i in range(size - 1, -1, -1):
        for k in range(arc_begin[i], arc_begin[i + 1]):
            _lower(reached[i], reached[arc_source[k]], arc_cost[k])
    ends = np.full((len(end_begin) - 1, aside.shape[1]), np.inf)
    for e in range(len(ends)):
        for k in range(end_begin[e], end_begin[e + 1]):
            _lower(ends[e], reached[place[end_rank[k]]], end_rest[k])
    return ends


@inlined
def _lower(there: Floats, here: Floats, step: float) -> None:  # pragma: no cover
    """Lower the costs of one node to those of another and a step between them."""
    for c in range(len(there)):
        cost = here[c] + step
        there[c] = cost if cost < there[c] else there[c]
