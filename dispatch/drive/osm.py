"""Reading the streets and addresses of an OpenStreetMap extract in one pass.

The pass keeps a whitelist of drivable classes, cuts ways wherever two of them meet (a point inside
both is a junction too), and hands over a directed graph in OSMnx's format, so that OSMnx and
NetworkX can work on it. Ways of a clipped extract lose the points that lie outside.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

import networkx as nx
import numpy as np
import osmium
import shapely

from dispatch.drive.tags import (
    CONTROLS,
    Street,
    barrier_of,
    control_direction_of,
    street_of,
    turn_rule_of,
)
from dispatch.errors import NoStreets, UnreadableMap
from dispatch.places import EARTH_RADIUS_M

if TYPE_CHECKING:
    from collections.abc import Callable

ENDINGS = (".osm", ".osm.gz", ".osm.bz2", ".osm.pbf")
APPROACH_M = 40.0  # a signal this near to a junction belongs to it; common practice
KEYS = ("highway", "barrier", "addr:housenumber", "restriction", "restriction:motorcar")


@dataclass(frozen=True, slots=True)
class Address:
    """A house number with its place; `town` and `postcode` are empty where the map lacks them."""

    street: str
    number: str
    town: str
    postcode: str
    lat: float
    lon: float


@dataclass(frozen=True, slots=True)
class TurnRule:
    """At point `via`, a turn from way `from_way` into `to_way`: forbidden, or the only one."""

    only: bool
    from_way: int
    via: int
    to_way: int


@dataclass(frozen=True, slots=True)
class Extract:
    """What was read: the graph in OSMnx's format, turn rules, addresses and what was left out.

    Nodes carry `x`, `y` (degrees), `control` and `gate`; edges `osmid`, `highway`, `name`,
    `length` (metres), `geometry`, `end_only`, `stopping`, `controls`, and `piece`, by which both
    directions of one piece of a way can be told to belong together.
    """

    graph: nx.MultiDiGraph
    turn_rules: tuple[TurnRule, ...]
    addresses: tuple[Address, ...]
    left_out: dict[str, int]


@dataclass(slots=True)
class _Way:
    osm_id: int
    street: Street
    points: list[int]


@dataclass(slots=True)
class _Pass:
    """What the one pass gathers."""

    ways: list[_Way] = field(default_factory=list)
    where: dict[int, tuple[float, float]] = field(default_factory=dict)  # lon, lat by point
    uses: Counter[int] = field(default_factory=Counter)
    controls: dict[int, tuple[str, str]] = field(default_factory=dict)
    barriers: dict[int, str] = field(default_factory=dict)
    rules: list[TurnRule] = field(default_factory=list)
    addresses: list[Address] = field(default_factory=list)
    left_out: Counter[str] = field(default_factory=Counter)


def read_streets(file: Path, progress: Callable[[str], None] = lambda _: None) -> Extract:
    """Read an extract.

    Parameters
    ----------
    file
        An OpenStreetMap file ending in .osm, .osm.gz, .osm.bz2 or .osm.pbf.
    progress
        Called with a few words at each stage; an exception from it stops the reading.

    Raises
    ------
    UnreadableMap
        When the file is missing, no such map, broken off, or lacks the places of its points.
    NoStreets
        When it holds no street that can be driven.
    """
    check_ending(file)
    progress(f"Reading {file.name}")
    gathered = _read(file)
    if not gathered.ways:
        if gathered.left_out["points without a place"]:
            raise UnreadableMap(
                f"{file} has streets, but none of their points has a place. The file may be an "
                "excerpt without its nodes, or not sorted nodes first: export it again with nodes, "
                "ways and relations, in this order."
            )
        raise NoStreets(
            f"{file} holds no street that can be driven. Export an area with streets in it, "
            "with all its ways and not the points of interest alone."
        )
    progress(f"Cutting {len(gathered.ways):,} streets at their junctions")
    graph = _graph(gathered)
    return Extract(graph, tuple(gathered.rules), tuple(gathered.addresses), dict(gathered.left_out))


def check_ending(file: Path) -> None:
    """Refuse a file that is missing, empty or of no known ending.

    Raises
    ------
    UnreadableMap
        With the endings that can be read.
    """
    if not file.is_file():
        raise UnreadableMap(f"There is no file {file}. Give the path of an OpenStreetMap extract.")
    if not file.name.lower().endswith(ENDINGS):
        raise UnreadableMap(
            f"{file} does not end like an OpenStreetMap extract. "
            f"Files ending in {', '.join(ENDINGS)} can be read."
        )
    if file.stat().st_size == 0:
        raise UnreadableMap(f"{file} is empty. Download or export the extract again.")


def unreadable(file: Path, error: Exception) -> UnreadableMap:
    """Return the sentence for a file that the reader gave up on."""
    return UnreadableMap(
        f"{file} cannot be read as an OpenStreetMap extract: {str(error).strip().rstrip('.')}. It "
        "may be broken off in a download, or be of another kind than its ending says: "
        "download or export it again."
    )


def _read(file: Path) -> _Pass:
    gathered = _Pass()
    wanted = osmium.filter.KeyFilter(*KEYS)
    things: Any = osmium.FileProcessor(str(file)).with_locations().with_filter(wanted)
    try:
        for thing in things:
            if thing.is_node():
                _take_node(gathered, thing)
            elif thing.is_way():
                _take_way(gathered, thing)
            elif thing.is_relation():
                _take_relation(gathered, thing)
    except (RuntimeError, ValueError, OSError) as error:
        raise unreadable(file, error) from error
    return gathered


def _take_node(gathered: _Pass, node: Any) -> None:
    tags = dict(node.tags)
    control = CONTROLS.get(tags.get("highway", ""))
    if control:
        gathered.controls[node.id] = (control, control_direction_of(tags))
    barrier = barrier_of(tags)
    if barrier:
        gathered.barriers[node.id] = barrier
    if node.location.valid():
        _take_address(gathered, tags, [(node.lon, node.lat)])


def _take_way(gathered: _Pass, way: Any) -> None:
    tags = dict(way.tags)
    street = street_of(tags)
    if street is None and "addr:housenumber" not in tags:
        return
    points = [(n.ref, n.location.lon, n.location.lat) for n in way.nodes if n.location.valid()]
    if street is None:
        _take_address(gathered, tags, [(lon, lat) for _, lon, lat in points])
        return
    lost = len(way.nodes) - len(points)
    if lost:
        gathered.left_out["points without a place"] += lost
    for run in _unbroken_runs(way.nodes):
        gathered.ways.append(_Way(way.id, street, run))
        gathered.uses.update(run)
        gathered.uses.update((run[0], run[-1]))  # an end is a junction whether or not others meet
    gathered.where.update((ref, (lon, lat)) for ref, lon, lat in points)


def _unbroken_runs(nodes: Any) -> list[list[int]]:
    """Return the stretches of at least two different points between points without a place."""
    runs: list[list[int]] = [[]]
    for node in nodes:
        if not node.location.valid():
            runs.append([])
        elif not runs[-1] or runs[-1][-1] != node.ref:
            runs[-1].append(node.ref)
    return [run for run in runs if len(run) >= 2]


def _take_relation(gathered: _Pass, relation: Any) -> None:
    tags = dict(relation.tags)
    rule = turn_rule_of(tags)
    if not rule or tags.get("type") != "restriction":
        return
    members: dict[str, list[tuple[str, int]]] = {}
    for member in relation.members:
        members.setdefault(member.role, []).append((member.type, member.ref))
    via = members.get("via", [])
    if len(via) != 1 or via[0][0] != "n":
        gathered.left_out["turn rules by way of a street"] += 1
        return
    for _, from_way in members.get("from", []):
        for _, to_way in members.get("to", []):
            gathered.rules.append(TurnRule(rule == "only", from_way, via[0][1], to_way))


def _take_address(
    gathered: _Pass, tags: dict[str, str], corners: list[tuple[float, float]]
) -> None:
    street = tags.get("addr:street") or tags.get("addr:place", "")
    if "addr:housenumber" not in tags or not street or not corners:
        return
    if len(corners) > 1 and corners[0] == corners[-1]:
        corners = corners[:-1]
    gathered.addresses.append(
        Address(
            street,
            tags["addr:housenumber"],
            tags.get("addr:city", ""),
            tags.get("addr:postcode", ""),
            sum(lat for _, lat in corners) / len(corners),
            sum(lon for lon, _ in corners) / len(corners),
        )
    )


@dataclass(frozen=True, slots=True)
class _Piece:
    """A stretch of a way from junction to junction."""

    way: _Way
    number: int
    points: list[int]
    tail: int
    head: int


def _graph(gathered: _Pass) -> nx.MultiDiGraph:
    pieces = _pieces(gathered)
    coordinates = [np.array([gathered.where[p] for p in piece.points]) for piece in pieces]
    lengths_m = _lengths_m(coordinates)
    graph = nx.MultiDiGraph(crs="epsg:4326", simplified=True, created_with="dispatch")
    for piece, line, length_m in zip(pieces, coordinates, lengths_m, strict=True):
        if length_m <= 0:
            continue
        for node, point in ((piece.tail, piece.points[0]), (piece.head, piece.points[-1])):
            lon, lat = gathered.where[point]
            graph.add_node(node, x=lon, y=lat, **_node_tags(gathered, point))
        forward, backward = _controls_within(gathered, piece, line)
        street = piece.way.street
        if street.forward:
            data = _edge(piece, line, float(length_m), street.maxspeed, forward)
            graph.add_edge(piece.tail, piece.head, **data)
        if street.backward:
            data = _edge(piece, line[::-1], float(length_m), street.maxspeed_backward, backward)
            graph.add_edge(piece.head, piece.tail, **data)
    if graph.number_of_edges() == 0:
        raise NoStreets("Every street of the map has both ends in one place; export it again.")
    return graph


def _pieces(gathered: _Pass) -> list[_Piece]:
    """Cut the ways. A point that stops a truck becomes a separate end for every piece."""
    pieces: list[_Piece] = []
    spare = -1
    for way in gathered.ways:
        last = len(way.points) - 1
        cuts = [
            i
            for i, point in enumerate(way.points)
            if i in (0, last) or gathered.uses[point] > 1 or point in gathered.barriers
        ]
        for number, (start, stop) in enumerate(pairwise(cuts)):
            ends = []
            for point in (way.points[start], way.points[stop]):
                blocked = gathered.barriers.get(point) == "blocked"
                ends.append(spare if blocked else point)
                spare -= blocked
            pieces.append(_Piece(way, number, way.points[start : stop + 1], ends[0], ends[1]))
    return pieces


def _lengths_m(coordinates: list[np.ndarray[Any, Any]]) -> np.ndarray[Any, Any]:
    """Return the length in metres of each line of lon, lat pairs (haversine over its segments)."""
    starts = np.cumsum([0] + [len(line) for line in coordinates])
    lon, lat = np.radians(np.concatenate(coordinates)).T
    h = np.sin(np.diff(lat) / 2) ** 2
    h += np.cos(lat[:-1]) * np.cos(lat[1:]) * np.sin(np.diff(lon) / 2) ** 2
    travelled = np.concatenate([[0.0], np.cumsum(2 * EARTH_RADIUS_M * np.arcsin(np.sqrt(h)))])
    lengths_m: np.ndarray[Any, Any] = travelled[starts[1:] - 1] - travelled[starts[:-1]]
    return lengths_m


def _edge(
    piece: _Piece,
    line: np.ndarray[Any, Any],
    length_m: float,
    maxspeed: str,
    controls: tuple[str, ...],
) -> dict[str, Any]:
    street = piece.way.street
    data: dict[str, Any] = {
        "osmid": piece.way.osm_id,
        "piece": (piece.way.points[0], piece.number),
        "highway": street.highway,
        "oneway": street.forward != street.backward,
        "length": length_m,
        "end_only": street.end_only,
        "stopping": street.stopping,
        "geometry": shapely.LineString(line),
    }
    optional = {"name": street.name, "maxspeed": maxspeed, "surface": street.surface}
    data.update({key: value for key, value in optional.items() if value})
    if controls:
        data["controls"] = controls
    return data


def _node_tags(gathered: _Pass, point: int) -> dict[str, str]:
    tags = {}
    if point in gathered.controls:
        tags["control"] = gathered.controls[point][0]
    if gathered.barriers.get(point, "blocked") != "blocked":
        tags["gate"] = gathered.barriers[point]
    return tags


def _controls_within(
    gathered: _Pass, piece: _Piece, line: np.ndarray[Any, Any]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the signals and signs that a piece passes between its ends, forward and backward.

    One without a direction counts for the traffic that meets the nearer junction just after it:
    whoever leaves that junction has waited already. A signal far from both, as at a crossing for
    walkers, counts for both.
    """
    inner = [i for i, p in enumerate(piece.points[1:-1], start=1) if p in gathered.controls]
    forward: list[str] = []
    backward: list[str] = []
    for i in inner:
        control, direction = gathered.controls[piece.points[i]]
        if not direction:
            behind_m, ahead_m = (_lengths_m([part])[0] for part in (line[: i + 1], line[i:]))
            if control != "signals" or min(behind_m, ahead_m) < APPROACH_M:
                direction = "forward" if ahead_m <= behind_m else "backward"
        if direction != "backward":
            forward.append(control)
        if direction != "forward":
            backward.append(control)
    return tuple(forward), tuple(backward)
