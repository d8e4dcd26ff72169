"""What a day is reckoned with: drive times between the book's places, and the trucks of a day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache

import numpy as np
from sqlmodel import Session

from dispatch.actions.maps import DriveTimes, corrected_map, drive_times, road_map
from dispatch.clock import IsoWeek
from dispatch.day.moments import on_the_clock, shift_on
from dispatch.day.standing import Roads
from dispatch.day.state import DayState
from dispatch.errors import InvalidValue
from dispatch.places import Place
from dispatch.planning.problem import NO_DRIVE_S, Cell, Hours
from dispatch.settings import Settings
from dispatch.sites import Hold, Site
from dispatch.store.book import read_holds, read_sites, read_technicians
from dispatch.technicians import Shift, Technician
from dispatch.words import _

Closed = tuple[float, float, float]  # an area without a road to drive: latitude, longitude, metres


@dataclass(frozen=True, eq=False)
class _Asked:
    """What drive times were asked for; equal when they would be the same."""

    settings: Settings
    sites: Sequence[Site]
    technicians: Sequence[Technician]
    key: tuple[object, ...]

    def __hash__(self) -> int:
        return hash(self.key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Asked) and self.key == other.key


@dataclass(frozen=True, slots=True)
class DayBook:
    """The book as a day needs it: sites by id, technicians, holds, and drive times."""

    sites: dict[str, Site]
    technicians: list[Technician]
    holds: list[Hold]
    times: DriveTimes
    roads: Roads
    asked: _Asked

    def roads_on(self, state: DayState) -> Roads:
        """Drive times of a day, round the areas that are closed on it."""
        return _roads_around(self.asked, state.closed) if state.closed else self.roads

    def cells(self, day: date) -> tuple[tuple[Cell, ...], tuple[Hours, ...]]:
        """The trucks that are out on `day` as agreed, and the rules of their weeks."""
        from dispatch.planning.lay_out import build_problem

        week = IsoWeek.of(day)
        people = on_the_clock(self.technicians, week.days, self.asked.settings.zone)
        sites = list(self.sites.values())
        found = build_problem(week, sites, people, (), (), self.times.matrix)
        return tuple(cell for cell in found.cells if cell.day == day), found.hours

    def shift_of(self, technician_id: str, day: date) -> Shift | None:
        """A technician's shift in the seconds of a day; None without one, or without him."""
        found = next((one for one in self.technicians if one.id == technician_id), None)
        return shift_on(found, day, self.asked.settings.zone) if found else None

    def hold_on(self, site_id: str, day: date) -> Hold | None:
        """The hold of a site on a day; None when it may be visited."""
        own = (one for one in self.holds if one.site_id == site_id)
        return next((one for one in own if one.covers(day)), None)

    def name_of(self, technician_id: str | None) -> str:
        """A technician's name; the id of one who has left the book."""
        names = {one.id: one.name for one in self.technicians}
        return names.get(technician_id or "", technician_id or "")

    def site_name(self, site_id: str) -> str:
        """A site's name; the id of one that has left the book."""
        return self.sites[site_id].name if site_id in self.sites else site_id


def read_day_book(session: Session, settings: Settings) -> DayBook:
    """The book and its drive times; those asked for last are kept in memory.

    Raises
    ------
    NoMap, OffStreet, SettingsError
        As `maps.drive_times` does.
    """
    sites, technicians = read_sites(session), read_technicians(session)
    depots = tuple((one.id, one.start, one.end, one.supply) for one in technicians)
    file = settings.factors_file
    stamp = file.stat().st_mtime_ns if file.is_file() else 0
    key = (
        str(settings.data_dir.absolute()),
        road_map(settings).digest,
        stamp,
        tuple((site.id, site.place) for site in sites),
        depots,
    )
    asked = _Asked(settings, sites, technicians, key)
    times, roads = _times(asked)
    by_id, holds = {site.id: site for site in sites}, read_holds(session)
    return DayBook(by_id, technicians, holds, times, roads, asked)


def check_on_map(settings: Settings, area: Closed) -> None:
    """Refuse to close an area without a street: nobody would be led round anything.

    Raises
    ------
    InvalidValue
        When the area lies off the street map, or between its streets.
    NoMap
        When no street map has been built.
    """
    from dispatch.drive.closures import Area, closed_edges

    lat, lon, radius_m = area
    streets = road_map(settings)
    if closed_edges(streets, Area(Place(lat=lat, lon=lon), radius_m)).any():
        return
    (west, south), (east, north) = streets.shape.min(axis=0), streets.shape.max(axis=0)
    if west <= lon <= east and south <= lat <= north:
        raise InvalidValue(
            _(
                "No street lies within {radius:.0f} m of latitude {lat}, longitude {lon}: press "
                "the middle of the closed area on the map, or give a larger radius."
            ).format(radius=radius_m, lat=lat, lon=lon)
        )
    raise InvalidValue(
        _(
            "Latitude {lat}, longitude {lon} lies off the street map, which reaches from {south} "
            "to {north} and from {west} to {east}: press the middle of the closed area on the map."
        ).format(
            lat=lat,
            lon=lon,
            south=f"{south:.4f}",
            north=f"{north:.4f}",
            west=f"{west:.4f}",
            east=f"{east:.4f}",
        )
    )


@lru_cache(maxsize=2)
def _times(asked: _Asked) -> tuple[DriveTimes, Roads]:
    times = drive_times(asked.settings, asked.sites, asked.technicians)
    return times, roads_of(times)


def roads_of(times: DriveTimes) -> Roads:
    """Drive times as the day reads them."""
    row = {place_id: n for n, place_id in enumerate(times.matrix.ids)}
    return Roads(row, times.matrix.drive_s.astype(np.int64), times.matrix.drive_m.astype(np.int64))


@lru_cache(maxsize=4)
def _roads_around(asked: _Asked, closed: tuple[Closed, ...]) -> Roads:
    from dispatch.drive.closures import Area, matrix_around
    from dispatch.drive.factors import read_factors
    from dispatch.drive.matrix import slowed

    times, _plain = _times(asked)
    areas = [Area(Place(lat=lat, lon=lon), radius_m) for lat, lon, radius_m in closed]
    matrix = matrix_around(corrected_map(asked.settings), times.snaps, areas, NO_DRIVE_S)
    no_way = matrix.drive_s >= NO_DRIVE_S
    factors = read_factors(asked.settings.factors_file)
    on_the_day = {
        place: factors.working_day(Place(lat=snap.lat, lon=snap.lon))
        for place, snap in times.snaps.items()
    }
    finite = replace(matrix, drive_s=np.where(no_way, 0, matrix.drive_s).astype(np.int32))
    roads = roads_of(DriveTimes(slowed(finite, on_the_day), times.snaps, times.no_drive))
    roads.drive_s[no_way] = NO_DRIVE_S
    return roads
