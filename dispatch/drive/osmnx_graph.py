"""Streets as OSMnx knows them: a directed graph of NetworkX, and GraphML files of it.

Nodes carry `x`, `y` (degrees), `control` and `gate`; edges `osmid`, `highway`, `name`, `length`
(metres), `geometry`, `maxspeed`, `surface`, and what OSMnx does not know: `end_only`, `stopping`,
`controls`, and `piece`, by which both directions of one piece of a way belong together. Turn rules
and addresses are kept with the graph itself, as JSON.
"""

from __future__ import annotations

import json
from dataclasses import astuple, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from dispatch.drive.extract import GATES, Address, Extract, TurnRule, WayRule
from dispatch.drive.tags import (
    CONTROL_KINDS,
    Street,
    barrier_of,
    clean_maxspeed,
    control_of,
    street_of,
)
from dispatch.errors import MapError, NoStreets, UnreadableMap
from dispatch.words import _

if TYPE_CHECKING:
    from pathlib import Path

    import networkx as nx

    Edge = tuple[int, int, dict[str, Any]]
    Piece = tuple[Edge, dict[str, Any] | None, Street]  # with the opposite edge's data

ENDING = ".graphml"
KEPT = {"turn_rules": TurnRule, "way_rules": WayRule, "addresses": Address}
COLUMNS: dict[str, type] = {
    "way": np.int64,
    "tail": np.int32,
    "head": np.int32,
    "length_m": np.float64,
    "street": np.int32,
    "name": np.int32,
    "along": np.int32,
    "against": np.int32,
}
TAGS = ("highway", "name", "ref", "maxspeed", "surface", "access", "service", "tunnel", "area")


def graph_of(extract: Extract) -> nx.MultiDiGraph:
    """Return the streets as a graph; its nodes are the map's numbers of the junctions."""
    import networkx as nx
    import shapely

    graph = nx.MultiDiGraph(crs="epsg:4326", simplified=True, created_with="dispatch")
    columns = (extract.node_lon, extract.node_lat, extract.control, extract.gate)
    ids = extract.node_id.tolist()
    for node, lon, lat, control, gate in zip(ids, *(c.tolist() for c in columns), strict=True):
        words = {"control": extract.control_kinds[control], "gate": GATES[gate]}
        graph.add_node(node, x=lon, y=lat, **{key: word for key, word in words.items() if word})
    rows = np.repeat(np.arange(len(extract.way)), np.diff(extract.line_start))
    lines = shapely.linestrings(extract.line, indices=rows)
    sides = (extract.tail, extract.head, extract.along, extract.against)
    for piece, (tail, head, along, against) in enumerate(
        zip(*(side.tolist() for side in sides), strict=True)
    ):
        street = extract.streets[extract.street[piece]]
        if street.forward:
            data = _edge(extract, piece, street.maxspeed, extract.passed[along])
            graph.add_edge(ids[tail], ids[head], **data, geometry=lines[piece])
        if street.backward:
            data = _edge(extract, piece, street.maxspeed_backward, extract.passed[against])
            graph.add_edge(ids[head], ids[tail], **data, geometry=shapely.reverse(lines[piece]))
    return graph


def _edge(extract: Extract, piece: int, maxspeed: str, controls: tuple[str, ...]) -> dict[str, Any]:
    street = extract.streets[extract.street[piece]]
    data: dict[str, Any] = {
        "osmid": int(extract.way[piece]),
        "piece": piece,
        "highway": street.highway,
        "oneway": street.forward != street.backward,
        "length": float(extract.length_m[piece]),
        "end_only": street.end_only,
        "stopping": street.stopping,
    }
    name = extract.names[extract.name[piece]]
    optional = {"name": name, "maxspeed": maxspeed, "surface": street.surface, "controls": controls}
    data.update({key: value for key, value in optional.items() if value})
    return data


def save_graphml(extract: Extract, file: Path) -> None:
    """Write the streets as a GraphML file that OSMnx and this program read.

    Raises
    ------
    MapError
        When the file cannot be written.
    """
    import osmnx

    graph = graph_of(extract)
    for name in KEPT:
        graph.graph[name] = json.dumps([astuple(row) for row in getattr(extract, name)])
    for _rest, _rest, data in graph.edges(data=True):
        if "controls" in data:
            data["controls"] = ";".join(data["controls"])
    try:
        osmnx.save_graphml(graph, file)
    except OSError as error:
        raise MapError(
            _(
                "{file} cannot be written: {error}. Give a path in a folder that you may write to."
            ).format(file=file, error=error)
        ) from error


def read_graphml(file: Path) -> Extract:
    """Read streets from a GraphML file that this program or OSMnx wrote.

    OSMnx keeps no turn rules and no addresses: they are there only in files of this program.

    Raises
    ------
    UnreadableMap
        When the file is missing or no such graph.
    NoStreets
        When it holds no street that can be driven.
    """
    import osmnx

    if not file.is_file():
        raise UnreadableMap(
            _("There is no file {file}. Give the path of a GraphML file.").format(file=file)
        )
    try:
        return extract_of(osmnx.load_graphml(file))
    except (NoStreets, OSError):
        raise
    except Exception as error:  # whatever XML and OSMnx make of a file that is something else
        raise UnreadableMap(
            _(
                "{file} cannot be read as a GraphML file of streets ({__name__}: {error}). "
                "Write it with OSMnx, or with: dispatch map export FILE.graphml"
            ).format(file=file, __name__=type(error).__name__, error=error)
        ) from error


def extract_of(graph: nx.MultiDiGraph) -> Extract:
    """Return the streets of a graph in OSMnx's format, simplified or not.

    Raises
    ------
    NoStreets
        When it holds no street that can be driven.
    """
    ids = sorted(graph.nodes, key=lambda node: (node < 0, abs(node)))  # as cutting numbers them
    number = {node: i for i, node in enumerate(ids)}
    nodes = [graph.nodes[node] for node in ids]
    pieces = _pieces(graph)
    if not pieces:
        raise NoStreets(_("The graph holds no street that can be driven; export a larger area."))
    return Extract(
        node_id=np.array(ids, dtype=np.int64),
        node_lon=np.array([node["x"] for node in nodes], dtype=np.float64),
        node_lat=np.array([node["y"] for node in nodes], dtype=np.float64),
        control=np.array([CONTROL_KINDS.index(_control(node)) for node in nodes], dtype=np.int32),
        gate=np.array([GATES.index(_gate(node)) for node in nodes], dtype=np.int32),
        control_kinds=CONTROL_KINDS,
        left_out={},
        **_piece_columns(pieces, number, nodes),
        **{key: _kept(graph, key, kind) for key, kind in KEPT.items()},
    )


def _piece_columns(
    pieces: list[Piece], number: dict[int, int], nodes: list[dict[str, Any]]
) -> dict[str, Any]:
    """Return the columns of an extract that go by piece, and what they point into."""
    streets: dict[Street, int] = {}
    names: dict[str, int] = {"": 0}
    passed: dict[tuple[str, ...], int] = {(): 0}
    rows: list[tuple[Any, ...]] = []
    for (tail, head, data), back, street in pieces:
        controls = [
            tuple(filter(None, side.get("controls", "").split(";"))) for side in (data, back or {})
        ]
        row = (_first(data["osmid"]), number[tail], number[head], data["length"])
        kind = streets.setdefault(street.without_name, len(streets))
        name = names.setdefault(street.name, len(names))
        sides = (passed.setdefault(control, len(passed)) for control in controls)
        rows.append((*row, kind, name, *sides))
    lines = [_line(nodes[number[a]], nodes[number[b]], data) for (a, b, data), _, _ in pieces]
    return {
        **{
            column: np.array(values, dtype=COLUMNS[column])
            for column, values in zip(COLUMNS, zip(*rows, strict=True), strict=True)
        },
        "line_start": np.cumsum([0, *map(len, lines)]).astype(np.int64),
        "line": np.concatenate(lines),
        "streets": tuple(streets),
        "names": tuple(names),
        "passed": tuple(passed),
    }


def _pieces(graph: nx.MultiDiGraph) -> list[Piece]:
    """Return each street once: its edge, the opposite edge's data if there is one, its tags."""
    found: dict[Any, list[Edge]] = {}
    for tail, head, data in graph.edges(data=True):
        key: Any = data.get("piece")
        if key is None:
            key = (*sorted((tail, head)), str(data.get("osmid")), round(data["length"], 2))
            key = (key, tail == head and len(found))
        found.setdefault(key, []).append((tail, head, data))
    keys = sorted(found, key=int) if all(isinstance(k, str) for k in found) else list(found)
    pieces = []
    for key in keys:
        edge, *others = found[key]
        twins = [d for tail, head, d in others if (tail, head) == (edge[1], edge[0])]
        street = _street(edge[2], twins[0] if twins else None)
        if street is not None and edge[2]["length"] > 0:
            pieces.append((edge, twins[0] if twins else None, street))
    return pieces


def _street(data: dict[str, Any], back: dict[str, Any] | None) -> Street | None:
    tags = {key: str(_first(data[key])) for key in TAGS if key in data}
    if "end_only" in data:  # written by this program, which keeps no way that is closed to cars
        tags["motorcar"] = "yes"
    street = street_of(tags | {"oneway": "no"})
    if street is None:
        return None
    backward = "" if back is None else str(_first(back.get("maxspeed", "")))
    own = {key: data[key] == "True" for key in ("end_only", "stopping") if key in data}
    return replace(
        street,
        backward=back is not None,
        maxspeed_backward=clean_maxspeed(backward),
        end_only=own.get("end_only", street.end_only),
        stopping=own.get("stopping", street.stopping),
    )


def _line(tail: dict[str, Any], head: dict[str, Any], data: dict[str, Any]) -> Any:
    if "geometry" in data:
        return np.array(data["geometry"].coords)
    return np.array([(tail["x"], tail["y"]), (head["x"], head["y"])])


def _first(value: Any) -> Any:
    """Return the first of several values, which OSMnx joins to a list where it joins ways."""
    return value[0] if isinstance(value, list) else value


def _control(node: dict[str, Any]) -> str:
    return str(node.get("control") or control_of(node))


def _gate(node: dict[str, Any]) -> str:
    """Return what a graph can say of a barrier; one that parts a street is not to be seen in it."""
    gate = str(node.get("gate") or barrier_of(node))
    return gate if gate in GATES else ""


def _kept(graph: nx.MultiDiGraph, name: str, kind: type) -> Any:
    rows = json.loads(graph.graph.get(name, "[]"))
    return tuple(kind(*(tuple(c) if isinstance(c, list) else c for c in row)) for row in rows)
