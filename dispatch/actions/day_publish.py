"""Publishing: a planned day becomes what technicians drive, and what repairs begin with."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from uuid import uuid4

from sqlmodel import Session

from dispatch.actions.day_moved import Settled, moved_to, repaired_away, settled_by_repairs
from dispatch.actions.day_revisions import plain_gone, write_revisions
from dispatch.actions.day_twice import driven_elsewhere
from dispatch.actions.day_work import WorkBook
from dispatch.clock import IsoWeek
from dispatch.day.events import DayEvent, EventKind
from dispatch.day.state import STARTED, DayState, Gone, StopState, fold, gone_of, has_begun
from dispatch.day.work import Revision, Work
from dispatch.edits.words import day_words
from dispatch.errors import DayMoved, NotFound
from dispatch.planning.plan import Route, WeekPlan
from dispatch.settings import Settings
from dispatch.store.book import read_some_sites
from dispatch.store.days import (
    add_day_events,
    read_day_events,
    read_published_days,
    read_revisions,
)
from dispatch.store.plans import read_plan
from dispatch.words import _

NEVER_S = -86_400  # seconds of the day; before anything has happened


def publish_day(
    session: Session,
    settings: Settings,
    day: date,
    *,
    who: str,
    at: datetime,
    together: Collection[date] = (),
) -> tuple[Revision, ...]:
    """Publish the planned routes of `day`; those that changed, as new revisions.

    A day may be published again as long as nobody has begun. Visits that a repair, of this day or
    another one, moved to another day or cancelled stay out of it. Those that were moved to this
    day before it was published come in where they cost least, also on a day without a planned
    visit; one that finds no room is listed as unplaced until a repair places it. Other days on
    which a visit of it waits for a place are told that it comes on this one. A visit that another
    published day drives stays there; days published `together` with this one give theirs up.

    Raises
    ------
    NotFound
        When the week has not been planned, or no visit is planned for that day or moved to it.
    DayMoved
        When the day is under way.
    """
    week = IsoWeek.of(day)
    plan = read_plan(session, week)
    wanted = {route.technician_id: route for route in plan.routes if route.day == day}
    events = read_day_events(session, day)
    before = fold(day, read_revisions(session, day), events)
    dropped = repaired_away(before, events)
    coming = [one.work for one in moved_to(session, [day]) if one.work.visit_id not in dropped]
    settled = settled_by_repairs(session, day)
    dropped |= settled.keys()
    names = {stop.visit_id for route in wanted.values() for stop in route.stops}
    names |= {work.visit_id for work in coming}
    today = at.astimezone(settings.zone).date()
    twice = driven_elsewhere(session, day, names - dropped, today, together)
    dropped |= twice.keys()
    settled = {name: Settled(one.day, one.day) for name, one in twice.items()} | settled
    if not wanted and not coming and not before.revisions:
        raise NotFound(
            _("No visit is planned for {day}: plan week {week}, or choose another day.").format(
                day=day, week=week
            )
        )
    _check_not_begun(before)
    works = WorkBook(session, settings, week).works_of(wanted)
    promised = [work for work in coming if work.visit_id not in dropped | works.keys()]
    works |= {work.visit_id: work for work in promised}
    routes = dict(wanted)
    left: list[Gone] = []
    if promised or dropped & set(works):
        routes, left = _rebuilt(session, settings, day, wanted, works, dropped, promised)
    for technician_id, one in before.revisions.items():
        if technician_id not in routes:
            routes[technician_id] = empty_route(one.route)
    changed = {
        technician_id: route
        for technician_id, route in routes.items()
        if technician_id not in before.revisions or before.revisions[technician_id].route != route
    }
    gone = [*_left_out(before, routes, plan, dropped), *_settled_gone(before, settled), *left]
    works = {name: one for name, one in works.items() if name not in settled}
    _tell_other_days(session, day, routes.values(), who, at)
    event = DayEvent(str(uuid4()), day, EventKind.PUBLISHED, at, at, who, technician_id="?")
    return write_revisions(session, before, changed, works, event, gone)


def empty_route(route: Route) -> Route:
    """The route of somebody who has nothing to do any more that day."""
    return Route(
        technician_id=route.technician_id,
        day=route.day,
        stops=(),
        start_s=route.start_s,
        end_s=route.start_s,
        drive_s=0,
        drive_m=0,
        service_s=0,
        wait_s=0,
        return_drive_s=0,
        return_drive_m=0,
    )


def _check_not_begun(state: DayState) -> None:
    if has_begun(state):
        done = sum(one.state in STARTED for one in state.visits.values())
        raise DayMoved(
            _(
                "{day} is under way ({done} stops done or begun) and cannot be published "
                "again: change it with a repair, so that nobody is sent to a pool twice."
            ).format(day=state.day, done=done)
        )


def _rebuilt(
    session: Session,
    settings: Settings,
    day: date,
    planned: Mapping[str, Route],
    works: Mapping[str, Work],
    dropped: set[str],
    promised: Sequence[Work],
) -> tuple[dict[str, Route], list[Gone]]:
    """The planned routes without what was dropped and with what was promised, times anew."""
    from dispatch.actions.day_added import with_added  # compiled code, slow to import
    from dispatch.actions.day_roads import read_day_book

    kept = {
        who: replace(route, stops=tuple(s for s in route.stops if s.visit_id not in dropped))
        for who, route in planned.items()
    }
    revisions = [
        Revision(1, 0, route, tuple(works[stop.visit_id] for stop in route.stops))
        for route in kept.values()
    ]
    book = read_day_book(session, settings)
    lacking = {who for who in kept if kept[who] != planned[who]}
    if not kept:  # on a day without a planned visit a route without stops keeps what has no room
        lacking = {one.technician_id for one in book.cells(day)[0][:1]}
        if not lacking:
            raise NotFound(
                _(
                    "Nobody works on {day}, to which visit {visit} was moved: give somebody a "
                    "shift on that day."
                ).format(day=day, visit=promised[0].visit_id)
            )
    new, gone = with_added(
        fold(day, revisions, ()), book, promised, NEVER_S, settings, anew=lacking
    )
    return kept | new, gone


def _left_out(
    before: DayState, routes: Mapping[str, Route], plan: WeekPlan, dropped: Collection[str]
) -> list[Gone]:
    """What becomes of visits that were published and stand in no route of the day any more."""
    kept = {stop.visit_id for route in routes.values() for stop in route.stops}
    elsewhere = {stop.visit_id: route.day for route in plan.routes for stop in route.stops}
    unplaced = {one.visit_id for one in plan.unplaced}
    found = []
    for visit_id, one in before.visits.items():
        if visit_id in kept or visit_id in dropped:
            continue
        to_day = elsewhere.get(visit_id)
        if to_day is not None and to_day != before.day:
            found.append(Gone(visit_id, StopState.MOVED, to_day))
        elif visit_id in unplaced or one.state is StopState.UNPLACED:
            found.append(Gone(visit_id, StopState.UNPLACED))
        else:
            found.append(Gone(visit_id, StopState.CANCELLED))
    return found


def _settled_gone(before: DayState, settled: Mapping[str, Settled]) -> list[Gone]:
    """What becomes of visits of the day of which a repair of another day has decided."""
    return [
        Gone(visit_id, StopState.MOVED if one.to_day else StopState.CANCELLED, one.to_day)
        for visit_id, one in settled.items()
        if visit_id in before.visits
    ]


def _tell_other_days(
    session: Session, day: date, routes: Iterable[Route], who: str, at: datetime
) -> None:
    """Say on the other days of the week which visits without a place there come on `day` now.

    Else a repair of such a day would find a place for them, and they would be made twice.
    """
    site_of = {stop.visit_id: stop.site_id for route in routes for stop in route.stops}
    others = [one for one in read_published_days(session) if one in IsoWeek.of(day).days]
    for other in others:
        events = read_day_events(session, other)
        taken_out = {one.visit_id for event in events for one in gone_of(event)} & site_of.keys()
        if other == day or not taken_out:
            continue
        known = fold(other, read_revisions(session, other), events).visits
        waiting = [
            one for one in taken_out & known.keys() if known[one].state is StopState.UNPLACED
        ]
        sites = read_some_sites(session, {site_of[one] for one in waiting})
        names = {site.id: site.name for site in sites.values()}
        told = [
            DayEvent(
                id=str(uuid4()),
                day=other,
                kind=EventKind.ELSEWHERE,
                at=at,
                received_at=at,
                who=who,
                visit_id=visit_id,
                why=_("{site} now comes on {day}, with the published routes of that day.").format(
                    site=names.get(site_of[visit_id], site_of[visit_id]), day=day_words(day)
                ),
                data={"gone": [plain_gone(Gone(visit_id, StopState.MOVED, day))]},
            )
            for visit_id in sorted(waiting)
        ]
        add_day_events(session, told)
