"""Visits put into the routes of a day, each where it costs least."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

from dispatch.actions.day_roads import DayBook
from dispatch.day.compose import route_of
from dispatch.day.own_search import inserted
from dispatch.day.rest import RepairPrices, field_of
from dispatch.day.situation import situation
from dispatch.day.state import DayState, Gone, StopState, VisitNow
from dispatch.day.triggers import RunningLate
from dispatch.day.work import Work
from dispatch.planning.plan import Route
from dispatch.settings import Settings


def with_added(
    state: DayState,
    book: DayBook,
    works: Sequence[Work],
    now_s: int,
    settings: Settings,
    anew: Collection[str] = (),
) -> tuple[dict[str, Route], list[Gone]]:
    """The routes that change when visits are put into a day, and the visits without a place.

    Routes of the technicians `anew` are timed again in any case.
    """
    cells, _ = book.cells(state.day)
    known = {work.visit_id: VisitNow(work, StopState.UNPLACED, None) for work in works}
    state = replace(state, visits={**state.visits, **known})
    roads = book.roads_on(state)
    one = situation(state, cells, roads, now_s, settings.zone, RunningLate(), RepairPrices())
    own = {work.visit_id for work in works}
    wanted = [n for n in one.wanted if one.rest.works[n].visit_id in own]
    orders = inserted(field_of(one.rest), one.rest.base, wanted).orders
    before, after = one.ahead(one.rest.base), one.ahead(orders)
    all_works = {visit_id: visit.work for visit_id, visit in state.visits.items()}
    routes = {}
    for who, visits in after.items():
        if visits != before[who] or who in anew:
            known_route = state.revisions[who].route if who in state.revisions else None
            mine = [all_works[visit] for visit in visits]
            routes[who] = route_of(one.standings[who], mine, known_route, roads)
    placed = {visit for visits in after.values() for visit in visits}
    return routes, [Gone(one, StopState.UNPLACED) for one in sorted(own - placed)]
