"""A technician's day to be printed or driven by: as published, or as planned before that."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise
from typing import Any

from sqlmodel import Session

from dispatch.actions.day_sheet import DaySheet, cautions_of
from dispatch.actions.loads import load_of
from dispatch.actions.phone_day import PhoneDay, phone_day
from dispatch.actions.read_plan import day_sheet
from dispatch.actions.route_lines import lines_of_route
from dispatch.clock import IsoWeek
from dispatch.day.events import DayEvent
from dispatch.errors import NotFound
from dispatch.records.load_list import LoadList
from dispatch.settings import Settings
from dispatch.words import _


@dataclass(frozen=True, slots=True)
class PaperDay:
    """A technician's day; `version` is that of the published day, 0 while it is only planned.

    `changes` is what the office did to it since it was published first, oldest first.
    """

    sheet: DaySheet
    load: LoadList | None
    version: int
    cautions: tuple[str, ...]
    changes: tuple[DayEvent, ...] = ()


@dataclass(frozen=True, slots=True)
class DayTrack:
    """A technician's route with the line of each leg: longitude, latitude pairs in degrees."""

    sheet: DaySheet
    legs: tuple[tuple[tuple[float, float], ...], ...]


def paper_day(
    session: Session, settings: Settings, technician_id: str, day: date, *, customary: bool = True
) -> PaperDay:
    """What `technician_id` does on `day`, with the load of the truck; where nothing, why.

    Raises
    ------
    NotFound
        When there is no such technician.
    """
    found = phone_day(session, settings, technician_id, day, customary=customary)
    if found.version:
        cautions = cautions_of(settings, found.sheet)
        return PaperDay(found.sheet, found.load, found.version, cautions, found.changes[1:])
    try:
        sheet = day_sheet(session, settings, technician_id, day)
    except NotFound:  # of the plan; the technician was found before
        return PaperDay(_unplanned(found), None, 0, cautions_of(settings, found.sheet))
    load = load_of(session, settings, sheet, customary=customary) if sheet.stops else None
    return PaperDay(sheet, load, 0, cautions_of(settings, sheet))


def _unplanned(found: PhoneDay) -> DaySheet:
    """The sheet of a day in a week without a plan: free, or not planned yet."""
    if found.published:
        return found.sheet
    words = _("Week {week} has not been planned yet.").format(week=IsoWeek.of(found.sheet.day))
    return replace(found.sheet, why_empty=words)


def loaded_day(
    session: Session, settings: Settings, technician_id: str, day: date, *, customary: bool = True
) -> tuple[DaySheet, LoadList]:
    """A technician's day with what goes on the truck for it, also where there is no stop.

    Once the day is published it is the route that the phone has, repairs included; before that
    the plan. Raises as `paper_day`.
    """
    found = paper_day(session, settings, technician_id, day, customary=customary)
    return found.sheet, found.load or load_of(session, settings, found.sheet, customary=customary)


def day_track(session: Session, settings: Settings, technician_id: str, day: date) -> DayTrack:
    """The route of a technician's day along the streets.

    A leg between places that have left the streets is the straight line between them.

    Raises
    ------
    NotFound
        As `paper_day`, and when there is no route on that day.
    NoMap
        When no street map has been built.
    """
    sheet = paper_day(session, settings, technician_id, day).sheet
    if sheet.route is None:
        raise NotFound(
            _("{why_empty} So there is no route to drive.").format(why_empty=sheet.why_empty)
        )
    places = [sheet.technician.start, *(row.site.place for row in sheet.stops)]
    places.append(sheet.technician.end)
    straight = [((a.lon, a.lat), (b.lon, b.lat)) for a, b in pairwise(places)]
    features = lines_of_route(session, settings, sheet.route)
    if sheet.route.supply_after is None and len(features) == len(straight):
        legs = [_line(one) or line for one, line in zip(features, straight, strict=True)]
    else:  # with the leg to the supply stop among them
        legs = [line for one in features if (line := _line(one))]
    return DayTrack(sheet, tuple(legs))


def _line(feature: dict[str, Any]) -> tuple[tuple[float, float], ...]:
    geometry = feature["geometry"]
    return tuple((lon, lat) for lon, lat in geometry["coordinates"]) if geometry else ()
