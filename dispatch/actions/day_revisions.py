"""New revisions of published routes, with the events that announce them."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import Any
from uuid import uuid4

from sqlmodel import Session

from dispatch.day.events import DayEvent, EventKind
from dispatch.day.state import DayState, Gone
from dispatch.day.work import Revision, Work
from dispatch.planning.plan import Route
from dispatch.store.days import add_day_events, add_revisions


def write_revisions(
    session: Session,
    before: DayState,
    routes: Mapping[str, Route],
    works: Mapping[str, Work],
    event: DayEvent,
    gone: Sequence[Gone] = (),
    had: Mapping[str, str | None] | None = None,
) -> tuple[Revision, ...]:
    """Write new revisions of routes with what announces them.

    A publication is one event for each technician, a repair one for all. `works` must hold the
    visits of the routes that are new on the day. One that is in no route is kept with `keeper_of`
    it; `had` says by visit who had it on the day that it comes from.
    """
    said = {"gone": [plain_gone(one) for one in gone]} if gone else {}
    number_of = {who: _next_revision(before, who) for who in sorted(routes)}
    if event.kind is EventKind.PUBLISHED:
        events = [
            replace(
                event,
                id=str(uuid4()),
                technician_id=who,
                data={"revision": revision, **(said if n == 0 else {})},
            )
            for n, (who, revision) in enumerate(number_of.items())
        ]
    else:
        data = {**event.data, "revisions": number_of, "technicians": sorted(routes), **said}
        events = [replace(event, data=data)]
    numbered = add_day_events(session, events)
    numbers = {one.technician_id: one.number for one in numbered}
    all_works = {one.work.visit_id: one.work for one in before.visits.values()} | dict(works)
    routed = {stop.visit_id for route in routes.values() for stop in route.stops}
    extra = [all_works[one] for one in works if one not in before.visits and one not in routed]
    made = []
    for who, revision in number_of.items():
        own = [all_works[stop.visit_id] for stop in routes[who].stops]
        own += [one for one in extra if keeper_of(one, number_of, had or {}) == who]
        number = numbers.get(who, numbered[-1].number)
        made.append(Revision(revision, number, routes[who], tuple(own)))
    add_revisions(session, made)
    return tuple(made)


def keeper_of(work: Work, routed: Collection[str], had: Mapping[str, str | None]) -> str:
    """With whose route a visit is kept that stands in none, of the technicians that have one.

    It is who had it before, else who usually comes to the site, else the first by id.
    """
    wanted = (had.get(work.visit_id), work.usual_technician_id)
    return next((one for one in wanted if one in routed), None) or min(routed)


def _next_revision(before: DayState, technician_id: str) -> int:
    known = before.revisions.get(technician_id)
    return 1 if known is None else known.revision + 1


def plain_gone(one: Gone) -> dict[str, Any]:
    """What became of a visit, as an event keeps it."""
    to_day = None if one.to_day is None else one.to_day.isoformat()
    return {"visit_id": one.visit_id, "state": str(one.state), "to_day": to_day}
