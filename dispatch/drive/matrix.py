"""Drive times and distances from every place to every place.

Kept on disk under a name made from the map (its digest covers speeds and turns) and the places, so
that a matrix is computed once and never used for anything else.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from dispatch.drive.search import least_costs
from dispatch.drive.turn_graph import along_one_edge, arrivals, departures, turn_graph, unpack
from dispatch.errors import InvalidValue

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from dispatch.drive.graph import RoadMap
    from dispatch.drive.snap import Snap

KEY_VERSION = 1  # raise it when the same map and places give other figures


@dataclass(frozen=True, slots=True, eq=False)
class DriveMatrix:
    """Drive times and distances between places.

    Row = from, column = to, both in the order of `ids`. `drive_s` is seconds, `drive_m` metres
    along the same way; both int32 of shape (n, n), 0 on the diagonal, and not symmetric.

    Raises
    ------
    InvalidValue
        When shapes do not agree, an id stands twice, or a value is negative.
    """

    ids: tuple[str, ...]
    drive_s: npt.NDArray[np.int32]
    drive_m: npt.NDArray[np.int32]

    def __post_init__(self) -> None:
        shape = (len(self.ids), len(self.ids))
        if self.drive_s.shape != shape or self.drive_m.shape != shape:
            raise InvalidValue(
                f"A matrix of {len(self.ids)} places needs {shape[0]} x {shape[1]} times and "
                f"distances, not {self.drive_s.shape} and {self.drive_m.shape}."
            )
        if len(set(self.ids)) != len(self.ids):
            raise InvalidValue("A place stands twice in the drive-time matrix; give each one id.")
        if self.drive_s.size and (self.drive_s.min() < 0 or self.drive_m.min() < 0):
            raise InvalidValue("A drive time or distance is negative; they are 0 or more.")

    def drive(self, start: str, end: str) -> tuple[int, int]:
        """Return seconds and metres from one place to another."""
        i, j = self.ids.index(start), self.ids.index(end)
        return int(self.drive_s[i, j]), int(self.drive_m[i, j])


def drive_matrix(road_map: RoadMap, snaps: Mapping[str, Snap], cache: Path) -> DriveMatrix:
    """Return the matrix of all places, from the disk if it was computed before.

    Parameters
    ----------
    road_map
        The streets.
    snaps
        Places on streets of this map, by id.
    cache
        A folder; made if missing. A damaged file in it is computed again.
    """
    ids = tuple(sorted(snaps))
    file = cache / f"matrix-{_key(road_map, snaps)}.npz"
    stored = _read(file, ids)
    if stored is not None:
        return stored
    matrix = compute_matrix(road_map, snaps)
    _write(file, matrix)
    return matrix


def compute_matrix(
    road_map: RoadMap, snaps: Mapping[str, Snap], engine: str = "quicker"
) -> DriveMatrix:
    """Compute the matrix of all places.

    Parameters
    ----------
    road_map, snaps
        As for `drive_matrix`.
    engine
        See `search.least_costs`; all give the same figures.
    """
    ids = tuple(sorted(snaps))
    places = [snaps[place_id] for place_id in ids]
    cost = least_costs(
        turn_graph(road_map),
        [departures(road_map, place) for place in places],
        [arrivals(road_map, place) for place in places],
        engine,
    )
    by_street: dict[int, list[int]] = {}
    for i, place in enumerate(places):
        by_street.setdefault(max(place.edge, int(road_map.twin[place.edge])), []).append(i)
    for group in by_street.values():
        for i in group:
            for j in group:
                straight = along_one_edge(road_map, places[i], places[j]).values()
                cost[i, j] = min([int(cost[i, j]), *straight])
    np.fill_diagonal(cost, 0)
    drive_ms, length_dm = unpack(cost)
    return DriveMatrix(
        ids,
        ((drive_ms + 500) // 1000).astype(np.int32),
        ((length_dm + 5) // 10).astype(np.int32),
    )


def _key(road_map: RoadMap, snaps: Mapping[str, Snap]) -> str:
    """Return 32 hexadecimal digits for a map and places on it."""
    text = [str(KEY_VERSION), road_map.digest]
    text += [f"{i}\t{snaps[i].edge}\t{snaps[i].fraction!r}" for i in sorted(snaps)]
    return hashlib.sha256("\n".join(text).encode()).hexdigest()[:32]


def _read(file: Path, ids: tuple[str, ...]) -> DriveMatrix | None:
    if not file.is_file():
        return None
    try:
        with np.load(file) as stored:
            return DriveMatrix(ids, stored["drive_s"], stored["drive_m"])
    except (ValueError, KeyError, EOFError, OSError, zipfile.BadZipFile, InvalidValue):
        return None


def _write(file: Path, matrix: DriveMatrix) -> None:
    file.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=file.parent, prefix=".computing-") as new:
        np.savez(Path(new) / file.name, drive_s=matrix.drive_s, drive_m=matrix.drive_m)
        os.replace(Path(new) / file.name, file)
