"""Where streets are dense."""

from __future__ import annotations

import numpy as np

from dispatch.drive.built_up import built_up

KM_DEG = 180 / np.pi / 6371.0088  # degrees of latitude in a kilometre


def test_a_town_is_dense_and_the_country_around_it_is_not() -> None:
    """A town of 5 km by 5 km with 200 m of street on every hectare has 20 km on each km².

    20 km away from it lies a single street.
    """
    side_km = np.arange(0.05, 5, 0.1)
    north_km, east_km = (axis.ravel() for axis in np.meshgrid(side_km, side_km))
    lat = np.append(north_km * KM_DEG, 25 * KM_DEG)
    lon = np.append(east_km * KM_DEG, 2.5 * KM_DEG)
    dense = built_up(lon, lat, np.full(len(lat), 200.0))
    middle = (np.abs(north_km - 2.5) < 0.5) & (np.abs(east_km - 2.5) < 0.5)
    assert dense[:-1][middle].all()
    assert not dense[-1]
    assert not built_up(lon, lat, np.full(len(lat), 100.0)).any()  # 10 km on each km²


def test_nothing_is_dense_on_an_empty_map() -> None:
    """A map without streets is refused elsewhere, with a sentence of its own."""
    assert built_up(np.zeros(0), np.zeros(0), np.zeros(0)).shape == (0,)
