"""From the streets of an extract to the arrays of a road map."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from dispatch.drive.address_table import AddressTable
from dispatch.drive.edge_times import drive_seconds
from dispatch.drive.extract import GATES
from dispatch.drive.graph import MapSummary, RoadMap, digest_of
from dispatch.drive.settle import settle, strong_core
from dispatch.drive.speeds import CLASS_KMH, SpeedModel
from dispatch.drive.turns import Streets, Turns, allowed_turns
from dispatch.drive.via_ways import bound_by_ways
from dispatch.errors import NoStreets
from dispatch.words import N_, _

if TYPE_CHECKING:
    import numpy.typing as npt

    from dispatch.drive.extract import Extract

    Ints = npt.NDArray[np.int64]
    Floats = npt.NDArray[np.float64]
    Flags = npt.NDArray[np.bool_]

KINDS = tuple(CLASS_KMH)


@dataclass(frozen=True, slots=True, eq=False)
class Edges:
    """Directed edges: the piece, whether against its drawing direction, and the nodes at its ends.

    Ordered by tail, head and piece.
    """

    piece: Ints
    against: Flags
    tail: Ints
    head: Ints

    def __getitem__(self, which: Flags | Ints) -> Edges:
        return Edges(self.piece[which], self.against[which], self.tail[which], self.head[which])

    def __len__(self) -> int:
        return len(self.piece)


def compact(extract: Extract, model: SpeedModel, source: str) -> RoadMap:
    """Return the drivable core of an extract as arrays.

    The core is the largest strongly connected part of the streets (NetworkX), less the few edges
    that turn rules cut off from it.

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
    whole = edges_of(extract)
    core = strong_core(whole.tail, whole.head)
    edges = whole[core]
    if len(edges) == 0:
        raise _no_way_back(source)
    streets, node = _streets(extract, edges)
    turns, unclear = _turns(extract, model, streets, node)
    settled = settle(streets.end_only, turns)
    if len(settled.turns.source) == 0:
        raise _no_way_back(source)
    inside = np.flatnonzero(core)[settled.kept]
    lost = np.ones(len(whole), dtype=np.bool_)
    lost[inside] = False
    arrays = {
        **_edge_arrays(extract, edges[settled.kept], model),
        **_turn_arrays(settled.turns),
        **_cut_off(extract, whole[lost]),
        "node_lon": extract.node_lon[node],
        "node_lat": extract.node_lat[node],
        "tail": streets.tail[settled.kept].astype(np.int32),
        "head": streets.head[settled.kept].astype(np.int32),
        "end_only": settled.end_only[settled.kept],
    }
    return _road_map(extract, source, arrays, extract.left_out | unclear)


def edges_of(extract: Extract) -> Edges:
    """Return every piece of street in each direction in which it may be driven."""
    along, against = (np.flatnonzero(way) for way in extract.directions)
    piece = np.concatenate([along, against])
    backward = np.arange(len(piece)) >= len(along)
    tail = np.where(backward, extract.head[piece], extract.tail[piece]).astype(np.int64)
    head = np.where(backward, extract.tail[piece], extract.head[piece]).astype(np.int64)
    return Edges(piece, backward, tail, head)[np.lexsort((backward, piece, head, tail))]


def _no_way_back(source: str) -> NoStreets:
    return NoStreets(
        _(
            "{source} holds no two streets that lead to each other and back. Export a larger area."
        ).format(source=source)
    )


def _streets(extract: Extract, edges: Edges) -> tuple[Streets, Ints]:
    """Return the core's edges and its nodes, which are numbered anew."""
    node = np.unique(edges.tail)
    end_only = np.array([street.end_only for street in extract.streets], dtype=np.bool_)
    first, last = extract.line_start[edges.piece], extract.line_start[edges.piece + 1] - 1
    begin, end = np.where(edges.against, last, first), np.where(edges.against, first, last)
    step = np.where(edges.against, -1, 1)
    streets = Streets(
        tail=np.searchsorted(node, edges.tail),
        head=np.searchsorted(node, edges.head),
        twin=_twins(edges.piece),
        way=extract.way[edges.piece],
        leaves_deg=_bearing_deg(extract.line[begin], extract.line[begin + step]),
        arrives_deg=_bearing_deg(extract.line[end - step], extract.line[end]),
        end_only=end_only[extract.street[edges.piece]],
    )
    return streets, node


def _turns(
    extract: Extract, model: SpeedModel, streets: Streets, node: Ints
) -> tuple[Turns, dict[str, int]]:
    controls = [extract.control_kinds[control] for control in extract.control[node].tolist()]
    gates = [GATES[gate] for gate in extract.gate[node].tolist()]
    ids = extract.node_id[node].tolist()
    vias = {rule.via for rule in extract.turn_rules}
    node_of = {point: i for i, point in enumerate(ids) if point in vias}
    known_ways = frozenset(extract.way.tolist())
    turns, unclear = allowed_turns(
        streets, controls, gates, extract.turn_rules, node_of, known_ways, model
    )
    turns, unclear_by_way = bound_by_ways(streets, turns, extract.way_rules)
    unclear += unclear_by_way
    return turns, {N_("turn rules whose streets do not join clearly"): unclear} if unclear else {}


def _twins(piece: Ints) -> Ints:
    """Return the number of the opposite edge of the same piece, or -1."""
    order = np.argsort(piece, kind="stable")
    pair = np.flatnonzero(piece[order][1:] == piece[order][:-1])
    twin = np.full(len(piece), -1, dtype=np.int64)
    twin[order[pair]], twin[order[pair + 1]] = order[pair + 1], order[pair]
    return twin


def _bearing_deg(start: Floats, end: Floats) -> Floats:
    """Return compass bearings of short segments of lon, lat rows."""
    east = (end[:, 0] - start[:, 0]) * np.cos(np.radians(start[:, 1]))
    return np.degrees(np.arctan2(east, end[:, 1] - start[:, 1]))


def _shapes(extract: Extract, edges: Edges) -> tuple[Ints, Floats]:
    """Return where each edge's shape begins, and the shapes, each in its direction of driving."""
    first, last = extract.line_start[edges.piece], extract.line_start[edges.piece + 1] - 1
    start = np.concatenate([[0], np.cumsum(last - first + 1)]).astype(np.int64)
    count = np.diff(start)
    within = np.arange(start[-1]) - np.repeat(start[:-1], count)
    begin = np.repeat(np.where(edges.against, last, first), count)
    return start, extract.line[begin + np.where(np.repeat(edges.against, count), -within, within)]


def _edge_arrays(extract: Extract, edges: Edges, model: SpeedModel) -> dict[str, Any]:
    length_m = extract.length_m[edges.piece]
    drive_s = drive_seconds(extract, edges.piece, edges.against, model)
    street = extract.street[edges.piece]
    start, shape = _shapes(extract, edges)
    kind = np.array([KINDS.index(one.highway) for one in extract.streets], dtype=np.int32)
    stopping = np.array([one.stopping for one in extract.streets], dtype=np.bool_)
    return {
        "drive_ms": np.maximum(1, np.rint(drive_s * 1000)).astype(np.int32),
        "length_dm": np.maximum(1, np.rint(length_m * 10)).astype(np.int32),
        "twin": _twins(edges.piece).astype(np.int32),
        "name": extract.name[edges.piece],
        "kind": kind[street],
        "stopping": stopping[street],
        "shape_start": start,
        "shape": shape,
    }


def _turn_arrays(turns: Turns) -> dict[str, Any]:
    return {
        "turn_source": turns.source.astype(np.int32),
        "turn_target": turns.target.astype(np.int32),
        "turn_ms": turns.delay_ms.astype(np.int32),
        "copy_of": turns.copy_of.astype(np.int32),
    }


def _cut_off(extract: Extract, edges: Edges) -> dict[str, Any]:
    start, shape = _shapes(extract, edges)
    name = extract.name[edges.piece]
    return {"cut_off_start": start, "cut_off_shape": shape, "cut_off_name": name}


def _road_map(
    extract: Extract, source: str, arrays: dict[str, Any], left_out: dict[str, int]
) -> RoadMap:
    west, south = arrays["shape"].min(axis=0)
    east, north = arrays["shape"].max(axis=0)
    edge_count = len(arrays["tail"])
    once = (arrays["twin"] < 0) | (arrays["twin"] > np.arange(edge_count))
    summary = MapSummary(
        source=source,
        nodes=len(np.unique(arrays["tail"])),
        edges=edge_count,
        street_km=round(float(arrays["length_dm"][once].sum()) / 10_000, 1),
        turns=len(arrays["turn_source"]),
        addresses=len(extract.addresses),
        cut_off=len(arrays["cut_off_name"]),
        bounds=(float(south), float(west), float(north), float(east)),
        left_out=tuple(sorted(left_out.items())),
    )
    return RoadMap(
        **arrays,
        names=extract.names,
        kinds=KINDS,
        addresses=AddressTable.of(extract.addresses),
        summary=summary,
        digest=digest_of(arrays),
    )
