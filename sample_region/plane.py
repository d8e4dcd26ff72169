"""The flat plane the town is drawn on: metres east and north of its middle."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from shapely.geometry import LineString

Point = tuple[float, float]

MIDDLE_LAT = 31.0  # degrees; open Pacific, some 1,200 km off the coast, so that no real
MIDDLE_LON = -130.0  # town can be meant
METRES_PER_DEGREE = 111_195.0  # metres; sphere of 6,371,008.8 m, times pi / 180


def to_lat_lon(point: Point) -> tuple[float, float]:
    """Degrees (latitude, longitude) of a point in metres, rounded to 1e-7 as OpenStreetMap does."""
    x, y = point
    lon = MIDDLE_LON + x / (METRES_PER_DEGREE * math.cos(math.radians(MIDDLE_LAT)))
    return round(MIDDLE_LAT + y / METRES_PER_DEGREE, 7), round(lon, 7)


def turned(point: Point, angle: float) -> Point:
    """The point turned about the origin by `angle` radians, counter-clockwise."""
    cos, sin = math.cos(angle), math.sin(angle)
    return point[0] * cos - point[1] * sin, point[0] * sin + point[1] * cos


def between(a: Point, b: Point, share: float) -> Point:
    """The point `share` (0 to 1) of the way from a to b."""
    return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share


def deflection(a: Point, b: Point, c: Point) -> float:
    """By how many radians (0 to pi) the way a-b-c bends at b."""
    first = math.atan2(b[1] - a[1], b[0] - a[0])
    second = math.atan2(c[1] - b[1], c[0] - b[0])
    return abs((second - first + math.pi) % (2 * math.pi) - math.pi)


def resampled(points: Sequence[Point], step_m: float) -> list[Point]:
    """The same line with a vertex about every `step_m` metres, ends kept."""
    line = LineString(points)
    parts = max(1, round(line.length / step_m))
    inner = [line.interpolate(n / parts, normalized=True) for n in range(1, parts)]
    return [points[0], *((p.x, p.y) for p in inner), points[-1]]


def rounded(points: Sequence[Point], passes: int = 2) -> list[Point]:
    """The line with its corners cut `passes` times (Chaikin, 1974), ends kept, thinned to 0.6 m."""
    corners = list(points)
    for _ in range(passes):
        if len(corners) < 3:
            return corners
        cut = [corners[0]]
        for a, b in itertools.pairwise(corners):
            cut += [between(a, b, 0.25), between(a, b, 0.75)]
        corners = [*cut[:1], *cut[2:-1], corners[-1]]
    return [(x, y) for x, y in LineString(corners).simplify(0.6).coords]


def sway(point: Point, phase: float) -> Point:
    """The point moved by slow waves of up to about 100 m, so that long roads bend a little."""
    x, y = point
    dx = 62 * math.sin(y / 760 + phase) + 34 * math.sin(y / 410 + x / 900 + 2 * phase)
    dy = 62 * math.sin(x / 820 + 3 * phase) + 34 * math.sin(x / 430 - y / 870 + phase)
    return x + dx, y + dy
