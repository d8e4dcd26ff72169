"""Roads closed in an area: the same map with streets that cannot be driven, and drives round it."""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from dispatch.drive.matrix import DriveMatrix, compute_matrix
from dispatch.places import Place

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy.typing as npt

    from dispatch.drive.graph import RoadMap
    from dispatch.drive.snap import Snap

EARTH_M_PER_DEGREE = 111_195.0  # metres of one degree of latitude on a sphere of 6,371 km
# What a closed street costs: beyond any day's drive, and small enough that a drive over 30 of them
# still adds up exactly (2^53 in units of 2^-24 ms, see `turn_graph`).
CLOSED_MS = 4 * 3600 * 1000
CLOSED_S = CLOSED_MS // 1000


@dataclass(frozen=True, slots=True)
class Area:
    """A circle on the ground: its middle in degrees (WGS 84), its radius in metres."""

    middle: Place
    radius_m: float


def closed_edges(road_map: RoadMap, area: Area) -> npt.NDArray[np.bool_]:
    """Whether each directed edge comes into the area, on a plane that touches at its middle."""
    scale = np.array([math.cos(math.radians(area.middle.lat)), 1.0]) * EARTH_M_PER_DEGREE
    points = (road_map.shape - np.array([area.middle.lon, area.middle.lat])) * scale
    counts = np.diff(road_map.shape_start)
    lines = shapely.linestrings(points, indices=np.repeat(np.arange(len(counts)), counts))
    near: npt.NDArray[np.bool_] = shapely.dwithin(lines, shapely.Point(0, 0), area.radius_m)
    return near


def matrix_around(
    road_map: RoadMap, snaps: Mapping[str, Snap], areas: Sequence[Area], no_drive_s: int
) -> DriveMatrix:
    """Drive times and distances between places when no street of some areas can be driven.

    Exact: every drive is searched anew on the streets that are left. A place on a closed street
    can be left but not reached; where no way is left at all, the time is `no_drive_s`.
    """
    is_closed = np.zeros(len(road_map.tail), dtype=np.bool_)
    for area in areas:
        is_closed |= closed_edges(road_map, area)
    if not is_closed.any():
        return compute_matrix(road_map, snaps)
    drive_ms = np.where(is_closed, CLOSED_MS, road_map.drive_ms).astype(np.int32)
    words = f"{road_map.digest} closed {areas}"
    digest = hashlib.sha256(words.encode()).hexdigest()[:32]
    found = compute_matrix(replace(road_map, drive_ms=drive_ms, digest=digest), snaps)
    inside = np.array([bool(is_closed[snaps[place].edge]) for place in found.ids])
    drive_s, drive_m = found.drive_s.astype(np.int64), found.drive_m
    if inside.any():
        plain = compute_matrix(road_map, snaps)
        drive_s[inside] = plain.drive_s[inside]
        drive_m[inside] = plain.drive_m[inside]
    drive_s[drive_s >= CLOSED_S] = no_drive_s
    drive_s[:, inside] = no_drive_s
    np.fill_diagonal(drive_s, 0)
    return DriveMatrix(found.ids, drive_s.astype(np.int32), drive_m)
