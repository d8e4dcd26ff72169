"""Taking an option: new revisions of the routes it changes, and what announces them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from uuid import uuid4

from sqlmodel import Session

from dispatch.actions.day_added import with_added
from dispatch.actions.day_elsewhere import check_other_day
from dispatch.actions.day_revisions import keeper_of, write_revisions
from dispatch.actions.day_roads import DayBook, read_day_book
from dispatch.actions.day_twice import check_once
from dispatch.actions.published_day import read_day
from dispatch.day.compose import route_of
from dispatch.day.events import BY_THE_OFFICE, DayEvent, EventKind
from dispatch.day.moments import clock_time, seconds_of
from dispatch.day.options import Choice
from dispatch.day.situation import dropping
from dispatch.day.standing import Standing, stand_all
from dispatch.day.state import HAPPENED, STARTED, DayState, noting
from dispatch.day.work import Revision, Work
from dispatch.errors import DayMoved, InvalidValue
from dispatch.planning.plan import Route
from dispatch.settings import Settings
from dispatch.store.days import read_day_events, read_published_days
from dispatch.words import _, worded


def take_option(
    session: Session,
    settings: Settings,
    day: date,
    choice: Choice,
    *,
    expected_version: int,
    who: str,
    now: datetime,
) -> tuple[Revision, ...]:
    """Put a repair into force; returns the new revisions of `day`.

    What phones sent since the options were made changes times, not the choice. Visits that were
    done meanwhile by whom the choice leaves them with stay done.

    Raises
    ------
    NotFound
        When the day was never published.
    DayMoved
        When somebody else published or repaired the day since `expected_version`, or a visit that
        the choice moves has been begun, done, skipped or set out for meanwhile, or is driven on
        another day. Nothing is written.
    InvalidValue
        When the choice loses a visit, names one twice, or one that the day does not know, or sends
        one to a day on which it would never come up.
    """
    state, book = read_day(session, day), read_day_book(session, settings)
    _check_unmoved(read_day_events(session, day, after=expected_version))
    added = {work.visit_id: work for work in choice.added}
    works = {visit_id: one.work for visit_id, one in state.visits.items()} | added
    for one in choice.gone:
        if one.to_day is not None and one.visit_id in works:
            site_id = works[one.visit_id].site_id
            check_other_day(settings, book, day, site_id, one.to_day, now)
    state = noting(_with_longer(state, added), choice.noted)
    now_s, roads = seconds_of(day, now, settings.zone), book.roads_on(state)
    standings = stand_all(state, book.cells(day)[0], roads, now_s, settings.zone)
    ahead = {
        one: _still_ahead(state, standings, one, visits) for one, visits in choice.ahead.items()
    }
    _check_whole(state, standings, choice, ahead, works)
    routes = {}
    for technician_id, visits in sorted(ahead.items()):
        before = state.revisions.get(technician_id)
        if technician_id not in standings or (before is None and not visits):
            continue
        standing = standings[technician_id]
        if standing.on_way is not None and standing.on_way.work.visit_id not in visits:
            standing = dropping(standing, standing.on_way, now_s)
        own = [works[one] for one in visits]
        route = route_of(standing, own, before.route if before else None, roads)
        old = tuple(one.work.visit_id for one in standings[technician_id].ahead)
        is_late = technician_id in dict(choice.noted.late)
        is_longer = any(one.work.visit_id in added for one in standing.happened)
        if visits != old or is_late or is_longer or any(one in added for one in visits):
            routes[technician_id] = route
    said = choice.noted.plain()
    if not routes and not choice.gone and not said:
        return ()
    today = now.astimezone(settings.zone).date()
    check_once(session, state, routes.values(), today)
    event = DayEvent(str(uuid4()), day, EventKind.REPAIRED, now, now, who, why=choice.why)
    told = {one: _changes(state, one, routes[one], book) for one in routes}
    new = [work for visit_id, work in added.items() if visit_id not in state.visits]
    if not routes and new:  # the work of a visit for another day is kept, though no route changes
        to_day = {one.visit_id: one.to_day for one in choice.gone}
        routes, told = _kept(state, book, new, {}, to_day)
    made = write_revisions(
        session, state, routes, added, replace(event, data={"changes": told, **said}), choice.gone
    )
    had = {visit_id: one.technician_id for visit_id, one in state.visits.items()}
    for other in sorted({one.to_day for one in choice.gone if one.to_day is not None}):
        _add_to(session, settings, other, choice, works, event, book, had)
    return made


def _kept(
    state: DayState,
    book: DayBook,
    works: Sequence[Work],
    had: Mapping[str, str | None],
    to_day: Mapping[str, date | None],
) -> tuple[dict[str, Route], dict[str, list[str]]]:
    """Routes that stay as they are and keep visits without a place, and what is told of them."""
    routes, told = dict[str, Route](), defaultdict[str, list[str]](list)
    for work in works:
        who, day = keeper_of(work, state.revisions, had), to_day.get(work.visit_id)
        words = (
            _("{site_name} is put on {day}; your route stays as it is.")
            if day is not None
            else _("{site_name} comes to this day and has no place yet; your route stays as it is.")
        )
        routes[who] = state.revisions[who].route
        told[who].append(words.format(site_name=book.site_name(work.site_id), day=day))
    return routes, dict(told)


def _check_unmoved(since: list[DayEvent]) -> None:
    for event in since:
        if event.kind in BY_THE_OFFICE:
            at = event.received_at.astimezone(UTC)
            raise DayMoved(
                _(
                    "{who} {kind} {day} at {at:%H:%M} UTC{why}, after these options were made: "
                    "nothing was changed. Look at the day again and ask for new options."
                ).format(
                    who=event.who,
                    kind=worded(event.kind),
                    day=event.day,
                    at=at,
                    why=f" ({event.why})" if event.why else "",
                )
            )


def _still_ahead(
    state: DayState, standings: Mapping[str, Standing], who: str, visits: tuple[str, ...]
) -> tuple[str, ...]:
    """The visits of a choice that have not happened meanwhile where the choice leaves them."""
    left = []
    for visit_id in visits:
        one = state.visits.get(visit_id)
        if one is None or one.state not in STARTED:
            left.append(visit_id)
        elif one.technician_id != who:
            raise DayMoved(
                _(
                    "Visit {visit} is {state} with technician {technician} meanwhile, and the "
                    "choice gives it to {who}: ask for new options."
                ).format(visit=visit_id, state=one.state, technician=one.technician_id, who=who)
            )
    standing = standings.get(who)
    first = standing.on_way.work.visit_id if standing and standing.on_way else None
    if first is not None and first in left and left[0] != first:
        raise DayMoved(
            _(
                "Technician {who} has set out for visit {first} meanwhile, and the choice "
                "sends him elsewhere first: ask for new options."
            ).format(who=who, first=first)
        )
    return tuple(left)


def _check_whole(
    state: DayState,
    standings: Mapping[str, Standing],
    choice: Choice,
    ahead: Mapping[str, tuple[str, ...]],
    works: Mapping[str, Work],
) -> None:
    """Every visit ahead of the technicians named stands somewhere, once, or is listed as gone."""
    listed = [one for visits in ahead.values() for one in visits]
    listed += [one.visit_id for one in choice.gone]
    had = {
        visit.work.visit_id
        for who in choice.ahead
        if who in standings
        for visit in standings[who].ahead
    }
    for visit_id in sorted(had | set(listed)):
        if visit_id not in works:
            raise InvalidValue(
                _("The visit '{visit}' was not due on {day}.").format(visit=visit_id, day=state.day)
            )
        if listed.count(visit_id) != 1:
            raise InvalidValue(
                _(
                    "The choice has the visit {visit} {count} times: name every visit ahead of "
                    "the technicians it changes once."
                ).format(visit=visit_id, count=listed.count(visit_id))
            )
    held = {
        visit.work.visit_id: who
        for who, standing in standings.items()
        if who not in choice.ahead
        for visit in standing.ahead
    }
    taken = sorted(set(listed) & set(held))
    if taken:
        raise InvalidValue(
            _("The choice takes {taken} from {held} without saying so.").format(
                taken=taken[0], held=held[taken[0]]
            )
        )
    known = [state.visits[one.visit_id] for one in choice.gone if one.visit_id in state.visits]
    begun = [one.work.visit_id for one in known if one.state in HAPPENED]
    if begun:
        raise DayMoved(
            _("Visit {begun} was begun meanwhile and stays: ask for new options.").format(
                begun=begun[0]
            )
        )


def _with_longer(state: DayState, added: Mapping[str, Work]) -> DayState:
    """The day with the visits that take longer than they were to."""
    visits = {
        visit_id: replace(one, work=added.get(visit_id, one.work))
        for visit_id, one in state.visits.items()
    }
    return replace(state, visits=visits)


def _changes(state: DayState, who: str, route: Route, book: DayBook) -> list[str]:
    """What a technician is told of a repair, sentence by sentence."""
    before = state.revisions.get(who)
    old = {stop.visit_id: stop for stop in before.route.stops} if before else {}
    new = {stop.visit_id: stop for stop in route.stops}
    told = [
        _("{site_name} is new, at {start}.").format(
            site_name=book.site_name(stop.site_id), start=clock_time(route.day, stop.start_s)
        )
        for visit_id, stop in new.items()
        if visit_id not in old
    ]
    told += [
        _("{site_name} is not yours any more.").format(site_name=book.site_name(stop.site_id))
        for visit_id, stop in old.items()
        if visit_id not in new
    ]
    kept_before = [one for one in old if one in new]
    if kept_before != [one for one in new if one in old]:
        told.append(_("The order of the stops has changed."))
    return told or [_("Only the times have changed.")]


def _add_to(
    session: Session,
    settings: Settings,
    day: date,
    choice: Choice,
    works: Mapping[str, Work],
    event: DayEvent,
    book: DayBook,
    had: Mapping[str, str | None],
) -> None:
    """Put visits that were moved to a published day into its routes, each where it costs least.

    On a day that is not published yet they wait for its publication. `had` says who had them.
    """
    if day not in read_published_days(session):
        return
    moved = [works[one.visit_id] for one in choice.gone if one.to_day == day]
    state = read_day(session, day)
    now_s = seconds_of(day, event.at, settings.zone)
    routes, gone = with_added(state, book, moved, now_s, settings)
    check_once(session, state, routes.values(), event.at.astimezone(settings.zone).date())
    told = {who: _changes(state, who, route, book) for who, route in routes.items()}
    if not routes:  # there is no place: the day must know of the visits all the same
        routes, told = _kept(state, book, moved, had, {})
    other = replace(event, id=str(uuid4()), day=day, data={"changes": told})
    by_visit = {work.visit_id: work for work in moved}
    write_revisions(session, state, routes, by_visit, other, gone, had)
