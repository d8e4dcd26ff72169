"""A place on the earth."""

from __future__ import annotations

import math
from dataclasses import dataclass

from dispatch.errors import InvalidValue
from dispatch.words import _

EARTH_RADIUS_M = 6_371_008.8  # mean radius R1 of the WGS 84 ellipsoid (IUGG)


@dataclass(frozen=True, slots=True)
class Place:
    """A point in WGS 84, degrees.

    Raises
    ------
    InvalidValue
        When latitude or longitude lies outside the globe.
    """

    lat: float
    lon: float

    def __post_init__(self) -> None:
        if not (-90 <= self.lat <= 90 and -180 <= self.lon <= 180):
            raise InvalidValue(
                _(
                    "{lat}, {lon} is no place on the globe: latitude runs from -90 to 90, "
                    "longitude from -180 to 180. Are the two swapped?"
                ).format(lat=self.lat, lon=self.lon)
            )


def straight_line_m(a: Place, b: Place) -> float:
    """Great-circle distance in metres (haversine; R. W. Sinnott, Sky and Telescope 68, 1984)."""
    lat_a, lat_b = math.radians(a.lat), math.radians(b.lat)
    half_dlat = (lat_b - lat_a) / 2
    half_dlon = math.radians(b.lon - a.lon) / 2
    h = math.sin(half_dlat) ** 2 + math.cos(lat_a) * math.cos(lat_b) * math.sin(half_dlon) ** 2
    return 2 * EARTH_RADIUS_M * math.asin(math.sqrt(h))
