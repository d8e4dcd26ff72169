"""The graph that drives are searched in: a node is a directed street edge driven to its end.

An arc is an allowed turn; it costs the turn's delay and the whole of the next edge. Streets that
may only begin or end a drive stand in the graph twice: once for leaving them (before any open
street) and once for entering them (after the last open street); from the second there is no way
back to open streets, so that nobody drives through. So does a street again that a turn rule leads
by way of: once for each way of coming to it that binds where the drive goes on.

A cost is one integer, milliseconds · 2^24 + decimetres. The least cost is thus the shortest time
and, among equally short times, the shortest way, and both are read from one number. Sums are exact
in the floating-point numbers of SciPy up to 2^53, which is six days of driving; the lower part
holds 1,677 km.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from dispatch.drive.graph import RoadMap
    from dispatch.drive.snap import Snap

    Ints = npt.NDArray[np.int32]
    Longs = npt.NDArray[np.int64]

SHIFT = 24  # bits for the decimetres of a cost


@dataclass(frozen=True, slots=True, eq=False)
class TurnGraph:
    """Arcs sorted by their target: those into node v are `into[v]` to `into[v + 1]`.

    The first nodes are the street edges of `roads`, then their copies (`RoadMap.copy_of`). `edge`
    is the street edge of each node; `entered`, for each of them, the second node of one that may
    only begin or end a drive, -1 for every other.
    """

    roads: RoadMap
    edge: Ints
    entered: Longs
    into: Longs
    source: Ints
    target: Ints
    cost: Longs


@dataclass(frozen=True, slots=True)
class Ends:
    """Where a search begins or ends: nodes, and the cost from the place to each or back."""

    nodes: tuple[int, ...]
    costs: tuple[int, ...]
    edges: tuple[int, ...]  # the street edge of the place itself


@lru_cache(maxsize=2)
def turn_graph(road_map: RoadMap) -> TurnGraph:
    """Return the graph of a road map; kept for the two maps asked for last."""
    count = len(road_map.tail)
    edge: Ints = np.concatenate([np.arange(count, dtype=np.int32), road_map.copy_of])
    ends = road_map.end_only[edge]
    end_only = np.flatnonzero(ends)
    entered = np.full(len(edge), -1, dtype=np.int64)
    entered[end_only] = len(edge) + np.arange(len(end_only))
    source, target = road_map.turn_source, road_map.turn_target
    cost = pack(road_map.turn_ms, 0)
    cost += pack(road_map.drive_ms, road_map.length_dm)[edge[target]]
    arcs: list[tuple[Any, ...]] = [
        (source, target, cost, ~ends[target] | ends[source]),
        (source, entered[target], cost, ~ends[source] & ends[target]),
        (entered[source], entered[target], cost, ends[source] & ends[target]),
    ]
    source, target, cost = (
        np.concatenate([arc[part][arc[3]] for arc in arcs]) for part in range(3)
    )
    order = np.lexsort((source, target))
    edge = np.concatenate([edge, edge[end_only]])
    into = np.concatenate([[0], np.cumsum(np.bincount(target, minlength=len(edge)))])
    return TurnGraph(
        road_map,
        edge,
        entered,
        into,
        source[order].astype(np.int32),
        target[order].astype(np.int32),
        cost[order],
    )


def pack(drive_ms: npt.NDArray[np.int32], length_dm: npt.NDArray[np.int32] | int) -> Longs:
    """Return costs from milliseconds and decimetres."""
    packed: Longs = (drive_ms.astype(np.int64) << SHIFT) + length_dm
    return packed


def unpack(cost: Longs) -> tuple[Longs, Longs]:
    """Return milliseconds and decimetres of costs."""
    return cost >> SHIFT, cost & ((1 << SHIFT) - 1)


def offset(road_map: RoadMap, snap: Snap, edge: int) -> int:
    """Return the cost from the tail of `edge` to the place; `edge` is the snap's or its twin."""
    fraction = fraction_on(snap, edge)
    drive_ms = round(fraction * int(road_map.drive_ms[edge]))
    length_dm = round(fraction * int(road_map.length_dm[edge]))
    return (drive_ms << SHIFT) + length_dm


def directions(road_map: RoadMap, snap: Snap) -> tuple[int, ...]:
    """Return the directed edges on which a place lies: one on a one-way street, else two."""
    twin = int(road_map.twin[snap.edge])
    return (snap.edge,) if twin < 0 else (snap.edge, twin)


def departures(road_map: RoadMap, snap: Snap) -> Ends:
    """Return the nodes first reached from a place, with the rest of its edge as cost."""
    edges = directions(road_map, snap)
    whole = pack(road_map.drive_ms[list(edges)], road_map.length_dm[list(edges)])
    costs = tuple(
        int(cost) - offset(road_map, snap, edge) for edge, cost in zip(edges, whole, strict=True)
    )
    return Ends(edges, costs, edges)


def arrivals(road_map: RoadMap, snap: Snap) -> Ends:
    """Return the nodes just before a place, with the turn and the part of its edge as cost.

    Ending on the turn into the edge, not on the edge's own node, makes a drive that begins further
    along the same one-way edge go round the block.
    """
    graph = turn_graph(road_map)
    nodes: list[int] = []
    costs: list[int] = []
    edges: list[int] = []
    for edge in directions(road_map, snap):
        whole = int(pack(road_map.drive_ms[[edge]], road_map.length_dm[[edge]])[0])
        part = offset(road_map, snap, edge) - whole
        for node in _finished(road_map, edge):
            arcs = slice(int(graph.into[node]), int(graph.into[node + 1]))
            nodes += graph.source[arcs].tolist()
            costs += (graph.cost[arcs] + part).tolist()
            edges += [edge] * (arcs.stop - arcs.start)
    return Ends(tuple(nodes), tuple(costs), tuple(edges))


def _finished(road_map: RoadMap, edge: int) -> list[int]:
    """Return the nodes that are a drive to the end of an edge, however it was reached."""
    entered = turn_graph(road_map).entered
    plain = [edge]
    if len(road_map.copy_of):
        plain += (np.flatnonzero(road_map.copy_of == edge) + len(road_map.tail)).tolist()
    return plain + [int(entered[node]) for node in plain if entered[node] >= 0]


def along_one_edge(road_map: RoadMap, start: Snap, end: Snap) -> dict[int, int]:
    """Return the cost of driving straight from place to place by each edge that passes both."""
    costs = {}
    for edge in directions(road_map, start):
        if edge in directions(road_map, end):
            cost = offset(road_map, end, edge) - offset(road_map, start, edge)
            if fraction_on(end, edge) >= fraction_on(start, edge):
                costs[edge] = max(cost, 0)
    return costs


def fraction_on(snap: Snap, edge: int) -> float:
    """Return the share of `edge` before the place; `edge` is the snap's or its twin."""
    return snap.fraction if edge == snap.edge else 1 - snap.fraction
