"""A week and what technicians were given of it: what is out, what has changed since.

The plan of a week and its published days are two things: a day is driven as it was published and
repaired, until it is published again.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from sqlmodel import Session

from dispatch.actions.day_moved import moved_to, repaired_away, settled_by_repairs
from dispatch.actions.day_publish import publish_day
from dispatch.actions.day_twice import driven_elsewhere
from dispatch.actions.publish_seen import latest_repair
from dispatch.clock import IsoWeek
from dispatch.day.events import EventKind
from dispatch.day.state import StopState, fold, has_begun
from dispatch.day.work import Revision
from dispatch.planning.plan import Route, WeekPlan
from dispatch.settings import Settings
from dispatch.store.days import read_day_events, read_published_days, read_revisions
from dispatch.store.plans import read_plan


@dataclass(frozen=True, slots=True)
class PublishedDay:
    """How a published day stands to the plan of its week.

    `is_changed`: the plan has routes that technicians have not been given; `is_repaired`: the day
    is driven in another way than planned, by a repair; `has_begun`: only repairs change it now;
    `repair`: the number of its latest repair, 0 without any.
    """

    is_changed: bool
    is_repaired: bool
    has_begun: bool
    repair: int = field(default=0, compare=False)


def published_week(session: Session, plan: WeekPlan, today: date) -> dict[date, PublishedDay]:
    """How the days of a week that were published stand to its plan, by day."""
    published = set(read_published_days(session))
    return {
        day: published_day(session, plan, day, today) for day in plan.week.days if day in published
    }


def published_day(session: Session, plan: WeekPlan, day: date, today: date) -> PublishedDay:
    """How a published day stands to the plan; what a repair did is no change of the plan."""
    revisions, events = read_revisions(session, day), read_day_events(session, day)
    state = fold(day, revisions, events)
    said = {one.number for one in events if one.kind is EventKind.PUBLISHED}
    repaired = {one.number for one in events if one.kind is EventKind.REPAIRED}
    given = {
        one.technician_id: one.route
        for one in revisions  # earliest first: the last one stays
        if one.number in said
    }
    planned = {one.technician_id: one for one in plan.routes if one.day == day}
    in_plan, in_given = _visits(planned.values()), _visits(given.values())
    more = in_given - in_plan
    coming = moved_to(session, [day]) if more else ()
    added = {one.work.visit_id for one in coming} & more
    aside = repaired_away(state, events) & in_plan | added
    aside |= settled_by_repairs(session, day).keys() & (in_plan - in_given)
    twice = driven_elsewhere(session, day, in_plan - in_given - aside, today)
    staying = {visit_id for visit_id, one in twice.items() if one.stays}
    waiting = {visit_id for visit_id, one in state.visits.items() if one.state is StopState.PLANNED}
    return PublishedDay(
        is_changed=bool((in_given - in_plan - added) & waiting)
        or any(
            not _is_same(planned.get(who), given.get(who), aside | staying)
            and not _is_same(planned.get(who), _now(state.revisions.get(who)), aside | staying)
            for who in planned.keys() | given.keys()
        ),
        is_repaired=bool(aside) or max(repaired, default=0) > max(said, default=0),
        has_begun=has_begun(state),
        repair=latest_repair(events),
    )


def publish_week(
    session: Session, settings: Settings, week: IsoWeek, *, who: str, at: datetime
) -> dict[date, tuple[Revision, ...]]:
    """Publish every day of a planned week that has routes and has not begun; by day.

    So are days to which repairs moved visits. Days that were repaired are left alone, so that no
    repair is undone in passing: whoever wants the plan in its place publishes that day by itself.
    A visit that one of these drives stays there.

    Raises
    ------
    NotFound
        When the week has not been planned.
    """
    plan = read_plan(session, week)
    published = published_week(session, plan, at.astimezone(settings.zone).date())
    planned = {route.day for route in plan.routes}
    free = free_days(week, published)
    found = {}
    for day in free:
        if day in published or day in planned or moved_to(session, [day]):
            found[day] = publish_day(session, settings, day, who=who, at=at, together=free)
    return found


def free_days(week: IsoWeek, published: Mapping[date, PublishedDay]) -> tuple[date, ...]:
    """The days that publishing the whole week touches: neither under way nor repaired."""
    left_alone = {day for day, one in published.items() if one.has_begun or one.is_repaired}
    return tuple(day for day in week.days if day not in left_alone)


def _is_same(planned: Route | None, given: Route | None, aside: Collection[str]) -> bool:
    """Whether a technician was given the planned route; visits `aside` and their times left out."""
    here, there = _stops(planned), _stops(given)
    if not {visit_id for visit_id, _ in here + there}.isdisjoint(aside):
        return [one for one in here if one[0] not in aside] == [
            one for one in there if one[0] not in aside
        ]
    return planned == given or here == there == []


def _stops(route: Route | None) -> list[tuple[str, tuple[str, ...]]]:
    """Visits of a route in their order, with their upkeep."""
    return [(stop.visit_id, stop.upkeep_ids) for stop in route.stops] if route else []


def _now(revision: Revision | None) -> Route | None:
    return None if revision is None else revision.route


def _visits(routes: Collection[Route]) -> set[str]:
    return {stop.visit_id for route in routes for stop in route.stops}
