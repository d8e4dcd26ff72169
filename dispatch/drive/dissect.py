"""The order in which a hierarchy passes over the streets: the least important first.

Nested dissection: the junctions are cut in two where the fewest streets lead across, then each part
again, and so on; streets that a cut crosses are more important than all that lie beside it. Cutting
streets, not junctions, and dissecting the junctions, not the turns between streets, is both quicker
and gives smaller hierarchies (V. Buchhold, D. Wagner, T. Zeitz and M. Zündorf, Customizable
contraction hierarchies with turn costs, ATMOS 2020). A cut is the least one between the quarter of
the junctions that lie furthest to one side and the quarter furthest to the other: A. Schild and
C. Sommer, On balanced separators in road networks, SEA 2015 (inertial flow).
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from dispatch.compiled import compiler

if TYPE_CHECKING:
    import numpy.typing as npt

    from dispatch.drive.graph import RoadMap

    Ints = npt.NDArray[np.int32]
    Longs = npt.NDArray[np.int64]
    Floats = npt.NDArray[np.float64]
    Flags = npt.NDArray[np.bool_]
    Net = tuple[Longs, Ints, Ints, Ints]  # first, there, width, twin
    Work = tuple[Ints, Ints, Ints, Longs, Longs, Flags]  # part, flow, level, step, queue, goal

compiled = compiler(Path(__file__).parent, "dissect")

SHARE = 0.25  # of the junctions, fixed on either side of a cut; as in the article above
WAYS = 4  # directions in which a cut is tried: west to east, south to north and between them
LARGE = 20_000  # junctions from which two must do: a try takes a second then, and gains 1 %
DEPTH = 400  # parts that wait to be cut; each cut leaves a quarter on either side, so 100 are ample


def street_ranks(road_map: RoadMap) -> Longs:
    """Return the rank of each directed edge, from 0; the two directions of a street are together.

    Parameters
    ----------
    road_map
        The streets. The same map gives the same ranks.
    """
    count = len(road_map.node_lat)
    low = np.minimum(road_map.tail, road_map.head).astype(np.int64)
    high = np.maximum(road_map.tail, road_map.head).astype(np.int64)
    pair, street, edges = np.unique(low * count + high, return_inverse=True, return_counts=True)
    ends = np.column_stack(np.divmod(pair, count)).astype(np.int32)
    east = road_map.node_lon * np.cos(np.radians(np.median(road_map.node_lat)))
    net, street_of = _net(count, ends, edges.astype(np.int32))
    importance = _dissect(net, street_of, len(pair), east, road_map.node_lat)
    rank = np.empty(len(street), dtype=np.int64)
    rank[np.argsort(importance[street], kind="stable")] = np.arange(len(street))
    return rank


def _net(count: int, ends: Ints, width: Ints) -> tuple[Net, Ints]:
    """Return the streets by junction: where they begin, the other end, width and twin; which.

    Those of junction v are `first[v]` to `first[v + 1]`. The width is the number of directed edges
    of a street, its twin the same street from its other end. Streets from a junction to itself are
    left out: nothing cuts them.
    """
    street = np.flatnonzero(ends[:, 0] != ends[:, 1]).astype(np.int32)
    here = np.concatenate([ends[street, 0], ends[street, 1]])
    order = np.argsort(here, kind="stable")
    place = np.empty(len(order), dtype=np.int32)
    place[order] = np.arange(len(order))
    twin = np.concatenate([place[len(street) :], place[: len(street)]])[order]
    there = np.concatenate([ends[street, 1], ends[street, 0]])[order]
    first = np.concatenate([[0], np.cumsum(np.bincount(here, minlength=count))])
    of = np.concatenate([street, street])[order]
    return (first.astype(np.int64), there, width[of], twin), of


@compiled
def _dissect(
    net: Net, street: Ints, streets: int, east: Floats, north: Floats
) -> Longs:  # pragma: no cover
    """Return the importance of each street: 0 the least."""
    first, there, _, _ = net
    count = len(first) - 1
    part = np.zeros(count, dtype=np.int32)
    work = (
        part,
        np.zeros(len(there), dtype=np.int32),
        np.zeros(count, dtype=np.int32),
        np.zeros(count, dtype=np.int64),
        np.zeros(count, dtype=np.int64),
        np.zeros(count, dtype=np.bool_),
    )
    importance = np.full(streets, -1, dtype=np.int64)
    order = np.arange(count)
    begins, ends = np.zeros(DEPTH, dtype=np.int64), np.zeros(DEPTH, dtype=np.int64)
    ends[0], waiting, parts, unranked = count, 1, 1, streets
    while waiting:
        waiting -= 1
        begin, end = begins[waiting], ends[waiting]
        if end - begin < 2:
            continue
        nodes = order[begin:end].copy()
        far = part[nodes[0]]
        near = _best_cut(nodes, net, work, east, north)
        middle = begin + near.sum()
        order[begin:middle], order[middle:end] = nodes[near], nodes[~near]
        part[order[begin:middle]] = parts
        parts += 1
        for v in order[begin:middle]:
            for a in range(first[v], first[v + 1]):
                if part[there[a]] == far and importance[street[a]] < 0:
                    unranked -= 1
                    importance[street[a]] = unranked
        begins[waiting], ends[waiting] = begin, middle
        begins[waiting + 1], ends[waiting + 1] = middle, end
        waiting += 2
    for s in range(streets):  # those from a junction to itself
        if importance[s] < 0:
            unranked -= 1
            importance[s] = unranked
    return importance


@compiled
def _best_cut(
    nodes: Longs, net: Net, work: Work, east: Floats, north: Floats
) -> Flags:  # pragma: no cover
    """Return which junctions of a part lie on the near side of the best of some cuts."""
    level = work[2]
    best = np.arange(len(nodes)) < len(nodes) // 2  # for junctions that all lie in one place
    least = np.inf
    k = min(int(SHARE * len(nodes)), len(nodes) // 2 - 1)
    for way in range(0, WAYS, 2 if len(nodes) > LARGE else 1):
        turn = np.pi * way / WAYS
        across = east[nodes] * np.cos(turn) + north[nodes] * np.sin(turn)
        low = np.partition(across, k)[k]
        high = np.partition(across, len(nodes) - 1 - k)[len(nodes) - 1 - k]
        if low == high:
            continue
        width = _least_cut(nodes, nodes[across <= low], nodes[across >= high], net, work)
        near = level[nodes] >= 0
        cost = width / min(near.sum(), len(nodes) - near.sum())
        if cost < least:
            best, least = near, cost
    return best


@compiled
def _least_cut(
    nodes: Longs, sources: Longs, sinks: Longs, net: Net, work: Work
) -> int:  # pragma: no cover
    """Return the width of the least cut; afterwards `level` is 0 or more on the sources' side.

    Blocking flows by shortest ways: E. A. Dinic, Soviet Mathematics Doklady 11, 1970.
    """
    first, there, _, _ = net
    part, flow, level, step, _, goal = work
    mine = part[nodes[0]]
    level[nodes] = -1
    level[sources] = 0
    for v in nodes:
        flow[first[v] : first[v + 1]] = 0
        goal[v] = False
    goal[sinks] = True
    edge = np.empty(len(sources), dtype=np.int64)
    starts = 0
    for v in sources:  # those that lie between sources alone lead nowhere
        for w in there[first[v] : first[v + 1]]:
            if part[w] == mine and level[w] < 0:
                edge[starts] = v
                starts += 1
                break
    total = 0
    while _levels(nodes, sources, edge[:starts], net, work):
        for v in nodes:
            step[v] = first[v]
        for source in edge[:starts]:
            total += _push(source, net, work)
    return total


@compiled
def _levels(
    nodes: Longs, sources: Longs, starts: Longs, net: Net, work: Work
) -> bool:  # pragma: no cover
    """Count streets from the sources to each junction; return whether a sink can be reached.

    Also beyond the nearest sinks: flow to the others then comes with fewer counts.
    """
    first, there, width, _ = net
    part, flow, level, _, queue, goal = work
    mine = part[nodes[0]]
    level[nodes] = -1
    level[sources] = 0
    queue[: len(starts)] = starts
    taken, filled, found = 0, len(starts), False
    while taken < filled:
        v = queue[taken]
        taken += 1
        for a in range(first[v], first[v + 1]):
            w = there[a]
            if part[w] == mine and level[w] < 0 and flow[a] < width[a]:
                level[w] = level[v] + 1
                if goal[w]:
                    found = True
                else:
                    queue[filled] = w
                    filled += 1
    return found


@compiled
def _push(source: int, net: Net, work: Work) -> int:  # pragma: no cover
    """Push what can be pushed from a source to the sinks, one street further at each step."""
    first, there, width, twin = net
    part, flow, level, step, trail, goal = work
    mine = part[source]
    total, depth, v = 0, 0, source
    while True:
        if goal[v]:
            room = np.iinfo(np.int32).max
            for a in trail[:depth]:
                room = min(room, width[a] - flow[a])
            for a in trail[:depth]:
                flow[a] += room
                flow[twin[a]] -= room
            total, depth, v = total + room, 0, source
        while step[v] < first[v + 1]:
            a = step[v]
            w = there[a]
            if part[w] == mine and level[w] == level[v] + 1 and flow[a] < width[a]:
                break
            step[v] += 1
        if step[v] < first[v + 1]:
            trail[depth] = step[v]
            depth, v = depth + 1, there[step[v]]
        elif depth:
            depth -= 1
            v = there[twin[trail[depth]]]
            step[v] += 1
        else:
            return total
