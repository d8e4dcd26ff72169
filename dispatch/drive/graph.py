"""The road map: streets, turns and addresses as compact arrays, in one file.

Built once with OSMnx and NetworkX, then loaded in a fraction of a second. Only what can be driven
to and from is kept to drive on: the largest strongly connected part, counting turn rules too.
"""

from __future__ import annotations

import hashlib
import json
import zipfile
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from dispatch.drive.address_table import AddressTable
from dispatch.errors import NoMap, UnreadableMap
from dispatch.words import _

if TYPE_CHECKING:
    import numpy.typing as npt

    Ints = npt.NDArray[np.int32]
    Longs = npt.NDArray[np.int64]
    Floats = npt.NDArray[np.float64]
    Flags = npt.NDArray[np.bool_]

FORMAT = 4  # raise it when the arrays change, so that an old file is refused
DRIVES = 2  # raise it when the same map gives other drives
ROADS_FILE = "roads.npz"
BASEMAP_FILE = "basemap.pmtiles"
ADDRESS_COLUMNS = ("address_text", "address_place", "address_within_range")


@dataclass(frozen=True, slots=True)
class MapSummary:
    """A road map in numbers; `street_km` counts both directions of a street once.

    `bounds` are south, west, north, east in degrees. `cut_off` counts the directed edges that
    could not be driven both to and from, and were left out; `left_out` counts by reason what else
    of the extract was not taken.
    """

    source: str
    nodes: int
    edges: int
    street_km: float
    turns: int
    addresses: int
    cut_off: int
    bounds: tuple[float, float, float, float]
    left_out: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class RoadMap:
    """Streets and turns to drive on.

    Edges are directed and numbered from 0; by edge: `tail` and `head` node numbers, `drive_ms` and
    `length_dm` (milliseconds, decimetres), `twin` (the opposite direction, or -1), `name` (index
    into `names`), `kind` (index into `kinds`), `end_only` (may only begin or end a drive),
    `stopping` (a place may be served from it).
    The shape of edge e is rows `shape_start[e]` to `shape_start[e + 1]` of `shape` (lon, lat).
    A turn i leads from edge `turn_source[i]` to `turn_target[i]` and costs `turn_ms[i]`.
    Numbers of turns from `len(tail)` on are copies of edges, `copy_of` names the edge of each: on a
    copy a truck came by a way that binds where it may go next (see `via_ways`).
    `cut_off_shape` and so on are lines of streets that cannot be driven to and from.
    """

    node_lon: Floats
    node_lat: Floats
    tail: Ints
    head: Ints
    drive_ms: Ints
    length_dm: Ints
    twin: Ints
    name: Ints
    kind: Ints
    end_only: Flags
    stopping: Flags
    shape_start: Longs
    shape: Floats
    turn_source: Ints
    turn_target: Ints
    turn_ms: Ints
    copy_of: Ints
    cut_off_start: Longs
    cut_off_shape: Floats
    cut_off_name: Ints
    names: tuple[str, ...]
    kinds: tuple[str, ...]
    addresses: AddressTable
    summary: MapSummary
    digest: str

    def line(self, edge: int) -> Floats:
        """Return the shape of an edge from its tail to its head, rows of lon, lat."""
        return self.shape[self.shape_start[edge] : self.shape_start[edge + 1]]

    def street(self, edge: int) -> str:
        """Return the name of an edge's street, or its kind ('unnamed service road')."""
        name = self.names[self.name[edge]]
        return name or _("unnamed {kinds} road").format(
            kinds=self.kinds[self.kind[edge]].replace("_", " ")
        )


def drives_key(road_map: RoadMap) -> str:
    """Return what tells this map, speed model and way of computing drives from any other."""
    return hashlib.sha256(f"{DRIVES} {road_map.digest}".encode()).hexdigest()[:32]


def hierarchy_file(road_map: RoadMap, folder: Path) -> Path:
    """Return the file in a folder that the map's hierarchy is kept in (see `hierarchy`)."""
    return folder / f"hierarchy-{drives_key(road_map)}.npz"


def load_road_map(folder: Path) -> RoadMap:
    """Return the map that was built into a folder.

    Raises
    ------
    NoMap
        When none was built there, or by another version of this program.
    UnreadableMap
        When the file is damaged.
    """
    file = folder / ROADS_FILE
    if not file.is_file():
        raise NoMap(_("There is no street map in {folder} yet: build one.").format(folder=folder))
    try:
        with np.load(file) as stored:
            if int(stored["format"]) != FORMAT:
                raise NoMap(
                    _(
                        "The street map in {folder} was built by another version of this "
                        "program. Build it again."
                    ).format(folder=folder)
                )
            values = {f.name: stored[f.name] for f in fields(RoadMap) if f.name in stored}
            words = json.loads(stored["words"].tobytes())
            columns = (stored[name] for name in ADDRESS_COLUMNS)
            addresses = AddressTable(tuple(words["address_words"]), *columns)
            return RoadMap(**values, **_words(words), addresses=addresses)
    except (ValueError, KeyError, EOFError, OSError, zipfile.BadZipFile) as error:
        raise UnreadableMap(
            _(
                "The street map {file} is damaged ({error}). Build it again: dispatch map "
                "build FILE.osm.pbf"
            ).format(file=file, error=error)
        ) from error


def save_road_map(road_map: RoadMap, file: Path) -> None:
    """Write a road map into one file (NumPy's npz, uncompressed)."""
    addresses = road_map.addresses
    columns = (addresses.text, addresses.place, addresses.within_range)
    words = {
        "names": road_map.names,
        "kinds": road_map.kinds,
        "address_words": addresses.words,
        "summary": {f.name: getattr(road_map.summary, f.name) for f in fields(MapSummary)},
        "digest": road_map.digest,
    }
    arrays: dict[str, Any] = {
        "format": np.int64(FORMAT),
        "words": np.frombuffer(json.dumps(words).encode(), dtype=np.uint8),
        **dict(zip(ADDRESS_COLUMNS, columns, strict=True)),
        **arrays_of(road_map),
    }
    np.savez(file, **arrays)


def arrays_of(road_map: RoadMap) -> dict[str, npt.NDArray[Any]]:
    """Return the arrays of a road map by name."""
    values = {f.name: getattr(road_map, f.name) for f in fields(RoadMap)}
    return {name: value for name, value in values.items() if isinstance(value, np.ndarray)}


def digest_of(arrays: dict[str, npt.NDArray[Any]]) -> str:
    """Return 32 hexadecimal digits that change with any number in the arrays."""
    digest = hashlib.sha256(str(FORMAT).encode())
    for name in sorted(arrays):
        digest.update(name.encode())
        digest.update(np.ascontiguousarray(arrays[name]).tobytes())
    return digest.hexdigest()[:32]


def _words(words: dict[str, Any]) -> dict[str, Any]:
    summary = words["summary"]
    return {
        "names": tuple(words["names"]),
        "kinds": tuple(words["kinds"]),
        "summary": MapSummary(
            **summary
            | {
                "bounds": tuple(summary["bounds"]),
                "left_out": tuple((reason, count) for reason, count in summary["left_out"]),
            }
        ),
        "digest": words["digest"],
    }
