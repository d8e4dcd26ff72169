"""Finding the street where a place is served: the gate, not the roof.

A place is put on the nearest street edge that can be driven to and from, at the point nearest to
it; never on a motorway or in a tunnel.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from dispatch.errors import InvalidValue
from dispatch.measures import kept_amount
from dispatch.places import Place, straight_line_m
from dispatch.words import _

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy.typing as npt

    from dispatch.drive.graph import RoadMap

OFF_STREET_LIMIT_M = 300.0  # metres from a pool to its street; common practice, a long driveway


@dataclass(frozen=True, slots=True)
class Snap:
    """A place on a street.

    `edge` is one direction of the street (its twin, where there is one, is the other), `fraction`
    the share of the edge's length that lies before the place, `detour_m` the straight line from the
    place to the street in metres; `lat` and `lon` are the point on the street, degrees.
    """

    edge: int
    fraction: float
    detour_m: float
    street: str
    lat: float
    lon: float

    def __post_init__(self) -> None:
        if self.edge < 0 or not 0 <= self.fraction <= 1:
            raise InvalidValue(
                _(
                    "Edge {edge}, fraction {fraction} is no place on a street: the edge is 0 "
                    "or more and the fraction from 0 to 1."
                ).format(edge=self.edge, fraction=self.fraction)
            )


@dataclass(frozen=True, slots=True, eq=False)
class _Lines:
    """Lines in the Mercator plane with the tree that finds the nearest."""

    number: npt.NDArray[np.int64]  # edge, or index among the cut-off streets
    lines: npt.NDArray[Any]
    tree: shapely.STRtree


def snap_all(
    road_map: RoadMap, places: Mapping[str, Place]
) -> tuple[dict[str, Snap], dict[str, str]]:
    """Put places on their streets.

    Parameters
    ----------
    road_map
        The streets.
    places
        By id, such as `site:S001`, `start:T1`.

    Returns
    -------
    tuple
        Snaps by id, and for each place without one a sentence saying why and what to do.
    """
    snaps, problems = {}, {}
    for (place_id, place), snap in zip(
        places.items(), _nearest(road_map, list(places.values())), strict=True
    ):
        if snap.detour_m <= OFF_STREET_LIMIT_M:
            snaps[place_id] = snap
        else:
            problems[place_id] = _why_off_street(road_map, place_id, place, snap)
    return snaps, problems


def _nearest(road_map: RoadMap, places: Sequence[Place]) -> list[Snap]:
    if not places:
        return []
    streets = _streets(road_map)
    points, which = _find(streets, places)
    lines = streets.lines[which]
    fractions = shapely.line_locate_point(lines, points, normalized=True)
    on_street = _from_mercator(
        shapely.get_coordinates(shapely.line_interpolate_point(lines, fractions, normalized=True))
    )
    snaps = []
    for place, edge, fraction, (lon, lat) in zip(
        places, streets.number[which], fractions, on_street, strict=True
    ):
        detour_m = straight_line_m(place, Place(lat=float(lat), lon=float(lon)))
        street = road_map.street(int(edge))
        snaps.append(
            Snap(int(edge), float(fraction), round(detour_m, 1), street, float(lat), float(lon))
        )
    return snaps


def _find(lines: _Lines, places: Sequence[Place]) -> tuple[npt.NDArray[Any], npt.NDArray[np.int64]]:
    """Return the places as points of the plane and, for each, the index of the nearest line.

    Of lines equally near the one with the lowest number is taken, so that results repeat.
    """
    points = shapely.points(_to_mercator(np.array([(place.lon, place.lat) for place in places])))
    hits = lines.tree.query_nearest(points, all_matches=True)
    which = np.full(len(places), np.iinfo(np.int64).max)
    np.minimum.at(which, hits[0], hits[1])
    return points, which


@lru_cache(maxsize=2)
def _streets(road_map: RoadMap) -> _Lines:
    """Return one direction of every street on which a truck may stop."""
    edges = np.arange(len(road_map.tail))
    once = (road_map.twin < 0) | (road_map.twin > edges)
    wanted = edges[once & road_map.stopping]
    if len(wanted) == 0:
        wanted = edges[once]
    return _lines(road_map.shape, road_map.shape_start, wanted)


@lru_cache(maxsize=2)
def _cut_off_streets(road_map: RoadMap) -> _Lines | None:
    count = len(road_map.cut_off_name)
    if count == 0:
        return None
    return _lines(road_map.cut_off_shape, road_map.cut_off_start, np.arange(count))


def _lines(
    shape: npt.NDArray[np.float64], start: npt.NDArray[np.int64], wanted: npt.NDArray[np.int64]
) -> _Lines:
    count = start[wanted + 1] - start[wanted]
    rows = np.repeat(start[wanted] - np.cumsum(count) + count, count) + np.arange(count.sum())
    lines = shapely.linestrings(
        _to_mercator(shape[rows]), indices=np.repeat(np.arange(len(wanted)), count)
    )
    return _Lines(wanted, lines, shapely.STRtree(lines))


def _to_mercator(lon_lat: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return radians in the spherical Mercator plane, in which near shapes keep their angles."""
    lat = np.radians(np.clip(lon_lat[:, 1], -89.0, 89.0))
    return np.column_stack([np.radians(lon_lat[:, 0]), np.arctanh(np.sin(lat))])


def _from_mercator(plane: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    return np.column_stack([np.degrees(plane[:, 0]), np.degrees(np.arcsin(np.tanh(plane[:, 1])))])


def _why_off_street(road_map: RoadMap, place_id: str, place: Place, snap: Snap) -> str:
    """Return a sentence with the distance, the street and the mend."""
    where = _("{place} at {lat:.5f}, {lon:.5f}").format(
        place=_label(place_id), lat=place.lat, lon=place.lon
    )
    cut_off = _cut_off_streets(road_map)
    if cut_off is not None:
        points, which = _find(cut_off, [place])
        near = shapely.get_coordinates(
            shapely.line_interpolate_point(
                cut_off.lines[which], shapely.line_locate_point(cut_off.lines[which], points)
            )
        )
        lon, lat = _from_mercator(near)[0]
        away_m = straight_line_m(place, Place(lat=float(lat), lon=float(lon)))
        if away_m <= OFF_STREET_LIMIT_M:
            name = road_map.names[road_map.cut_off_name[which[0]]] or _("an unnamed street")
            return _(
                "{where} is {away} from {name}, which no drive can both reach and leave: "
                "it lies on an island or is cut off at the edge of the map. The nearest "
                "street of the network is {street}, {detour} away. Correct the place, or "
                "build the map from an extract of a larger area."
            ).format(
                where=where,
                away=_distance(away_m),
                name=name,
                street=snap.street,
                detour=_distance(snap.detour_m),
            )
    south, west, north, east = road_map.summary.bounds
    off = _(
        "{where} is {detour} from the nearest street, {street}; more than "
        "{off_street_limit} is too far."
    ).format(
        where=where,
        detour=_distance(snap.detour_m),
        street=snap.street,
        off_street_limit=_distance(OFF_STREET_LIMIT_M),
    )
    if south <= place.lon <= north and west <= place.lat <= east:
        return _("{off} Swap latitude and longitude: then it lies on the map.").format(off=off)
    if south <= place.lat <= north and west <= place.lon <= east:
        return _("{off} Correct its latitude and longitude, or give the place of its gate.").format(
            off=off
        )
    return _(
        "{off} It lies outside the street map, which covers latitude {south:.4f} to "
        "{north:.4f} and longitude {west:.4f} to {east:.4f}. Correct the place, or build a "
        "map that holds it."
    ).format(off=off, south=south, north=north, west=west, east=east)


def _label(place_id: str) -> str:
    """Return 'Site S001' for 'site:S001', 'The start of T1' for 'start:T1'."""
    kind, _rest, name = place_id.partition(":")
    if not name:
        return place_id
    return (
        _("Site {name}").format(name=name)
        if kind == "site"
        else _("The {kind} of {name}").format(kind=kind, name=name)
    )


def _distance(distance_m: float) -> str:
    is_short = distance_m < 2000
    return kept_amount(distance_m, "m") if is_short else kept_amount(distance_m / 1000, "km")
