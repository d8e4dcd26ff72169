"""The street map and the drive times on it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from sqlmodel import Session

from dispatch.errors import OffStreet
from dispatch.places import Place
from dispatch.settings import Settings
from dispatch.sites import Site
from dispatch.store.book import read_sites, read_technicians
from dispatch.technicians import Technician
from dispatch.words import N_, _

if TYPE_CHECKING:  # these take seconds to import, and most commands do without
    from dispatch.drive.graph import MapSummary, RoadMap
    from dispatch.drive.matrix import DriveMatrix
    from dispatch.drive.snap import Snap


@dataclass(frozen=True, slots=True)
class DriveTimes:
    """Drive times between all sites and depots that lie on a street.

    `matrix` and `snaps` name places 'site:S001', 'start:T1' and 'end:T1'; `no_drive` says in a
    sentence, by the same name, why a site has no drive times.
    """

    matrix: DriveMatrix
    snaps: Mapping[str, Snap]
    no_drive: Mapping[str, str]


def build_map(
    settings: Settings,
    file: Path,
    progress: Callable[[str], None] = lambda _line: None,
    should_stop: Callable[[], bool] = lambda: False,
) -> MapSummary:
    """Build the street map from an extract or a GraphML file; a failed build leaves the old map.

    Raises
    ------
    UnreadableMap, NoStreets
        When the file is no street map, or has no street that can be driven.
    MapError
        When the map cannot be written.
    Cancelled
        When it should stop.
    """
    from dispatch.drive.build import build_road_map

    most_bytes = round(settings.map_unpacked_limit_gb * 1e9)
    road_map = build_road_map(
        file, settings.map_dir, progress, should_stop=should_stop, most_unpacked_bytes=most_bytes
    )
    return road_map.summary


def download_map(
    settings: Settings,
    area: str | tuple[float, float, float, float],
    progress: Callable[[str], None] = lambda _line: None,
    should_stop: Callable[[], bool] = lambda: False,
) -> MapSummary:
    """Build the street map of a place, or of a box of south, west, north, east, from the internet.

    Raises
    ------
    MapError
        When it cannot be downloaded; and as `build_map` does.
    SettingsError
        When a service lies at a private address, which the settings do not allow.
    """
    from dispatch.drive.download import download_extract
    from dispatch.drive.public import check_public

    nominatim = f"{settings.geocoder_scheme}://{settings.geocoder_domain}/"
    if not settings.online_private:
        check_public(nominatim)
        check_public(settings.overpass_url)
    with TemporaryDirectory(prefix="map-") as folder:
        file = download_extract(
            area,
            Path(folder),
            settings.overpass_url,
            nominatim,
            progress,
            public_only=not settings.online_private,
        )
        return build_map(settings, file, progress, should_stop)


def export_map(settings: Settings, file: Path) -> int:
    """Write the streets of the map as a GraphML file; return the number of its directed edges.

    Raises
    ------
    NoMap
        When no map has been built yet.
    MapError
        When the file cannot be written.
    """
    from dispatch.drive.build import load_streets
    from dispatch.drive.osmnx_graph import save_graphml

    streets = load_streets(settings.map_dir)
    save_graphml(streets, file)
    return int(sum(way.sum() for way in streets.directions))


DEEDS = {"start": N_("start the day"), "end": N_("end the day"), "supply": N_("load")}


def road_map(settings: Settings) -> RoadMap:
    """The street map, read once and again only after it was rebuilt.

    Raises
    ------
    NoMap
        When none has been built yet.
    """
    from dispatch.drive.graph import load_road_map

    folder = settings.map_dir
    if not folder.is_dir():
        return load_road_map(folder)
    state = folder.stat()  # a build renames into the folder, which moves its time of change
    return _road_map_as_of(folder.absolute(), (state.st_ino, state.st_mtime_ns))


def corrected_map(settings: Settings) -> RoadMap:
    """The street map with the factors of road classes that were learnt; raises as `road_map`.

    Raises
    ------
    SettingsError
        When the file of drive-time factors cannot be used.
    """
    from dispatch.drive.factors import read_factors

    classes = read_factors(settings.factors_file).classes
    return _corrected(road_map(settings), tuple(sorted(classes.items())))


def drive_matrix_for(session: Session, settings: Settings) -> DriveTimes:
    """Drive times of the whole book; computed once for a map and set of places, then on disk.

    Raises
    ------
    NoMap
        When no map has been built yet.
    OffStreet
        When a technician starts or ends where no truck can go.
    SettingsError
        When the file of drive-time factors cannot be used.
    """
    return drive_times(settings, read_sites(session), read_technicians(session))


def drive_times(
    settings: Settings, sites: Sequence[Site], technicians: Sequence[Technician]
) -> DriveTimes:
    """Drive times between these sites and depots; raises as `drive_matrix_for` does.

    They are slowed by what the company has set or learnt of its regions, over a working day.
    """
    from dispatch.drive.factors import read_factors
    from dispatch.drive.matrix import drive_matrix, slowed
    from dispatch.drive.snap import snap_all

    roads = corrected_map(settings)
    snaps, problems = snap_all(roads, places_of(sites, technicians))
    names = {technician.id: technician.name for technician in technicians}
    for place_id, problem in problems.items():
        kind, _rest, owner = place_id.partition(":")
        if kind != "site":
            raise OffStreet(
                _(
                    "Technician {owner} ({names}) cannot {deeds} there: {problem} Correct the "
                    "{kind} place in the technicians' table and import it again."
                ).format(
                    owner=owner,
                    names=names[owner],
                    deeds=_(DEEDS[kind]),
                    problem=problem,
                    kind=kind,
                )
            )
    factors = read_factors(settings.factors_file)
    on_the_day = {
        place: factors.working_day(Place(lat=snap.lat, lon=snap.lon))
        for place, snap in snaps.items()
    }
    matrix = slowed(drive_matrix(roads, snaps, settings.matrix_dir, settings.map_dir), on_the_day)
    return DriveTimes(matrix, snaps, problems)


def places_of(sites: Sequence[Site], technicians: Sequence[Technician]) -> dict[str, Place]:
    """Places by the ids under which drive times know them."""
    places = {f"site:{site.id}": site.place for site in sites}
    for technician in technicians:
        places[f"start:{technician.id}"] = technician.start
        places[f"end:{technician.id}"] = technician.end
        if technician.supply is not None:
            places[f"supply:{technician.id}"] = technician.supply.place
    return places


@lru_cache(maxsize=2)
def _corrected(roads: RoadMap, classes: tuple[tuple[str, float], ...]) -> RoadMap:
    from dispatch.drive.class_factors import with_classes

    return with_classes(roads, dict(classes))


@lru_cache(maxsize=2)
def _road_map_as_of(folder: Path, _state: tuple[int, int]) -> RoadMap:
    from dispatch.drive.graph import load_road_map

    return load_road_map(folder)
