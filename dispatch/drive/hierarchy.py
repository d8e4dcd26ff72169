"""Least costs by a contraction hierarchy: many places to many places in a fraction of a second.

J. Dibbelt, B. Strasser and D. Wagner, Customizable contraction hierarchies, ACM Journal of
Experimental Algorithmics 21 (2016). The order of the nodes (nested dissection), on which the speed
rests, comes from pyroutingkit. Its own queries carry 32 bits, enough for a time but not for a time
and the distance driven in it; so the arcs are filled in and searched here, with costs of 64 bits.
"""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numba import njit
from pyroutingkit import CCHTopology

from dispatch.errors import UnreadableMap

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from dispatch.drive.turn_graph import Ends, TurnGraph

    Longs = npt.NDArray[np.int64]

NEVER = np.int64(1) << np.int64(60)  # a cost above any drive; twice it still fits 64 bits


@dataclass(frozen=True, slots=True, eq=False)
class Hierarchy:
    """Nodes by rank, the least important first.

    The arcs between rank r and higher ranks are `first[r]` to `first[r + 1]`: `higher` is the other
    rank, `up` the cost from r to it and `down` the cost back. `parent` is the lowest higher
    neighbour, -1 at the top.
    """

    rank: Longs
    parent: Longs
    first: Longs
    higher: Longs
    up: Longs
    down: Longs


@lru_cache(maxsize=2)
def hierarchy(graph: TurnGraph) -> Hierarchy:
    """Return the hierarchy of a graph; kept for the two graphs asked for last."""
    rank = _nested_dissection(graph)
    low = np.minimum(rank[graph.source], rank[graph.target])
    high = np.maximum(rank[graph.source], rank[graph.target])
    pairs = np.unique(np.column_stack([low, high])[low != high], axis=0)
    near = np.concatenate([[0], np.cumsum(np.bincount(pairs[:, 0], minlength=len(rank)))])
    parent, first, higher = _fill_in(near, np.ascontiguousarray(pairs[:, 1]))
    up, down = np.full(len(higher), NEVER), np.full(len(higher), NEVER)
    _set_costs(rank[graph.source], rank[graph.target], graph.cost, first, higher, up, down)
    _customize(first, higher, up, down)
    return Hierarchy(rank, parent, first, higher, up, down)


def least_costs_by_hierarchy(
    graph: TurnGraph, departures: Sequence[Ends], arrivals: Sequence[Ends]
) -> Longs:
    """Return the least cost of each drive, `NEVER` or more where there is none.

    Row = departure, column = arrival.
    """
    ready = hierarchy(graph)
    starts = _climb(ready.parent, ready.first, ready.higher, ready.up, *_flat(ready, departures))
    ends = _climb(ready.parent, ready.first, ready.higher, ready.down, *_flat(ready, arrivals))
    cost: Longs = _meet(len(ready.rank), *starts, *ends)
    return cost


def _flat(ready: Hierarchy, places: Sequence[Ends]) -> tuple[Longs, Longs, Longs]:
    """Return where each place's nodes begin, their ranks and their costs."""
    begin = np.cumsum([0, *(len(ends.nodes) for ends in places)])
    nodes = np.array([node for ends in places for node in ends.nodes], dtype=np.int64)
    costs = np.array([cost for ends in places for cost in ends.costs], dtype=np.int64)
    return begin, ready.rank[nodes], costs


def _nested_dissection(graph: TurnGraph) -> Longs:
    """Return the rank of each node.

    pyroutingkit tells the order only through the folder in which it keeps a topology.
    """
    count = len(graph.edge)
    topology = CCHTopology()
    topology.build(
        graph.source.astype(np.uint32),
        graph.target.astype(np.uint32),
        graph.lat.astype(np.float32),
        graph.lon.astype(np.float32),
        count,
    )
    with tempfile.TemporaryDirectory() as folder:
        topology.save(folder)
        rank = np.fromfile(Path(folder) / "rank", dtype=np.uint32).astype(np.int64)
    if not np.array_equal(np.sort(rank), np.arange(count)):
        raise UnreadableMap(
            "The order of the street graph that pyroutingkit gave is not complete. Install the "
            "version of pyroutingkit that requirements.lock names."
        )
    return rank


@njit(cache=True)
def _fill_in(near: Longs, neighbour: Longs) -> tuple[Longs, Longs, Longs]:  # pragma: no cover
    """Add the arcs that contraction in rank order makes (symbolic elimination)."""
    count = len(near) - 1
    parent = np.full(count, -1, dtype=np.int64)
    first = np.zeros(count + 1, dtype=np.int64)
    child = np.full(count, -1, dtype=np.int64)
    sibling = np.full(count, -1, dtype=np.int64)
    seen = np.full(count, -1, dtype=np.int64)
    higher = np.empty(4 * len(neighbour) + 16, dtype=np.int64)
    for v in range(count):
        begin = end = first[v]
        if end + count - v > len(higher):
            grown = np.empty(2 * len(higher) + count, dtype=np.int64)
            grown[:end] = higher[:end]
            higher = grown
        seen[v] = v
        for x in neighbour[near[v] : near[v + 1]]:
            seen[x] = v
            higher[end] = x
            end += 1
        c = child[v]
        while c >= 0:
            for k in range(first[c], first[c + 1]):
                if seen[higher[k]] != v:
                    seen[higher[k]] = v
                    higher[end] = higher[k]
                    end += 1
            c = sibling[c]
        higher[begin:end] = np.sort(higher[begin:end])
        first[v + 1] = end
        if end > begin:
            parent[v] = higher[begin]
            sibling[v] = child[parent[v]]
            child[parent[v]] = v
    return parent, first, higher[: first[count]].copy()


@njit(cache=True)
def _set_costs(
    source: Longs,
    target: Longs,
    cost: Longs,
    first: Longs,
    higher: Longs,
    up: Longs,
    down: Longs,
) -> None:  # pragma: no cover
    """Give the arcs that stand in the graph their own costs."""
    for i in range(len(source)):
        low, high = min(source[i], target[i]), max(source[i], target[i])
        if low == high:
            continue
        k = first[low] + np.searchsorted(higher[first[low] : first[low + 1]], high)
        if source[i] == low:
            up[k] = min(up[k], cost[i])
        else:
            down[k] = min(down[k], cost[i])


@njit(cache=True)
def _customize(first: Longs, higher: Longs, up: Longs, down: Longs) -> None:  # pragma: no cover
    """Lower each arc to the cost of its best detour over a less important node."""
    for v in range(len(first) - 1):
        for i in range(first[v], first[v + 1]):
            x = higher[i]
            k = first[x]
            for j in range(i + 1, first[v + 1]):
                while higher[k] != higher[j]:
                    k += 1
                up[k] = min(up[k], down[i] + up[j])
                down[k] = min(down[k], down[j] + up[i])


@njit(cache=True)
def _climb(
    parent: Longs, first: Longs, higher: Longs, step: Longs, begin: Longs, rank: Longs, cost: Longs
) -> tuple[Longs, Longs, Longs]:  # pragma: no cover
    """Return for each place the ranks above its nodes and the cost of each."""
    count = len(parent)
    reached = np.full(count, NEVER)
    place_first = np.zeros(len(begin), dtype=np.int64)
    ranks = np.empty(1024, dtype=np.int64)
    costs = np.empty(1024, dtype=np.int64)
    above = np.empty(count, dtype=np.int64)
    marked = np.full(count, -1, dtype=np.int64)
    for place in range(len(begin) - 1):
        size = 0
        for i in range(begin[place], begin[place + 1]):
            reached[rank[i]] = min(reached[rank[i]], cost[i])
            v = rank[i]
            while v >= 0 and marked[v] != place:
                marked[v] = place
                above[size] = v
                size += 1
                v = parent[v]
        climb = np.sort(above[:size])
        start = place_first[place]
        if start + size > len(ranks):
            room = np.empty(2 * (start + size), dtype=np.int64)
            room[:start] = ranks[:start]
            ranks = room
            room = np.empty(2 * (start + size), dtype=np.int64)
            room[:start] = costs[:start]
            costs = room
        for i in range(size):
            v = climb[i]
            here = reached[v]
            reached[v] = NEVER
            ranks[start + i] = v
            costs[start + i] = here
            if here < NEVER:
                for k in range(first[v], first[v + 1]):
                    reached[higher[k]] = min(reached[higher[k]], here + step[k])
        place_first[place + 1] = start + size
    return place_first, ranks[: place_first[-1]], costs[: place_first[-1]]


@njit(cache=True)
def _meet(
    count: int,
    start_first: Longs,
    start_rank: Longs,
    start_cost: Longs,
    end_first: Longs,
    end_rank: Longs,
    end_cost: Longs,
) -> Any:  # pragma: no cover
    """Return the least sum of a climb from the start and a climb from the end, for each pair."""
    starts, ends = len(start_first) - 1, len(end_first) - 1
    cost = np.full((starts, ends), NEVER)
    reached = np.full(count, NEVER)
    for i in range(starts):
        for k in range(start_first[i], start_first[i + 1]):
            reached[start_rank[k]] = start_cost[k]
        for j in range(ends):
            least = NEVER
            for k in range(end_first[j], end_first[j + 1]):
                least = min(least, reached[end_rank[k]] + end_cost[k])
            cost[i, j] = least
        for k in range(start_first[i], start_first[i + 1]):
            reached[start_rank[k]] = NEVER
    return cost
