"""Drive times and distances from every place to every place.

Kept on disk under a name made from the map (its digest covers speeds and turns), by the spot of
each place, so that a drive is computed once and never used for anything else.
"""

from __future__ import annotations

import os
import zipfile
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from dispatch.drive.graph import drives_key, hierarchy_file
from dispatch.drive.scratch import COMPUTING, scratch_folder
from dispatch.drive.search import is_much, least_costs
from dispatch.drive.turn_graph import along_one_edge, arrivals, departures, turn_graph, unpack
from dispatch.errors import InvalidValue
from dispatch.words import _

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy.typing as npt

    from dispatch.drive.graph import RoadMap
    from dispatch.drive.hierarchy import Hierarchy
    from dispatch.drive.snap import Snap

    Ints = npt.NDArray[np.int32]


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
                _(
                    "A matrix of {number} places needs {shape} x {places} times and distances, "
                    "not {rows} and {shape4}."
                ).format(
                    number=len(self.ids),
                    shape=shape[0],
                    places=shape[1],
                    rows=self.drive_s.shape,
                    shape4=self.drive_m.shape,
                )
            )
        if len(set(self.ids)) != len(self.ids):
            raise InvalidValue(
                _("A place stands twice in the drive-time matrix; give each one id.")
            )
        if self.drive_s.size and (self.drive_s.min() < 0 or self.drive_m.min() < 0):
            raise InvalidValue(_("A drive time or distance is negative; they are 0 or more."))

    def drive(self, start: str, end: str) -> tuple[int, int]:
        """Return seconds and metres from one place to another."""
        i, j = self.ids.index(start), self.ids.index(end)
        return int(self.drive_s[i, j]), int(self.drive_m[i, j])


def drive_matrix(
    road_map: RoadMap, snaps: Mapping[str, Snap], cache: Path, map_folder: Path | None = None
) -> DriveMatrix:
    """Return the matrix of all places; what was computed before is read from the disk.

    A drive is taken from the disk only if the map (with its speeds and turns) and the spots of both
    its ends on the street are the same to the last digit. Each new or moved place costs one search
    from it and one to it.

    Parameters
    ----------
    road_map
        The streets.
    snaps
        Places on streets of this map, by id.
    cache
        A folder; made if missing. It is for matrices alone: files of other maps in it are deleted,
        a damaged one is computed again.
    map_folder
        Where the map was built, with the hierarchy of a large one beside it.
    """
    ids = tuple(sorted(snaps))
    spots = [(snaps[place].edge, snaps[place].fraction) for place in ids]
    file = cache / f"matrix-{drives_key(road_map)}.npz"
    known = _read(file)
    row_of = {spot: row for row, spot in enumerate(known.spots)}
    fresh = [i for i, spot in enumerate(spots) if spot not in row_of]
    rows = np.array([row_of.get(spot, 0) for spot in spots], dtype=np.int64)
    drive_s, drive_m = (
        values[np.ix_(rows, rows)] if len(known.spots) else np.zeros((len(ids), len(ids)), np.int32)
        for values in (known.drive_s, known.drive_m)
    )
    if fresh:
        places = [snaps[place] for place in ids]
        ready = _hierarchy(road_map, (map_folder or cache, cache), len(fresh))
        _fill(road_map, places, fresh, (drive_s, drive_m), ready)
        _write(file, _Stored(tuple(spots), drive_s, drive_m))
    np.fill_diagonal(drive_s, 0)
    np.fill_diagonal(drive_m, 0)
    return DriveMatrix(ids, drive_s, drive_m)


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
    drive_s, drive_m = drives(road_map, places, places, engine)
    np.fill_diagonal(drive_s, 0)
    np.fill_diagonal(drive_m, 0)
    return DriveMatrix(ids, drive_s, drive_m)


def slowed(matrix: DriveMatrix, factors: Mapping[str, float]) -> DriveMatrix:
    """Return a matrix with its times multiplied by the mean of the factors at both ends.

    Parameters
    ----------
    matrix
        Times without any factor.
    factors
        By place id, see `factors.Factors`.
    """
    side = np.array([factors[place] for place in matrix.ids])
    if (side == 1).all():
        return matrix
    drive_s = np.rint(matrix.drive_s * (side[:, None] + side[None, :]) / 2)
    return DriveMatrix(matrix.ids, drive_s.astype(np.int32), matrix.drive_m)


def drives(
    road_map: RoadMap,
    starts: Sequence[Snap],
    ends: Sequence[Snap],
    engine: str = "quicker",
    ready: Hierarchy | None = None,
) -> tuple[Ints, Ints]:
    """Return seconds and metres from every start (row) to every end (column), int32.

    Parameters
    ----------
    road_map
        The streets.
    starts, ends
        Places on them.
    engine, ready
        See `search.least_costs`.
    """
    cost = least_costs(
        turn_graph(road_map),
        [departures(road_map, place) for place in starts],
        [arrivals(road_map, place) for place in ends],
        engine,
        ready,
    )
    on_street: dict[int, list[int]] = {}
    for j, end in enumerate(ends):
        on_street.setdefault(_street(road_map, end), []).append(j)
    for i, start in enumerate(starts):
        for j in on_street.get(_street(road_map, start), ()):
            straight = along_one_edge(road_map, start, ends[j]).values()
            cost[i, j] = min([int(cost[i, j]), *straight])
    drive_ms, length_dm = unpack(cost)
    return ((drive_ms + 500) // 1000).astype(np.int32), ((length_dm + 5) // 10).astype(np.int32)


def _street(road_map: RoadMap, place: Snap) -> int:
    """Return one number for both directions of a place's street."""
    return max(place.edge, int(road_map.twin[place.edge]))


def _fill(
    road_map: RoadMap,
    places: Sequence[Snap],
    fresh: Sequence[int],
    values: tuple[Ints, Ints],
    ready: Hierarchy | None,
) -> None:
    """Compute rows and columns of the places that are new."""
    new = [places[i] for i in fresh]
    columns = np.array(fresh, dtype=np.int64)
    old = np.setdiff1d(np.arange(len(places)), fresh)
    onward = drives(road_map, new, places, ready=ready)
    back = drives(road_map, [places[i] for i in old], new, ready=ready)
    for value, to_all, from_old in zip(values, onward, back, strict=True):
        value[columns] = to_all
        value[np.ix_(old, columns)] = from_old


def _hierarchy(road_map: RoadMap, folders: tuple[Path, Path], searches: int) -> Hierarchy | None:
    """Return the map's hierarchy if it was kept, or is worth making; then it goes to the last."""
    files = [hierarchy_file(road_map, folder) for folder in folders]
    kept = next((file for file in files if file.is_file()), None)
    if kept is None and not is_much(turn_graph(road_map), searches, searches):
        return None
    folders[1].mkdir(parents=True, exist_ok=True)
    return _kept_hierarchy(road_map, kept or files[1])


@lru_cache(maxsize=1)
def _kept_hierarchy(road_map: RoadMap, file: Path) -> Hierarchy:
    from dispatch.drive.hierarchy import stored_hierarchy

    return stored_hierarchy(turn_graph(road_map), file)


@dataclass(frozen=True, slots=True, eq=False)
class _Stored:
    """Drives between spots, each an edge and the share of it that lies before."""

    spots: tuple[tuple[int, float], ...]
    drive_s: Ints
    drive_m: Ints


def _read(file: Path) -> _Stored:
    """Return what is kept in a file, nothing where it is missing or damaged."""
    try:
        with np.load(file) as kept:
            spots = zip(kept["edge"].tolist(), kept["fraction"].tolist(), strict=True)
            stored = _Stored(tuple(spots), kept["drive_s"], kept["drive_m"])
    except (ValueError, KeyError, EOFError, OSError, zipfile.BadZipFile):
        nothing = np.zeros((0, 0), dtype=np.int32)
        return _Stored((), nothing, nothing)
    return stored


def _write(file: Path, stored: _Stored) -> None:
    """Replace the file, and delete those of other maps and what was broken off."""
    file.parent.mkdir(parents=True, exist_ok=True)
    edge, fraction = zip(*stored.spots, strict=True)
    with scratch_folder(file.parent, COMPUTING) as new:
        np.savez(
            new / file.name,
            edge=np.array(edge, dtype=np.int64),
            fraction=np.array(fraction),
            drive_s=stored.drive_s,
            drive_m=stored.drive_m,
        )
        os.replace(new / file.name, file)
    key = file.stem.partition("-")[2]
    for other in file.parent.glob("*-*.npz"):
        if other.stem.startswith(("matrix-", "hierarchy-")) and not other.stem.endswith(key):
            other.unlink(missing_ok=True)
