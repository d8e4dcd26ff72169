"""The contraction hierarchy against pyroutingkit's own queries."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from pyroutingkit import CCHMetric, CCHTopology
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra

from dispatch.drive.graph import RoadMap
from dispatch.drive.hierarchy import hierarchy, stored_hierarchy
from dispatch.drive.search import least_costs
from dispatch.drive.sweep import least_costs_by_hierarchy
from dispatch.drive.turn_graph import SHIFT, Ends, turn_graph
from dispatch.errors import InvalidValue, OffStreet


def test_times_equal_those_of_pyroutingkit(helsinki: RoadMap) -> None:
    """Reference: pyroutingkit's many-to-many query on the same turns, in milliseconds."""
    roads, graph = helsinki, turn_graph(helsinki)
    head = roads.head[graph.edge]
    topology = CCHTopology()
    topology.build(
        graph.source.astype(np.uint32),
        graph.target.astype(np.uint32),
        roads.node_lat[head].astype(np.float32),
        roads.node_lon[head].astype(np.float32),
        len(graph.edge),
    )
    metric = CCHMetric(topology)
    metric.customize((graph.cost >> SHIFT).astype(np.uint32))
    nodes = np.arange(0, len(helsinki.tail), 13, dtype=np.uint32)
    theirs = metric.distances_many_to_many(nodes, nodes).astype(np.int64)
    ends = [Ends((int(node),), (0,), (int(graph.edge[node]),)) for node in nodes]
    ours = least_costs_by_hierarchy(hierarchy(graph), ends, ends)
    reached = np.isfinite(ours)
    assert reached.mean() > 0.8
    assert np.array_equal(ours[reached].astype(np.int64) >> SHIFT, theirs[reached])
    assert (theirs[~reached] == np.iinfo(np.int32).max).all()


def test_only_turns_that_are_no_least_cost_are_left_out(helsinki: RoadMap) -> None:
    """Each turn lies in the hierarchy at its own cost or less, or there is a cheaper way round it.

    The costs of the ways round are SciPy's.
    """
    graph = turn_graph(helsinki)
    ready = hierarchy(graph)
    size = (len(graph.edge), len(graph.edge))
    arcs = csr_matrix((graph.cost.astype(np.float64), (graph.source, graph.target)), size)
    least = dijkstra(arcs)
    ways = {}
    for first, higher, cost, turned in (
        (ready.up_first, ready.up_rank, ready.up_cost, False),
        (ready.down_first, ready.down_rank, ready.down_cost, True),
    ):
        low = np.repeat(np.arange(len(ready.rank)), np.diff(first))
        for a, b, c in zip(low.tolist(), higher.tolist(), cost.tolist(), strict=True):
            ways[(b, a) if turned else (a, b)] = c
    for source, target, cost in zip(graph.source, graph.target, graph.cost, strict=True):
        if source == target:
            continue
        arc = (int(ready.rank[source]), int(ready.rank[target]))
        assert ways.get(arc, np.inf) <= cost or least[source, target] < cost
    for (a, b), cost in ways.items():
        source, target = (int(np.flatnonzero(ready.rank == rank)[0]) for rank in (a, b))
        assert cost == least[source, target]


def test_a_hierarchy_is_kept_on_the_disk(helsinki: RoadMap, tmp_path: Path) -> None:
    """It takes minutes for a metropolitan area; a damaged file is made again."""
    graph = turn_graph(helsinki)
    file = tmp_path / "hierarchy.npz"
    made = stored_hierarchy(graph, file)
    kept = stored_hierarchy(graph, file)
    assert kept is not made
    assert np.array_equal(kept.up_cost, made.up_cost)
    assert np.array_equal(kept.down_rank, made.down_rank)
    file.write_bytes(file.read_bytes()[:500])
    assert np.array_equal(stored_hierarchy(graph, file).up_cost, made.up_cost)


def test_a_place_that_cannot_be_reached_is_an_error_in_both_engines(helsinki: RoadMap) -> None:
    """A drive without a way must never pass for a long one."""
    graph = turn_graph(helsinki)
    private = int(np.flatnonzero(helsinki.end_only)[0])
    left = Ends((int(graph.entered[private]),), (0,), (private,))  # entered, so never left
    street = int(np.flatnonzero(~helsinki.end_only)[0])
    for engine in ("scipy", "hierarchy"):
        with pytest.raises(OffStreet, match="1 drives have no way"):
            least_costs(graph, [left], [Ends((street,), (0,), (street,))], engine)


def test_an_unknown_engine_is_refused(helsinki: RoadMap) -> None:
    """The engines are named in the message."""
    with pytest.raises(InvalidValue, match="quicker, scipy, hierarchy"):
        least_costs(turn_graph(helsinki), [], [], "magic")
