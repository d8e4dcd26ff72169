"""The street map and the drive times on it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from sqlmodel import Session

from dispatch.errors import OffStreet
from dispatch.places import Place
from dispatch.settings import Settings
from dispatch.sites import Site
from dispatch.store.book import read_sites, read_technicians
from dispatch.technicians import Technician

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
    settings: Settings, file: Path, progress: Callable[[str], None] = lambda _line: None
) -> MapSummary:
    """Build the street map from an OpenStreetMap extract; a failed build leaves the old map.

    Raises
    ------
    UnreadableMap, NoStreets
        When the file is no street map, or has no street that can be driven.
    """
    from dispatch.drive.graph import build_road_map

    return build_road_map(file, settings.map_dir, progress).summary


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


def drive_matrix_for(session: Session, settings: Settings) -> DriveTimes:
    """Drive times of the whole book; computed once for a map and set of places, then on disk.

    Raises
    ------
    NoMap
        When no map has been built yet.
    OffStreet
        When a technician starts or ends where no truck can go.
    """
    return drive_times(settings, read_sites(session), read_technicians(session))


def drive_times(
    settings: Settings, sites: Sequence[Site], technicians: Sequence[Technician]
) -> DriveTimes:
    """Drive times between these sites and depots; raises as `drive_matrix_for` does."""
    from dispatch.drive.matrix import drive_matrix
    from dispatch.drive.snap import snap_all

    roads = road_map(settings)
    snaps, problems = snap_all(roads, places_of(sites, technicians))
    names = {technician.id: technician.name for technician in technicians}
    for place_id, problem in problems.items():
        kind, _, owner = place_id.partition(":")
        if kind != "site":
            raise OffStreet(
                f"Technician {owner} ({names[owner]}) cannot {kind} the day there: {problem} "
                f"Correct the {kind} place in the technicians' table and import it again."
            )
    return DriveTimes(drive_matrix(roads, snaps, settings.matrix_dir), snaps, problems)


def places_of(sites: Sequence[Site], technicians: Sequence[Technician]) -> dict[str, Place]:
    """Places by the ids under which drive times know them."""
    places = {f"site:{site.id}": site.place for site in sites}
    for technician in technicians:
        places[f"start:{technician.id}"] = technician.start
        places[f"end:{technician.id}"] = technician.end
    return places


@lru_cache(maxsize=2)
def _road_map_as_of(folder: Path, _state: tuple[int, int]) -> RoadMap:
    from dispatch.drive.graph import load_road_map

    return load_road_map(folder)
