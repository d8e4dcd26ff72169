"""What a phone keeps of a technician's day: the published route with all that the gate asks for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlmodel import Session

from dispatch.actions.day import revisions_of
from dispatch.actions.day_sheet import DaySheet, SheetStop, empty_sheet, full_sheet
from dispatch.actions.due import holiday_names
from dispatch.actions.loads import load_from
from dispatch.actions.open_work import all_work
from dispatch.clock import IsoWeek
from dispatch.day.events import DayEvent, EventKind
from dispatch.day.state import StopState, fold
from dispatch.day.work import Revision
from dispatch.errors import NotFound
from dispatch.one_offs import work_id_of
from dispatch.phone.pressure import FilterFacts, filter_facts
from dispatch.planning.plan import Route
from dispatch.readings import ReadingAt, ReadingKind
from dispatch.records.history import last_readings
from dispatch.records.load_list import LoadList
from dispatch.settings import Settings
from dispatch.store.book import read_holds, read_some_sites, read_technician
from dispatch.store.days import (
    day_version,
    read_events_of,
    read_published_days,
    read_revisions,
)
from dispatch.store.plans import read_plan_upkeep
from dispatch.store.record_history import read_last_readings
from dispatch.store.record_lists import read_targets
from dispatch.store.records import read_own_records
from dispatch.store.upkeep_kinds import read_rules
from dispatch.technicians import Technician
from dispatch.upkeep import UpkeepDue
from dispatch.water.advice import Last
from dispatch.water.ranges import Range
from dispatch.words import _


@dataclass(frozen=True, slots=True)
class PhoneStop:
    """One stop with its state, the site's last readings and what is known of its filter.

    `record_id` is that of the technician's own record of it, empty without one.
    """

    row: SheetStop
    state: StopState
    last: Mapping[ReadingKind, Last]
    filter: FilterFacts | None
    record_id: str


@dataclass(frozen=True, slots=True)
class PhoneDay:
    """A technician's published day; without a route `sheet.why_empty` says why there is none.

    `version` is the number of the last event in the day's history, `changes` are the events that
    changed this technician's day, oldest first. `next_day` is the next day with a published route,
    told where this one has none.
    """

    sheet: DaySheet
    published: bool
    version: int
    stops: tuple[PhoneStop, ...]
    load: LoadList | None
    changes: tuple[DayEvent, ...]
    targets: Mapping[ReadingKind, Range]
    next_day: date | None = None
    shift_started_at: datetime | None = None
    shift_ended_at: datetime | None = None


def phone_day(
    session: Session, settings: Settings, technician_id: str, day: date, *, customary: bool = True
) -> PhoneDay:
    """What `technician_id` needs on the phone for `day`.

    Parameters
    ----------
    technician_id, day
        Whose day.
    customary
        Whether amounts to load are told in US customary units.

    Raises
    ------
    NotFound
        When there is no such technician.
    """
    technician = _technician(session, technician_id)
    try:
        revisions = revisions_of(session, day, technician_id)
    except NotFound:
        return _without_route(session, settings, technician, day)
    revision = revisions[-1]
    # what others did elsewhere says nothing of this route, and there are hundreds of others
    visit_ids = {one for each in revisions for one in each.visit_ids}
    events = read_events_of(session, day, [technician_id], visit_ids)
    state = fold(day, revisions, events)
    sheet = _sheet(session, technician, revision.route)
    states = {visit_id: one.state for visit_id, one in state.visits.items()}
    site_ids = sorted({row.site.id for row in sheet.stops})
    points = read_last_readings(session, site_ids=site_ids) if site_ids else []
    targets, load = read_targets(session), None
    if sheet.stops:
        load = load_from(session, settings, sheet, points, targets, customary=customary)
    return PhoneDay(
        sheet=sheet,
        published=True,
        version=day_version(session, day),
        stops=_stops(session, settings, sheet, states, points),
        load=load,
        changes=_changes(events, revision),
        targets=targets,
        shift_started_at=state.shift_started_at.get(technician_id),
        shift_ended_at=state.shift_ended_at.get(technician_id),
    )


def _without_route(
    session: Session, settings: Settings, technician: Technician, day: date
) -> PhoneDay:
    """A day on which nothing was published for the technician."""
    off = day in technician.days_off or technician.shift_on(day) is None
    sheet = empty_sheet(technician, day, holiday_names(settings, IsoWeek.of(day)))
    if not off:
        sheet = replace(sheet, why_empty=_("The office has not published this day for you yet."))
    next_day = _next_day(session, technician.id, day)
    return PhoneDay(sheet, off, 0, (), None, (), read_targets(session), next_day)


def _next_day(session: Session, technician_id: str, day: date) -> date | None:
    for later in read_published_days(session):
        revisions = read_revisions(session, later, technician_id) if later > day else ()
        if revisions and revisions[-1].route.stops:
            return later
    return None


def _sheet(session: Session, technician: Technician, route: Route) -> DaySheet:
    """The day sheet of a published route; upkeep that a later plan dropped is left out."""
    upkeep: dict[str, UpkeepDue] = dict(read_plan_upkeep(session, IsoWeek.of(route.day)))
    stops = tuple(
        replace(stop, upkeep_ids=tuple(one for one in stop.upkeep_ids if one in upkeep))
        for stop in route.stops
    )
    sites = read_some_sites(session, {stop.site_id for stop in stops})
    works = {}
    if any(work_id_of(stop.visit_id) for stop in stops):
        works = {work.id: work for work in all_work(session, settled=True)}
    own = replace(route, stops=stops)
    return full_sheet(technician, own, sites, upkeep, works, read_holds(session))


def _stops(
    session: Session,
    settings: Settings,
    sheet: DaySheet,
    states: Mapping[str, StopState],
    last: Iterable[ReadingAt],
) -> tuple[PhoneStop, ...]:
    rules = read_rules(session)
    own = read_own_records(session, sheet.technician.id, sheet.day)
    points: defaultdict[str, list[ReadingAt]] = defaultdict(list)
    for point in last:
        points[point.site_id].append(point)
    return tuple(
        PhoneStop(
            row,
            states.get(row.stop.visit_id, StopState.PLANNED),
            last_readings(points[row.site.id], settings.zone),
            filter_facts(row.site.equipment, rules),
            own.get(row.stop.visit_id, ""),
        )
        for row in sheet.stops
    )


def _changes(events: Sequence[DayEvent], revision: Revision) -> tuple[DayEvent, ...]:
    """What the office did to the technician's day, or said of it."""
    who = revision.technician_id
    return tuple(
        event
        for event in events
        if (event.kind is EventKind.PUBLISHED and event.technician_id == who)
        or (event.kind is EventKind.REPAIRED and who in event.data.get("technicians", ()))
        or (event.kind is EventKind.NOTE and event.technician_id == who and _is_said(event))
    )


def _is_said(event: DayEvent) -> bool:
    """Whether a note comes from the office: a phone's own have its time with them."""
    return "phone_at" not in event.data and "entry" not in event.data


def _technician(session: Session, technician_id: str) -> Technician:
    found = read_technician(session, technician_id)
    if found is None:
        raise NotFound(
            _("There is no technician '{technician}': the office knows the ids.").format(
                technician=technician_id
            )
        )
    return found
