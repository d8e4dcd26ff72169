"""A contraction hierarchy, which makes many drives to many places a matter of milliseconds.

J. Dibbelt, B. Strasser and D. Wagner, Customizable contraction hierarchies, ACM Journal of
Experimental Algorithmics 21 (2016). The order of the nodes, on which the speed rests, comes from
`dissect`; searched is in `sweep`. Libraries carry 32 bits, enough for a time but not for a time and
the distance driven in it, and order the turns themselves, which takes five times as long and gives
a third more levels (see tests/bench/drive_matrix.py).
"""

from __future__ import annotations

import os
import zipfile
from dataclasses import dataclass, fields
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from dispatch.compiled import compiler
from dispatch.drive.dissect import street_ranks
from dispatch.drive.scratch import COMPUTING, scratch_folder

if TYPE_CHECKING:
    import numpy.typing as npt

    from dispatch.drive.turn_graph import TurnGraph

    Ints = npt.NDArray[np.int32]
    Longs = npt.NDArray[np.int64]
    Floats = npt.NDArray[np.float64]
    Flags = npt.NDArray[np.bool_]

compiled = compiler(Path(__file__).parent, "hierarchy")


@dataclass(frozen=True, slots=True, eq=False)
class Hierarchy:
    """Nodes by rank, the least important first.

    The ways up from rank r are `up_first[r]` to `up_first[r + 1]`: `up_rank` is the more important
    rank and `up_cost` the cost from r to it; `down_...` hold the ways from more important ranks to
    r. `parent` is the lowest neighbour above, -1 at the top. Costs are whole numbers, exact in
    floating point (see `turn_graph`), of which a processor compares several at once.
    """

    rank: Ints
    parent: Ints
    up_first: Longs
    up_rank: Ints
    up_cost: Floats
    down_first: Longs
    down_rank: Ints
    down_cost: Floats


@lru_cache(maxsize=1)
def hierarchy(graph: TurnGraph) -> Hierarchy:
    """Return the hierarchy of a graph; kept for the graph asked for last."""
    rank = _ranks(graph)
    low = np.minimum(rank[graph.source], rank[graph.target])
    high = np.maximum(rank[graph.source], rank[graph.target])
    pair = np.unique((low * len(rank) + high)[low != high])
    low, high = np.divmod(pair, len(rank))
    near = np.concatenate([[0], np.cumsum(np.bincount(low, minlength=len(rank)))])
    parent, first, higher = _fill_in(near, high)
    up, down = np.full(len(higher), np.inf), np.full(len(higher), np.inf)
    cost = graph.cost.astype(np.float64)
    _set_costs(rank[graph.source], rank[graph.target], cost, first, higher, up, down)
    _customize(first, higher, up, down)
    up_needed, down_needed = _needed(first, higher, up, down)
    ways_up = _packed(first, higher, up, up_needed)
    del up  # of a metropolitan area the arcs not needed fill hundreds of megabytes
    ways_down = _packed(first, higher, down, down_needed)
    return Hierarchy(rank.astype(np.int32), parent, *ways_up, *ways_down)


def _ranks(graph: TurnGraph) -> Longs:
    """Return the rank of each node: by its street edge, then by its number."""
    order = np.argsort(street_ranks(graph.roads)[graph.edge], kind="stable")
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))
    return rank


def stored_hierarchy(graph: TurnGraph, file: Path) -> Hierarchy:
    """Return the hierarchy kept in a file; one that is missing or damaged is made and kept.

    Parameters
    ----------
    graph
        The graph; its costs and the file's name must belong together.
    file
        Name of an .npz file in a folder that exists.
    """
    names = [field.name for field in fields(Hierarchy)]
    try:
        with np.load(file) as stored:
            return Hierarchy(*(stored[name] for name in names))
    except (ValueError, KeyError, EOFError, OSError, zipfile.BadZipFile):
        ready = hierarchy(graph)
    with scratch_folder(file.parent, COMPUTING) as new:
        np.savez(new / file.name, **{name: getattr(ready, name) for name in names})
        os.replace(new / file.name, file)
    return ready


@compiled
def _fill_in(near: Longs, neighbour: Longs) -> tuple[Ints, Longs, Ints]:  # pragma: no cover
    """Add the arcs that contraction in rank order makes (symbolic elimination)."""
    count = len(near) - 1
    parent = np.full(count, -1, dtype=np.int32)
    first = np.zeros(count + 1, dtype=np.int64)
    child = np.full(count, -1, dtype=np.int64)
    sibling = np.full(count, -1, dtype=np.int64)
    seen = np.full(count, -1, dtype=np.int64)
    higher = np.empty(4 * len(neighbour) + 16, dtype=np.int32)
    for v in range(count):
        begin = end = first[v]
        if end + count - v > len(higher):
            grown = np.empty(2 * len(higher) + count, dtype=np.int32)
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


@compiled
def _set_costs(
    source: Longs,
    target: Longs,
    cost: Floats,
    first: Longs,
    higher: Ints,
    up: Floats,
    down: Floats,
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


@compiled
def _customize(first: Longs, higher: Ints, up: Floats, down: Floats) -> None:  # pragma: no cover
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


@compiled
def _needed(first: Longs, higher: Ints, up: Floats, down: Floats) -> Any:  # pragma: no cover
    """Lower each arc to the least cost; return which had it before: no way needs any other.

    From the top down each arc is compared with its detours over more important nodes, whose own
    arcs are least costs by then ("perfect customization" in the article above).
    """
    up_needed, down_needed = up < np.inf, down < np.inf
    for v in range(len(first) - 2, -1, -1):
        begin, end = first[v], first[v + 1]
        own_up, own_down = up[begin:end].copy(), down[begin:end].copy()
        for i in range(begin, end):
            x = higher[i]
            k = first[x]
            for j in range(i + 1, end):
                while higher[k] != higher[j]:
                    k += 1
                up[j] = min(up[j], up[i] + up[k])
                up[i] = min(up[i], up[j] + down[k])
                down[j] = min(down[j], down[i] + down[k])
                down[i] = min(down[i], down[j] + up[k])
        up_needed[begin:end] &= own_up <= up[begin:end]
        down_needed[begin:end] &= own_down <= down[begin:end]
    return up_needed, down_needed


@compiled
def _packed(
    first: Longs, higher: Ints, cost: Floats, needed: Flags
) -> tuple[Longs, Ints, Floats]:  # pragma: no cover
    """Return the arcs of one direction that are needed."""
    begin = np.zeros(len(first), dtype=np.int64)
    for v in range(len(first) - 1):
        begin[v + 1] = begin[v] + needed[first[v] : first[v + 1]].sum()
    return begin, higher[needed], cost[needed]
