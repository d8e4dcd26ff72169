"""Seconds on every edge, by OSMnx, asked once for each kind of edge.

Edges of one class, limit, surface and controls differ only in their length. So OSMnx computes two
edges of each kind, one of no length and one of a kilometre, and the others follow: a metropolitan
area has a million edges, but only some hundreds of kinds.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from dispatch.drive.built_up import built_up
from dispatch.drive.speeds import SpeedModel, add_travel_times

if TYPE_CHECKING:
    import numpy.typing as npt

    from dispatch.drive.extract import Extract

UNIT_M = 1000.0  # length of the longer of the two edges asked for


def drive_seconds(
    extract: Extract,
    piece: npt.NDArray[np.int64],
    against: npt.NDArray[np.bool_],
    model: SpeedModel,
) -> npt.NDArray[np.float64]:
    """Return seconds by edge, without turns; what is passed within the edge is counted.

    Parameters
    ----------
    extract
        The streets.
    piece, against
        By edge: its piece of street, and whether it is driven against its drawing direction.
    model
        Speeds and delays.
    """
    import networkx as nx

    passed = np.where(against, extract.against[piece], extract.along[piece]).astype(np.int64)
    dense = _built_up(extract)[piece]
    code = (extract.street[piece].astype(np.int64) * 2 + against) * 2 + dense
    code = code * len(extract.passed) + passed
    kinds, kind = np.unique(code, return_inverse=True)
    graph = nx.MultiDiGraph(crs="epsg:4326", simplified=True)
    for i, one in enumerate(kinds.tolist()):
        way, controls = divmod(one, len(extract.passed))
        side, is_dense = divmod(way, 2)
        street, back = divmod(side, 2)
        data = _tags(extract, street, back, extract.passed[controls])
        data["built_up"] = bool(is_dense)
        for node in (2 * i, 2 * i + 1):
            graph.add_node(node, x=0.0, y=0.0)
        for length_m in (0.0, UNIT_M):
            graph.add_edge(2 * i, 2 * i + 1, key=int(length_m), length=length_m, **data)
    timed = add_travel_times(graph, model)
    begin_s, end_s = (
        np.array([timed.edges[2 * i, 2 * i + 1, key]["travel_time"] for i in range(len(kinds))])
        for key in (0, int(UNIT_M))
    )
    share = extract.length_m[piece] / UNIT_M
    seconds: npt.NDArray[np.float64] = begin_s[kind] + (end_s - begin_s)[kind] * share
    return seconds


def _built_up(extract: Extract) -> npt.NDArray[np.bool_]:
    """Return by piece whether it lies where streets are dense."""
    ends = (extract.tail, extract.head)
    lon, lat = (
        (of_node[ends[0]] + of_node[ends[1]]) / 2
        for of_node in (extract.node_lon, extract.node_lat)
    )
    return built_up(lon, lat, extract.length_m.astype(np.float64))


def _tags(extract: Extract, street: int, back: int, controls: tuple[str, ...]) -> dict[str, Any]:
    kind = extract.streets[street]
    maxspeed = kind.maxspeed_backward if back else kind.maxspeed
    optional = {"maxspeed": maxspeed, "surface": kind.surface, "controls": controls}
    given = {key: value for key, value in optional.items() if value}
    flags = {"oneway": kind.forward != kind.backward, "end_only": kind.end_only}
    return {"highway": kind.highway, **flags, **given}
