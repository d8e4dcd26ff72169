"""From OSMnx's graph to the arrays of a road map."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components

from dispatch.drive.graph import MapSummary, RoadMap, digest_of
from dispatch.drive.speeds import CLASS_KMH, SpeedModel, add_travel_times
from dispatch.drive.turns import Streets, Turns, allowed_turns
from dispatch.errors import NoStreets

if TYPE_CHECKING:
    import numpy.typing as npt

    from dispatch.drive.osm import Extract

    Ints = npt.NDArray[np.int64]
    Flags = npt.NDArray[np.bool_]

KINDS = tuple(CLASS_KMH)


def compact(extract: Extract, model: SpeedModel, source: str) -> RoadMap:
    """Return the drivable core of an extract as arrays.

    The core is the largest strongly connected part of the graph (NetworkX, through OSMnx), less the
    few edges that turn rules cut off from it.

    Parameters
    ----------
    extract
        What was read.
    model
        Speeds and delays.
    source
        Name of the file, for the summary.

    Raises
    ------
    NoStreets
        When no street can be driven both to and from.
    """
    import osmnx

    whole = add_travel_times(extract.graph, model)
    core = osmnx.truncate.largest_component(whole, strongly=True)
    edges = sorted(core.edges(keys=True))
    if not edges:
        raise _no_way_back(source)
    data = [core.edges[edge] for edge in edges]
    node_ids = sorted(core.nodes)
    node_of = {node: i for i, node in enumerate(node_ids)}
    streets = _streets(edges, data, node_of)
    controls = [core.nodes[node].get("control", "") for node in node_ids]
    gates = [core.nodes[node].get("gate", "") for node in node_ids]
    known_ways = frozenset(way for _, _, way in whole.edges(data="osmid"))
    turns = allowed_turns(streets, controls, gates, extract.turn_rules, node_of, known_ways, model)
    kept, end_only, taken = _settle(streets, turns)
    turns = _renumbered(turns, kept, taken)
    if len(turns.source) == 0:
        raise _no_way_back(source)
    lost = [d for d, keep in zip(data, kept, strict=True) if not keep]
    lost += [d for u, v, k, d in whole.edges(keys=True, data=True) if not core.has_edge(u, v, k)]
    arrays = _edge_arrays(streets, data, turns, kept, end_only)
    arrays["node_lon"] = np.array([core.nodes[node]["x"] for node in node_ids])
    arrays["node_lat"] = np.array([core.nodes[node]["y"] for node in node_ids])
    kept_data = [d for d, keep in zip(data, kept, strict=True) if keep]
    return _road_map(extract, source, arrays, kept_data, lost)


def _no_way_back(source: str) -> NoStreets:
    return NoStreets(
        f"{source} holds no two streets that lead to each other and back. Export a larger area."
    )


def _streets(
    edges: list[tuple[int, int, int]], data: list[dict[str, Any]], node_of: dict[int, int]
) -> Streets:
    starts, shape = _shapes(data)
    return Streets(
        tail=np.array([node_of[u] for u, _, _ in edges], dtype=np.int64),
        head=np.array([node_of[v] for _, v, _ in edges], dtype=np.int64),
        twin=_twins(data),
        way=np.array([d["osmid"] for d in data], dtype=np.int64),
        leaves_deg=_bearing_deg(shape[starts[:-1]], shape[starts[:-1] + 1]),
        arrives_deg=_bearing_deg(shape[starts[1:] - 2], shape[starts[1:] - 1]),
        end_only=np.array([d["end_only"] for d in data], dtype=np.bool_),
    )


def _shapes(data: list[dict[str, Any]]) -> tuple[Ints, npt.NDArray[np.float64]]:
    lines = np.array([d["geometry"] for d in data], dtype=object)
    count = shapely.get_num_coordinates(lines) if len(lines) else np.zeros(0, dtype=np.int64)
    starts = np.concatenate([[0], np.cumsum(count)]).astype(np.int64)
    return starts, shapely.get_coordinates(lines)


def _twins(data: list[dict[str, Any]]) -> Ints:
    """Return the number of the opposite edge of the same piece of a way, or -1."""
    twin = np.full(len(data), -1, dtype=np.int64)
    seen: dict[Any, int] = {}
    for edge, d in enumerate(data):
        other = seen.setdefault((d["osmid"], d["piece"]), edge)
        if other != edge:
            twin[edge], twin[other] = other, edge
    return twin


def _bearing_deg(
    start: npt.NDArray[np.float64], end: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """Return compass bearings of short segments of lon, lat rows."""
    east = (end[:, 0] - start[:, 0]) * np.cos(np.radians(start[:, 1]))
    return np.degrees(np.arctan2(east, end[:, 1] - start[:, 1]))


def _strong_edges(turns: Turns, usable: Flags, passable: Flags) -> Flags:
    """Return which usable edges lie in the largest part where each is reached from each."""
    count = len(usable)
    between = passable & usable[turns.source] & usable[turns.target]
    ends = (turns.source[between], turns.target[between])
    arcs = csr_matrix((np.ones(len(ends[0]), dtype=np.int8), ends), shape=(count, count))
    _, part = connected_components(arcs, connection="strong")
    size = np.bincount(part[usable], minlength=int(part.max()) + 1)
    strong: Flags = usable & (part == np.argmax(size))
    return strong


def _turns_with_a_way_on(turns: Turns, edge_count: int) -> Flags:
    """Return the turns that are taken so that no truck is stuck: a spare turn where none leads on.

    A turn leads on if the edge behind it does; turn rules and the edge of the map leave some that
    do not.
    """
    taken = ~turns.spare
    leads_on = np.ones(edge_count, dtype=np.bool_)
    while True:
        used = turns.source[taken & leads_on[turns.target]]
        still = np.bincount(used, minlength=edge_count) > 0
        about = turns.spare & ~taken & ~still[turns.source]
        if not about.any() and np.array_equal(still, leads_on):
            return taken
        taken |= about
        leads_on = np.ones_like(still) if about.any() else still


def _settle(streets: Streets, turns: Turns) -> tuple[Flags, Flags, Flags]:
    """Return which edges are kept, which only begin or end a drive, and which turns are taken.

    Spare turns are also taken between the two directions of a street of which one alone would be
    kept. An open street that is reached only through private ones counts as private too, and nobody
    drives through a private gate from one open street to another. Where everything is private,
    nothing is.
    """
    taken = _turns_with_a_way_on(turns, len(streets.tail))
    everything = np.ones(len(streets.tail), dtype=np.bool_)
    kept = _strong_edges(turns, everything, taken)
    taken |= turns.spare & (kept[turns.source] != kept[turns.target])
    kept = _strong_edges(turns, everything, taken)
    usable = kept & ~streets.end_only
    if not usable.any():
        return kept, np.zeros_like(kept), taken
    through = _strong_edges(turns, usable, taken & ~turns.private_gate)
    open_ends = usable[turns.source] & usable[turns.target]
    taken |= turns.spare & open_ends & (through[turns.source] != through[turns.target])
    through = _strong_edges(turns, usable, taken & ~turns.private_gate)
    taken &= ~(turns.private_gate & through[turns.source] & through[turns.target])
    return kept, kept & ~through, taken


def _renumbered(turns: Turns, kept: Flags, taken: Flags) -> Turns:
    """Return the turns that are taken between kept edges, with edges numbered anew."""
    number = np.cumsum(kept) - 1
    stay = taken & kept[turns.source] & kept[turns.target]
    return Turns(
        number[turns.source[stay]],
        number[turns.target[stay]],
        turns.delay_ms[stay],
        turns.private_gate[stay],
        turns.spare[stay],
    )


def _edge_arrays(
    streets: Streets, data: list[dict[str, Any]], turns: Turns, kept: Flags, end_only: Flags
) -> dict[str, npt.NDArray[Any]]:
    number = np.cumsum(kept) - 1
    twin = streets.twin[kept]
    has_twin = (twin >= 0) & kept[twin]
    stayed = [d for d, keep in zip(data, kept, strict=True) if keep]
    starts, shape = _shapes(stayed)
    drive_ms = np.maximum(1, np.rint([d["travel_time"] * 1000 for d in stayed]))
    length_dm = np.maximum(1, np.rint([d["length"] * 10 for d in stayed]))
    return {
        "tail": streets.tail[kept].astype(np.int32),
        "head": streets.head[kept].astype(np.int32),
        "drive_ms": drive_ms.astype(np.int32),
        "length_dm": length_dm.astype(np.int32),
        "twin": np.where(has_twin, number[twin], -1).astype(np.int32),
        "kind": np.array([KINDS.index(d["highway"]) for d in stayed], dtype=np.int32),
        "end_only": end_only[kept],
        "stopping": np.array([d["stopping"] for d in stayed], dtype=np.bool_),
        "shape_start": starts,
        "shape": shape,
        "turn_source": turns.source.astype(np.int32),
        "turn_target": turns.target.astype(np.int32),
        "turn_ms": turns.delay_ms.astype(np.int32),
    }


def _road_map(
    extract: Extract,
    source: str,
    arrays: dict[str, npt.NDArray[Any]],
    kept: list[dict[str, Any]],
    lost: list[dict[str, Any]],
) -> RoadMap:
    names = ("", *sorted({d["name"] for d in kept + lost if "name" in d}))
    index = {name: i for i, name in enumerate(names)}
    arrays["name"] = np.array([index[d.get("name", "")] for d in kept], dtype=np.int32)
    arrays["cut_off_name"] = np.array([index[d.get("name", "")] for d in lost], dtype=np.int32)
    arrays["cut_off_start"], arrays["cut_off_shape"] = _shapes(lost)
    west, south = arrays["shape"].min(axis=0)
    east, north = arrays["shape"].max(axis=0)
    once = (arrays["twin"] < 0) | (arrays["twin"] > np.arange(len(kept)))
    summary = MapSummary(
        source=source,
        nodes=len(np.unique(arrays["tail"])),
        edges=len(kept),
        street_km=round(float(arrays["length_dm"][once].sum()) / 10_000, 1),
        turns=len(arrays["turn_source"]),
        addresses=len(extract.addresses),
        cut_off=len(lost),
        bounds=(float(south), float(west), float(north), float(east)),
    )
    return RoadMap(
        **arrays,
        names=names,
        kinds=KINDS,
        addresses=extract.addresses,
        summary=summary,
        digest=digest_of(arrays),
    )
