"""Which places are within some minutes of another: an isochrone, told by its places."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse.csgraph import dijkstra

from dispatch.drive.search import with_departures
from dispatch.drive.turn_graph import SHIFT, along_one_edge, arrivals, departures, turn_graph
from dispatch.errors import InvalidValue
from dispatch.words import _

if TYPE_CHECKING:
    from collections.abc import Mapping

    from dispatch.drive.graph import RoadMap
    from dispatch.drive.snap import Snap


@dataclass(frozen=True, slots=True)
class Reached:
    """A place, and the drive to it: seconds and metres."""

    place: str
    drive_s: int
    drive_m: int


def within(
    road_map: RoadMap, start: Snap, places: Mapping[str, Snap], limit_s: int
) -> list[Reached]:
    """Return the places that are reached from the start in time, the nearest first.

    Times are those of the matrix, to the second; equal ones are ordered by id. The search goes no
    further than the limit.

    Raises
    ------
    InvalidValue
        When the limit is negative.
    """
    if limit_s < 0:
        raise InvalidValue(
            _("A limit of {limit} s is no time; give 0 or more.").format(limit=limit_s)
        )
    graph = turn_graph(road_map)
    most = ((limit_s * 1000 + 500) << SHIFT) - 1  # milliseconds that still round to the limit
    arcs = with_departures(graph, [departures(road_map, start)])
    reached = dijkstra(arcs, indices=len(graph.edge), limit=float(most))
    found = []
    for place, snap in places.items():
        ends = arrivals(road_map, snap)
        costs = reached[list(ends.nodes)] + np.array(ends.costs, dtype=np.float64)
        cost = min([float(costs.min()), *along_one_edge(road_map, start, snap).values()])
        if cost <= most:
            drive_ms, length_dm = divmod(int(cost), 1 << SHIFT)
            found.append(Reached(place, (drive_ms + 500) // 1000, (length_dm + 5) // 10))
    return sorted(found, key=lambda one: (one.drive_s, one.place))
