"""The streets that a week's routes follow, as GeoJSON (RFC 7946); kept on disk once drawn."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from sqlmodel import Session

from dispatch.actions.maps import corrected_map, places_of
from dispatch.clock import IsoWeek
from dispatch.planning.plan import Route
from dispatch.settings import Settings
from dispatch.store.book import read_sites, read_technicians
from dispatch.store.plans import read_plan

if TYPE_CHECKING:
    from dispatch.drive.graph import RoadMap
    from dispatch.drive.snap import Snap

DECIMALS = 5  # of a degree, about 1 m, finer than a street is drawn
DEVIATION = 1e-5  # degrees that a line may leave its street, about 1 m; halves what a page fetches
KEY_VERSION = 3  # raise it when the same map and legs give other lines


def route_lines(session: Session, settings: Settings, week: IsoWeek) -> dict[str, Any]:
    """Every leg of every route of `week` as a feature of a GeoJSON FeatureCollection.

    A feature's geometry is a LineString of longitude, latitude pairs, degrees WGS 84, or null
    where a place has left the streets since the week was planned. Its properties are
    `technician_id`, `day`, `leg` (1 leads to the first stop, the last one to the end place),
    `from` and `to` (ids of places as in the drive-time matrix), `drive_s` and `drive_m`.

    Raises
    ------
    NotFound
        When the week has not been planned.
    NoMap
        When no street map has been built.
    """
    from dispatch.drive.snap import snap_all

    plan = read_plan(session, week)
    roads = corrected_map(settings)
    snaps, _ = snap_all(roads, places_of(read_sites(session), read_technicians(session)))
    drawn = [_drawn(settings, roads, snaps, route) for route in plan.routes]
    return {"type": "FeatureCollection", "features": [one for legs in drawn for one in legs]}


def lines_of_route(session: Session, settings: Settings, route: Route) -> list[dict[str, Any]]:
    """The legs of one route as `route_lines` has them; raises NoMap as it does."""
    from dispatch.drive.snap import snap_all

    roads = corrected_map(settings)
    snaps, _ = snap_all(roads, places_of(read_sites(session), read_technicians(session)))
    return _drawn(settings, roads, snaps, route)


def _drawn(
    settings: Settings, roads: RoadMap, snaps: Mapping[str, Snap], route: Route
) -> list[dict[str, Any]]:
    """The legs of a route, from the disk where they have been drawn before.

    Routes are kept one by one, so that an edit of a week draws anew what it has changed alone.
    """
    file = settings.matrix_dir / f"lines-{_key(roads, snaps, route)}.json"
    if file.is_file():
        return cast("list[dict[str, Any]]", json.loads(file.read_text()))
    legs = _features(roads, snaps, route)
    _write(file, json.dumps(legs))
    return legs


def _features(roads: RoadMap, snaps: Mapping[str, Snap], route: Route) -> list[dict[str, Any]]:
    places = _places(route)
    drives = [(stop.drive_s, stop.drive_m) for stop in route.stops]
    if route.supply_after is not None:
        drives.insert(route.supply_after, (route.supply_drive_s, route.supply_drive_m))
    drives.append((route.return_drive_s, route.return_drive_m))
    return [
        {
            "type": "Feature",
            "geometry": _geometry(roads, snaps.get(start), snaps.get(end)),
            "properties": {
                "technician_id": route.technician_id,
                "day": route.day.isoformat(),
                "leg": leg,
                "from": start,
                "to": end,
                "drive_s": drive_s,
                "drive_m": drive_m,
            },
        }
        for leg, (start, end, (drive_s, drive_m)) in enumerate(
            zip(places, places[1:], drives, strict=False), start=1
        )
    ]


def _places(route: Route) -> list[str]:
    """Ids of the places of a route in the order driven, depots and supply stop included."""
    stops = [f"site:{stop.site_id}" for stop in route.stops]
    if route.supply_after is not None:
        stops.insert(route.supply_after, f"supply:{route.technician_id}")
    return [f"start:{route.technician_id}", *stops, f"end:{route.technician_id}"]


def _geometry(roads: RoadMap, start: Snap | None, end: Snap | None) -> dict[str, Any] | None:
    import shapely

    from dispatch.drive.paths import leg_line

    if start is None or end is None:
        return None
    line = leg_line(roads, start, end)
    if len(line) > 2:
        line = list(shapely.LineString(line).simplify(DEVIATION, preserve_topology=False).coords)
    rounded = [[round(lon, DECIMALS), round(lat, DECIMALS)] for lon, lat in line]
    return {"type": "LineString", "coordinates": rounded}


def _key(roads: RoadMap, snaps: Mapping[str, Snap], route: Route) -> str:
    """32 hexadecimal digits for a map, a route and where its places lie."""
    digest = hashlib.sha256(f"{KEY_VERSION} {roads.digest}".encode())
    places = [(place, snaps.get(place)) for place in _places(route)]
    drives = [(stop.drive_s, stop.drive_m) for stop in route.stops]
    digest.update(repr((route.technician_id, route.day, drives, places)).encode())
    digest.update(repr((route.supply_drive_s, route.return_drive_s)).encode())
    return digest.hexdigest()[:32]


def _write(file: Path, text: str) -> None:
    """Write a file that is either whole or not there."""
    file.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=file.parent, prefix=".drawing-") as new:
        (Path(new) / file.name).write_text(text)
        os.replace(Path(new) / file.name, file)
