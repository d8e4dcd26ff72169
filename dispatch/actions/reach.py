"""Where the sites lie on the streets, and which of them are near an address."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from sqlmodel import Session

from dispatch.actions.book import address_finder
from dispatch.actions.lists import ListTable
from dispatch.actions.maps import corrected_map, places_of, road_map
from dispatch.errors import OffStreet
from dispatch.measures import measured
from dispatch.places import Place
from dispatch.settings import Settings
from dispatch.store.book import read_sites


@dataclass(frozen=True, slots=True)
class SiteReached:
    """A site and the drive to it: seconds, slowed as planning slows them, and metres."""

    site_id: str
    name: str
    drive_s: int
    drive_m: int


@dataclass(frozen=True, slots=True)
class Within:
    """Sites within a time of an address, the nearest first.

    `place` is where the address was found, `street` and `detour_m` where the drive begins and how
    far from there; `no_drive` says in a sentence, by site id, why a site cannot be told.
    """

    place: Place
    street: str
    detour_m: float
    limit_s: int
    sites: tuple[SiteReached, ...]
    no_drive: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class SiteStreet:
    """Where a site is served from: the street, and the straight line to it in metres.

    For a site off the streets, `problem` is the sentence that says so and `street` is empty.
    """

    site_id: str
    name: str
    street: str
    detour_m: float
    problem: str


def sites_within(session: Session, settings: Settings, address: str, limit_s: int) -> Within:
    """Sites that are reached from an address within a time.

    Parameters
    ----------
    address
        Such as `12 Oak Street, Millbrook`.
    limit_s
        Seconds of driving.

    Raises
    ------
    NoMap
        When no map has been built yet.
    AddressNotFound
        When the address is not known.
    OffStreet
        When it lies too far from any street.
    InvalidValue
        When the time is negative.
    """
    from dispatch.drive.factors import read_factors
    from dispatch.drive.reach import within
    from dispatch.drive.snap import snap_all

    place = address_finder(settings)(address)
    roads = corrected_map(settings)
    sites = {site.id: site for site in read_sites(session)}
    places = places_of(list(sites.values()), [])
    snaps, problems = snap_all(roads, places | {address: place})
    if address in problems:
        raise OffStreet(measured(problems[address]))
    start = snaps.pop(address)
    factors = read_factors(settings.factors_file)
    here = factors.working_day(place)
    slowed = {name: (here + factors.working_day(places[name])) / 2 for name in snaps}
    furthest_s = math.ceil(limit_s / min(slowed.values(), default=1.0))
    found = []
    for one in within(roads, start, snaps, furthest_s):
        site = sites[one.place.partition(":")[2]]
        drive_s = round(one.drive_s * slowed[one.place])
        if drive_s <= limit_s:
            found.append(SiteReached(site.id, site.name, drive_s, one.drive_m))
    found.sort(key=lambda one: (one.drive_s, one.site_id))
    no_drive = {name.partition(":")[2]: measured(words) for name, words in problems.items()}
    return Within(place, start.street, start.detour_m, limit_s, tuple(found), no_drive)


def site_streets(session: Session, settings: Settings) -> list[SiteStreet]:
    """Where each site is served from, ordered by id.

    Raises
    ------
    NoMap
        When no map has been built yet.
    """
    from dispatch.drive.snap import snap_all

    sites = read_sites(session)
    snaps, problems = snap_all(road_map(settings), places_of(sites, []))
    rows = []
    for site in sites:
        name = f"site:{site.id}"
        if name in snaps:
            rows.append(
                SiteStreet(site.id, site.name, snaps[name].street, snaps[name].detour_m, "")
            )
        else:
            rows.append(SiteStreet(site.id, site.name, "", 0.0, measured(problems[name])))
    return rows


def within_list(found: Within) -> ListTable:
    """The sites within a time as a table; minutes with one decimal, kilometres with two."""
    rows = [
        (one.site_id, one.name, round(one.drive_s / 60, 1), round(one.drive_m / 1000, 2))
        for one in found.sites
    ]
    return ListTable(("site", "name", "minutes", "km"), tuple(rows))


def street_list(rows: list[SiteStreet]) -> ListTable:
    """Where sites are served from as a table; those off the streets have no detour."""
    cells = [
        (one.site_id, one.name, one.street, None if one.problem else one.detour_m, one.problem)
        for one in rows
    ]
    return ListTable(("site", "name", "street", "detour_m", "problem"), tuple(cells))
