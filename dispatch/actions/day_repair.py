"""Repairing a day: options with their prices, and taking one of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlmodel import Session

from dispatch.actions.day_elsewhere import OtherDays, check_other_day
from dispatch.actions.day_roads import DayBook, check_on_map, read_day_book
from dispatch.actions.published_day import read_day
from dispatch.clock import IsoWeek
from dispatch.day.moments import seconds_of
from dispatch.day.options import Option, broken_by, options
from dispatch.day.rest import RepairPrices
from dispatch.day.situation import Situation, situation, spent_s
from dispatch.day.standing import Roads, stand_all
from dispatch.day.state import DayState, noting
from dispatch.day.triggers import (
    JobOverrun,
    LateStart,
    RoadClosed,
    RoadReopened,
    RunningLate,
    StopCancelled,
    StopMoved,
    TechnicianBack,
    TechnicianOut,
    Trigger,
    UrgentStop,
    noted_of,
)
from dispatch.day.work import Work
from dispatch.edits.words import Names
from dispatch.errors import NotFound
from dispatch.planning.check import Violation
from dispatch.planning.problem import Cell, Hours
from dispatch.settings import Settings
from dispatch.store.plans import read_plan
from dispatch.windows import ALL_DAY, TimeWindow
from dispatch.words import _


@dataclass(frozen=True, slots=True)
class Offer:
    """Options for a day; `version` is the state they were made for, `why` what happened.

    `stood` are the rules that the day breaks as it stands, without the repair; `names` is what a
    person calls whom the options are about.
    """

    day: date
    version: int
    why: str
    options: tuple[Option, ...]
    stood: tuple[Violation, ...]
    names: Names


def repair_options(
    session: Session, settings: Settings, day: date, trigger: Trigger, *, now: datetime
) -> Offer:
    """A short list of ways to repair `day` after what happened, each priced and checked.

    The same history, settings and moment give the same options; nothing is written.

    Raises
    ------
    NotFound
        When the day was never published.
    InvalidValue
        When the trigger names what the day does not know, or what cannot be changed any more; when
        a visit is to go to a day on which it would never come up.
    NoMap, OffStreet, SettingsError
        As `maps.drive_times` does.
    """
    state, book = read_day(session, day), read_day_book(session, settings)
    elsewhere = OtherDays(session, settings, book, day, now)
    moving = state.visits.get(trigger.visit_id) if isinstance(trigger, StopMoved) else None
    if isinstance(trigger, StopMoved) and trigger.to_day is not None and moving is not None:
        check_other_day(settings, book, day, moving.work.site_id, trigger.to_day, now)
        elsewhere.check(moving.work, trigger.to_day)
    roads = book.roads_on(state)
    cells, hours = book.cells(day)
    hours = _hours_so_far(session, settings, state, book, cells, hours, now)
    before = _situation(state, cells, roads, settings, now, RunningLate(), hours)
    if isinstance(trigger, RoadClosed):
        check_on_map(settings, trigger.area)
    if isinstance(trigger, RoadClosed | RoadReopened):
        roads = book.roads_on(noting(state, noted_of(trigger)))
    one = _situation(state, cells, roads, settings, now, trigger, hours)
    why = trigger.words(_name_of(trigger, state, book))
    found = options(one, before, seed=settings.seed, why=why, elsewhere=elsewhere)
    return Offer(
        day, state.version, why, found, broken_by(before, before.rest.base), _names(one, book)
    )


def _names(one: Situation, book: DayBook) -> Names:
    return Names(
        technicians={who.id: who.name for who in book.technicians},
        sites={site.id: site.name for site in book.sites.values()},
        site_of={visit_id: visit.work.site_id for visit_id, visit in one.state.visits.items()},
    )


def _name_of(trigger: Trigger, state: DayState, book: DayBook) -> str:
    """What a person calls whom or what the trigger is about; nothing where it is about no one."""
    match trigger:
        case TechnicianOut() | TechnicianBack() | LateStart():
            return book.name_of(trigger.technician_id)
        case UrgentStop():
            return book.site_name(trigger.work.site_id)
        case StopMoved() | StopCancelled() | JobOverrun():
            work = state.visits[trigger.visit_id].work
            name = book.site_name(work.site_id)
            return f"{name}, {work.title}" if work.title else name
        case _:
            return ""


def _situation(
    state: DayState,
    cells: Sequence[Cell],
    roads: Roads,
    settings: Settings,
    now: datetime,
    trigger: Trigger,
    hours: tuple[Hours, ...],
) -> Situation:
    now_s = seconds_of(state.day, now, settings.zone)
    prices = RepairPrices(threshold_s=60 * settings.repair_threshold_min)
    return situation(state, cells, roads, now_s, settings.zone, trigger, prices, hours)


def urgent_stop(
    session: Session,
    settings: Settings,
    day: date,
    site_id: str,
    *,
    minutes: int,
    title: str = "",
    window: TimeWindow | None = None,
    skills: frozenset[str] = frozenset(),
) -> UrgentStop:
    """An urgent visit at a site of the book, as a trigger.

    Raises
    ------
    NotFound
        When there is no such site, or the day was never published.
    InvalidValue
        On minutes below one.
    """
    sites = read_day_book(session, settings).sites
    if site_id not in sites:
        raise NotFound(
            _("There is no site '{site}'. The list of sites shows the ids.").format(site=site_id),
            command="dispatch sites list",
        )
    state, plan = read_day(session, day), sites[site_id].plan
    number = 1
    while f"{site_id}/{day}/urgent-{number}" in state.visits:
        number += 1
    return UrgentStop(
        Work(
            visit_id=f"{site_id}/{day}/urgent-{number}",
            site_id=site_id,
            service_s=60 * minutes,
            windows=ALL_DAY if window is None else (window,),
            skills=skills,
            unwanted_technician_ids=plan.unwanted_technician_ids,
            days=(day,),
            title=title or _("Urgent stop"),
            importance=2.0,  # as visits of high priority in a week's plan
        )
    )


def _hours_so_far(
    session: Session,
    settings: Settings,
    state: DayState,
    book: DayBook,
    cells: Sequence[Cell],
    hours: tuple[Hours, ...],
    now: datetime,
) -> tuple[Hours, ...]:
    """The rules of the weeks with what was worked today and is planned on the other days."""
    if not hours:
        return ()
    try:
        routes = read_plan(session, IsoWeek.of(state.day)).routes
    except NotFound:
        routes = ()
    now_s = seconds_of(state.day, now, settings.zone)
    standings = stand_all(state, cells, book.roads, now_s, settings.zone)
    found = []
    for rule in hours:
        others_s = sum(
            route.work_s
            for route in routes
            if route.technician_id == rule.technician_id and route.day != state.day
        )
        standing = standings.get(rule.technician_id)
        today_s = spent_s(state, standing) if standing else 0
        found.append(replace(rule, spent_s=others_s + today_s))
    return tuple(found)
