"""The contraction hierarchy against pyroutingkit's own queries."""

from __future__ import annotations

import numpy as np
import pytest
from pyroutingkit import CCHMetric, CCHTopology

from dispatch.drive.graph import RoadMap
from dispatch.drive.hierarchy import NEVER, hierarchy, least_costs_by_hierarchy
from dispatch.drive.search import least_costs
from dispatch.drive.turn_graph import SHIFT, Ends, turn_graph
from dispatch.errors import InvalidValue, OffStreet


def test_times_equal_those_of_pyroutingkit(helsinki: RoadMap) -> None:
    """Reference: pyroutingkit's many-to-many query on the same turns, in milliseconds."""
    graph = turn_graph(helsinki)
    topology = CCHTopology()
    topology.build(
        graph.source.astype(np.uint32),
        graph.target.astype(np.uint32),
        graph.lat.astype(np.float32),
        graph.lon.astype(np.float32),
        len(graph.edge),
    )
    metric = CCHMetric(topology)
    metric.customize((graph.cost >> SHIFT).astype(np.uint32))
    nodes = np.arange(0, len(helsinki.tail), 13, dtype=np.uint32)
    theirs = metric.distances_many_to_many(nodes, nodes).astype(np.int64)
    ends = [Ends((int(node),), (0,), (int(graph.edge[node]),)) for node in nodes]
    ours = least_costs_by_hierarchy(graph, ends, ends)
    reached = ours < NEVER
    assert reached.mean() > 0.8
    assert np.array_equal(ours[reached] >> SHIFT, theirs[reached])
    assert (theirs[~reached] == np.iinfo(np.int32).max).all()


def test_the_hierarchy_holds_every_turn(helsinki: RoadMap) -> None:
    """Each turn of the graph lies in the hierarchy at its own cost or less."""
    graph = turn_graph(helsinki)
    ready = hierarchy(graph)
    for source, target, cost in zip(graph.source, graph.target, graph.cost, strict=True):
        a, b = ready.rank[source], ready.rank[target]
        if a == b:
            continue
        row = slice(ready.first[min(a, b)], ready.first[min(a, b) + 1])
        k = row.start + int(np.searchsorted(ready.higher[row], max(a, b)))
        assert ready.higher[k] == max(a, b)
        assert (ready.up if a < b else ready.down)[k] <= cost


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
