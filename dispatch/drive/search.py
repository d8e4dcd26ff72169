"""Least costs from many places to many places, by either of two engines with equal results."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra

from dispatch.errors import InvalidValue, OffStreet
from dispatch.words import _

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from dispatch.drive.hierarchy import Hierarchy
    from dispatch.drive.turn_graph import Ends, TurnGraph

    Longs = npt.NDArray[np.int64]
    Floats = npt.NDArray[np.float64]

ENGINES = ("quicker", "scipy", "hierarchy")
# Searches times nodes up to which SciPy's plain ones take less than about half a second, less than
# setting up a hierarchy for the first time; measured on one core.
SEARCHED_AT_ONCE = 5_000_000
CELLS_AT_ONCE = 16_000_000  # cells of 8 bytes that one batch of searches may hold: 128 MB


def least_costs(
    graph: TurnGraph,
    departures: Sequence[Ends],
    arrivals: Sequence[Ends],
    engine: str = "quicker",
    ready: Hierarchy | None = None,
) -> Longs:
    """Return the least cost of each drive; row = departure, column = arrival.

    Parameters
    ----------
    graph
        The graph.
    departures, arrivals
        The places.
    engine
        'scipy' (Dijkstra searches from the departures, or back from the arrivals, whichever are
        fewer), 'hierarchy' (a contraction hierarchy), or 'quicker': the second for much work and
        where `ready` is given, the first for little. All give the same costs.
    ready
        The hierarchy of the graph, if it is at hand; made if needed.

    Raises
    ------
    OffStreet
        When a place cannot be reached; places on the core of a map always can.
    """
    if engine not in ENGINES:
        raise InvalidValue(
            _("There is no engine {engine!r}; there are {engines}.").format(
                engine=engine, engines=", ".join(ENGINES)
            )
        )
    if not departures or not arrivals:
        return np.zeros((len(departures), len(arrivals)), dtype=np.int64)
    much = is_much(graph, len(departures), len(arrivals))
    if engine == "hierarchy" or (engine == "quicker" and (much or ready is not None)):
        from dispatch.drive.hierarchy import hierarchy
        from dispatch.drive.sweep import least_costs_by_hierarchy

        return _reached(least_costs_by_hierarchy(ready or hierarchy(graph), departures, arrivals))
    if len(arrivals) < len(departures):
        return _reached(_by_dijkstra(_reversed(graph), arrivals, departures).T)
    return _reached(_by_dijkstra(graph, departures, arrivals))


def is_much(graph: TurnGraph, departures: int, arrivals: int) -> bool:
    """Return whether a hierarchy, made for it, is quicker than plain searches."""
    return min(departures, arrivals) * len(graph.edge) > SEARCHED_AT_ONCE


def _reversed(graph: TurnGraph) -> TurnGraph:
    """Return the graph with its arcs turned round, for searches alone: `into` is not made anew."""
    return replace(graph, source=graph.target, target=graph.source)


def with_departures(graph: TurnGraph, departures: Sequence[Ends]) -> csr_matrix:
    """Return the arcs with one more node for each departure, numbered after the graph's own."""
    count = len(graph.edge)
    first = [node for ends in departures for node in ends.nodes]
    begin = np.repeat(np.arange(len(departures)), [len(ends.nodes) for ends in departures])
    source = np.concatenate([graph.source, count + begin])
    target = np.concatenate([graph.target, np.array(first, dtype=np.int64)])
    cost = np.concatenate([graph.cost, [cost for ends in departures for cost in ends.costs]])
    size = count + len(departures)
    return csr_matrix((cost.astype(np.float64), (source, target)), shape=(size, size))


def _by_dijkstra(graph: TurnGraph, departures: Sequence[Ends], arrivals: Sequence[Ends]) -> Floats:
    """Search with SciPy from each departure."""
    arcs = with_departures(graph, departures)
    node = np.array([node for ends in arrivals for node in ends.nodes], dtype=np.int64)
    rest = np.array([cost for ends in arrivals for cost in ends.costs], dtype=np.float64)
    counts = [len(ends.nodes) for ends in arrivals]
    first = np.cumsum([0, *counts[:-1]])
    rows = []
    batch = max(1, CELLS_AT_ONCE // arcs.shape[0])
    for begin in range(0, len(departures), batch):
        end = min(begin + batch, len(departures))
        origins = np.arange(begin, end) + len(graph.edge)
        reached = dijkstra(arcs, indices=origins)[:, node] + rest
        rows.append(np.minimum.reduceat(reached, first, axis=1))
    return np.concatenate(rows)


def _reached(cost: Floats) -> Longs:
    """Return whole costs; a drive without a way is an error, never a large number."""
    lost = ~np.isfinite(cost)
    if lost.any():
        raise OffStreet(
            _(
                "{sum:,} drives have no way. The places were put on another map than this one; "
                "put them on the streets again."
            ).format(sum=int(lost.sum()))
        )
    return cost.astype(np.int64)
