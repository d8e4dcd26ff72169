"""Where streets are dense, and driven slower than the same class in the open country."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.ndimage import uniform_filter

from dispatch.places import EARTH_RADIUS_M

if TYPE_CHECKING:
    import numpy.typing as npt

    Floats = npt.NDArray[np.float64]

# Kilometres of street in a square kilometre from which an area counts as built up. Measured: at
# this density, taken over 3 km, an open engine turns to its speeds for towns (95 % of streets
# agree, see tests/bench/drive_accuracy.py).
BUILT_UP_KM_PER_KM2 = 12.5
REACH_M = 1500.0  # half the side of the square around a street over which density is taken
CELL_M = 250.0  # streets are counted in cells of this side


def built_up(lon: Floats, lat: Floats, length_m: Floats) -> npt.NDArray[np.bool_]:
    """Return by street whether it lies where streets are dense.

    Parameters
    ----------
    lon, lat
        The middle of each street, degrees.
    length_m
        Its length in metres, both directions counted once.

    Notes
    -----
    Nothing is known beyond the edge of the map, which counts as open country.
    """
    if len(lon) == 0:
        return np.zeros(0, dtype=np.bool_)
    north_m = np.radians(lat) * EARTH_RADIUS_M
    east_m = np.radians(lon) * EARTH_RADIUS_M * np.cos(np.radians(np.median(lat)))
    row = ((north_m - north_m.min()) // CELL_M).astype(np.int64)
    column = ((east_m - east_m.min()) // CELL_M).astype(np.int64)
    street_km = np.zeros((int(row.max()) + 1, int(column.max()) + 1))
    np.add.at(street_km, (row, column), length_m / 1000)
    cells = 2 * round(REACH_M / CELL_M) + 1
    density = uniform_filter(street_km, cells, mode="constant") / (CELL_M / 1000) ** 2
    dense: npt.NDArray[np.bool_] = density[row, column] >= BUILT_UP_KM_PER_KM2
    return dense
