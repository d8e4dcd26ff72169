"""The line of a leg along the streets, from place to place: the way whose time the matrix tells."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse.csgraph import dijkstra

from dispatch.drive.search import with_departures
from dispatch.drive.turn_graph import along_one_edge, arrivals, departures, fraction_on, turn_graph
from dispatch.errors import OffStreet
from dispatch.words import _

if TYPE_CHECKING:
    import numpy.typing as npt

    from dispatch.drive.graph import RoadMap
    from dispatch.drive.snap import Snap

    Line = list[tuple[float, float]]
    Floats = npt.NDArray[np.float64]


def leg_line(road_map: RoadMap, start: Snap, end: Snap) -> Line:
    """Return the line of the quickest drive, cut to begin and end at the places' own points.

    Raises
    ------
    OffStreet
        When the places lie on another map than this one.
    """
    edges = leg_edges(road_map, start, end)
    if len(edges) == 1:
        parts = [_cut(road_map, edges[0], fraction_on(start, edges[0]), fraction_on(end, edges[0]))]
    else:
        parts = [_cut(road_map, edges[0], fraction_on(start, edges[0]), 1.0)]
        parts += [road_map.line(edge) for edge in edges[1:-1]]
        parts += [_cut(road_map, edges[-1], 0.0, fraction_on(end, edges[-1]))]
    points = np.concatenate(parts)
    fresh = np.concatenate([[True], (np.diff(points, axis=0) != 0).any(axis=1)])
    line = [(float(lon), float(lat)) for lon, lat in points[fresh]]
    return line if len(line) > 1 else line * 2


def leg_edges(road_map: RoadMap, start: Snap, end: Snap) -> list[int]:
    """Return the street edges of the quickest drive, in order, first and last cut by the places.

    A single edge means that the drive goes straight along it.
    """
    graph = turn_graph(road_map)
    begin, finish = departures(road_map, start), arrivals(road_map, end)
    straight = along_one_edge(road_map, start, end)
    origin = len(graph.edge)
    cost, before = dijkstra(
        with_departures(graph, [begin]), indices=origin, return_predecessors=True
    )
    reached = cost[list(finish.nodes)] + np.array(finish.costs, dtype=np.float64)
    best = int(np.argmin(reached))
    if straight and min(straight.values()) <= reached[best]:
        return [min(straight, key=lambda edge: straight[edge])]
    if not np.isfinite(reached[best]):
        raise OffStreet(
            _(
                "There is no way from {street} to {other_street}. The places were put on another "
                "map than this one; put them on the streets again."
            ).format(street=start.street, other_street=end.street)
        )
    edges = [finish.edges[best]]
    node = finish.nodes[best]
    while node != origin:
        edges.append(int(graph.edge[node]))
        node = int(before[node])
    return edges[::-1]


def _cut(road_map: RoadMap, edge: int, begin: float, end: float) -> Floats:
    """Return the part of an edge between two shares of its length, rows of lon, lat.

    Lengths are taken in a plane stretched by the latitude of the edge, as good as exact for
    the length of a street.
    """
    line = road_map.line(edge)
    stretch = np.array([np.cos(np.radians(line[0, 1])), 1.0])
    step = np.linalg.norm(np.diff(line, axis=0) * stretch, axis=1)
    at = np.concatenate([[0.0], np.cumsum(step)]) / step.sum()
    inner = line[(at > begin) & (at < end)]
    first, last = (
        [np.interp(share, at, line[:, axis]) for axis in (0, 1)] for share in (begin, end)
    )
    return np.vstack([first, inner, last])
