"""A technician's calendar: what stands in it, and the address under which a phone reads it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from secrets import token_urlsafe

from sqlalchemy import Engine
from sqlmodel import Session

from dispatch.actions.day_moved import NEAR_DAYS
from dispatch.clock import IsoWeek
from dispatch.day.work import Revision
from dispatch.errors import NotFound
from dispatch.people import Person
from dispatch.places import Place
from dispatch.planning.plan import Stop
from dispatch.seals import NOWHERE, SealedUse, read_seal
from dispatch.settings import Settings
from dispatch.sites import Site
from dispatch.store.book import read_some_sites, read_technician
from dispatch.store.calendars import CalendarMark, delete_mark, read_mark, write_mark
from dispatch.store.days import read_revisions_since
from dispatch.store.db import transaction
from dispatch.store.plans import read_plan_upkeep
from dispatch.technicians import Technician, unknown_technician
from dispatch.words import _

LOOK_BACK = timedelta(days=14)  # of a calendar; what is longer ago stands in the records
COUNT_BACK = 2 * timedelta(days=NEAR_DAYS)  # before that: where a visit shown may have stood


@dataclass(frozen=True, slots=True)
class CalendarStop:
    """One published stop: where, when (seconds of the day), and what is done there.

    `sequence` counts how often its day or its times were changed, `changed_at` is when last.
    """

    visit_id: str
    day: date
    start_s: int
    leave_s: int
    customer: str
    address: str
    place: Place
    work: tuple[str, ...]
    sequence: int
    changed_at: datetime


@dataclass(frozen=True, slots=True)
class TechnicianCalendar:
    """The published stops of a technician, earliest first."""

    technician: Technician
    stops: tuple[CalendarStop, ...]


def technician_calendar(
    session: Session, settings: Settings, technician_id: str
) -> TechnicianCalendar:
    """The published stops of a technician from two weeks ago on.

    Raises
    ------
    NotFound
        When there is no such technician.
    """
    technician = calendar_owner(session, technician_id)
    since = settings.today() - LOOK_BACK
    revisions = read_revisions_since(session, technician_id, since - COUNT_BACK)
    newest = {one.route.day: one for one, _ in revisions if one.route.day >= since}
    ids = {stop.site_id for one in newest.values() for stop in one.route.stops}
    sites = read_some_sites(session, ids) if ids else {}
    titles = _titles(session, newest)
    changes = _changes(revisions)
    found = [
        _stop(stop, day, sites[stop.site_id], titles, changes[stop.visit_id])
        for day, one in sorted(newest.items())
        for stop in one.route.stops
        if stop.site_id in sites
    ]
    return TechnicianCalendar(technician, tuple({one.visit_id: one for one in found}.values()))


def calendar_token(session: Session, settings: Settings, technician_id: str) -> str:
    """What the address of a technician's calendar ends in; empty where there is none."""
    mark = read_mark(session, technician_id)
    if mark is None:
        return ""
    seal = read_seal(settings.link_key_file)
    return seal.seal(SealedUse.CALENDAR, f"{technician_id}\n{mark.mark}")


def new_calendar_address(
    session: Session, settings: Settings, technician_id: str, *, who: str, at: datetime
) -> str:
    """Make a technician's calendar an address, which ends the former one; return its token.

    Raises
    ------
    NotFound
        When there is no such technician.
    """
    calendar_owner(session, technician_id)
    write_mark(session, CalendarMark(technician_id, token_urlsafe(24), at, who))
    return calendar_token(session, settings, technician_id)


def end_calendar_address(session: Session, technician_id: str) -> None:
    """Let the address of a technician's calendar lead nowhere from now on."""
    delete_mark(session, technician_id)


def end_calendar_of(engine: Engine, person: Person) -> None:
    """Let the address lead nowhere that a person may have had on a phone, who left or lost it."""
    if person.technician_id is not None:
        with transaction(engine) as session:
            end_calendar_address(session, person.technician_id)


def calendar_of(session: Session, settings: Settings, token: str) -> TechnicianCalendar:
    """The calendar behind an address.

    Raises
    ------
    NotFound
        When the address is none, or has been withdrawn; the words are the same.
    """
    content = read_seal(settings.link_key_file).open(SealedUse.CALENDAR, token)
    technician_id, _rest, sealed = content.partition("\n")
    mark = read_mark(session, technician_id)
    if mark is None or mark.mark != sealed:
        raise NotFound(_(NOWHERE))
    return technician_calendar(session, settings, technician_id)


def _stop(
    stop: Stop,
    day: date,
    site: Site,
    titles: Mapping[str, str],
    change: tuple[int, datetime],
) -> CalendarStop:
    return CalendarStop(
        visit_id=stop.visit_id,
        day=day,
        start_s=stop.start_s,
        leave_s=stop.leave_s,
        customer=site.name,
        address=site.address,
        place=site.place,
        work=tuple(titles[one] for one in stop.upkeep_ids if one in titles),
        sequence=change[0],
        changed_at=change[1],
    )


def _changes(revisions: Iterable[tuple[Revision, datetime]]) -> dict[str, tuple[int, datetime]]:
    """By visit, how often its day or times changed from revision to revision, and when last."""
    seen: dict[str, tuple[date, int, int]] = {}
    found: dict[str, tuple[int, datetime]] = {}
    for one, at in sorted(revisions, key=lambda pair: (pair[1], pair[0].number)):
        for stop in one.route.stops:
            now = (one.route.day, stop.start_s, stop.leave_s)
            if stop.visit_id not in seen:
                found[stop.visit_id] = (0, at)
            elif seen[stop.visit_id] != now:
                found[stop.visit_id] = (found[stop.visit_id][0] + 1, at)
            seen[stop.visit_id] = now
    return found


def _titles(session: Session, days: Iterable[date]) -> dict[str, str]:
    weeks = {IsoWeek.of(day) for day in days}
    return {
        upkeep_id: _(one.title)
        for week in weeks
        for upkeep_id, one in read_plan_upkeep(session, week).items()
    }


def calendar_owner(session: Session, technician_id: str) -> Technician:
    """Whose calendar it is.

    Raises
    ------
    NotFound
        When there is no such technician.
    """
    found = read_technician(session, technician_id)
    if found is None:
        raise unknown_technician(technician_id)
    return found
