"""Visits that stand in a published day: no other day is published or repaired with them as well."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import chain

from sqlmodel import Session

from dispatch.actions.day_moved import NEAR_DAYS, settled_by_repairs
from dispatch.clock import DAY_S
from dispatch.day.state import HAPPENED, DayState, StopState, VisitNow, fold, has_begun
from dispatch.edits.words import Names, day_words
from dispatch.errors import DayMoved
from dispatch.planning.plan import Route, WeekPlan
from dispatch.store.book import read_some_sites
from dispatch.store.days import read_day_events, read_published_days, read_revisions
from dispatch.words import _

A_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """Where a visit stands already: the published `day`, and how that day can still be changed.

    `has_happened`: somebody was there, or is; `has_begun`: only repairs change the day.
    """

    day: date
    has_happened: bool
    has_begun: bool

    @property
    def stays(self) -> bool:
        """Whether publishing the day again does not take the visit out of it."""
        return self.has_happened or self.has_begun


def driven_elsewhere(
    session: Session,
    day: date,
    visit_ids: Collection[str],
    today: date,
    apart: Collection[date] = (),
) -> dict[str, Elsewhere]:
    """Which of these visits another published day than `day` drives, or had made.

    Days `apart` are left out. What nobody made on a day that is over stands there no longer.
    """
    return _driven(session, dict.fromkeys(visit_ids, day), today, apart)


def driven_off_plan(session: Session, plan: WeekPlan, today: date) -> dict[str, Elsewhere]:
    """Which visits that are planned from `today` on another published day drives, or had made."""
    ahead = [route for route in plan.routes if route.day >= today]
    planned = {stop.visit_id: route.day for route in ahead for stop in route.stops}
    return _driven(session, planned, today)


def _driven(
    session: Session, planned: Mapping[str, date], today: date, apart: Collection[date] = ()
) -> dict[str, Elsewhere]:
    """What another published day than the planned one of each visit drives, or had made."""
    found = dict[str, Elsewhere]()
    for other in read_published_days(session) if planned else ():
        near = {
            visit_id
            for visit_id, day in planned.items()
            if 0 < abs((other - day).days) <= NEAR_DAYS and other not in apart
        }
        if not near:
            continue
        revisions = read_revisions(session, other)
        here = near & {work.visit_id for one in revisions for work in one.works}
        if not here:
            continue
        state = fold(other, revisions, read_day_events(session, other))
        for visit_id in here:
            one = state.visits[visit_id]
            if one.state in HAPPENED or (one.state is StopState.PLANNED and _goes_on(state, today)):
                found[visit_id] = _elsewhere(state, one)
    return found


def twice_lines(
    session: Session,
    plan: WeekPlan,
    days: Iterable[date],
    names: Names,
    today: date,
    apart: Collection[date] = (),
) -> tuple[list[str], list[str]]:
    """Visits that do not come on one of the planned `days`, as another published day has them.

    The first sentences lead to the planned day, the others are of visits that were made. Days
    `apart` are published together with these.
    """
    open_ones, made = list[str](), list[str]()
    for day in days:
        stops = chain.from_iterable(route.stops for route in plan.routes if route.day == day)
        ids = [stop.visit_id for stop in stops]
        found = driven_elsewhere(session, day, ids, today, apart)
        settled = settled_by_repairs(session, day) if found else {}
        for visit_id in (one for one in ids if one in found and one not in settled):
            one = found[visit_id]
            said = _sentence(one).format(
                site=names.subject(visit_id), day=day_words(day), other=day_words(one.day)
            )
            (made if one.has_happened else open_ones).append(said)
    return open_ones, made


def check_once(session: Session, before: DayState, routes: Iterable[Route], today: date) -> None:
    """Refuse new routes of a day with a visit that another published day has.

    `before` is the day without them.

    Raises
    ------
    DayMoved
        With the sites and the days. Nothing is to be written.
    """
    had = {visit_id for one in before.revisions.values() for visit_id in one.visit_ids}
    site_of = {stop.visit_id: stop.site_id for one in routes for stop in one.stops}
    found = driven_elsewhere(session, before.day, site_of.keys() - had, today)
    if not found:
        return
    sites = read_some_sites(session, {site_of[one] for one in found})
    names = {site.id: site.name for site in sites.values()}
    raise DayMoved(
        " ".join(
            _(
                "{site} stands in the published routes of {other} already: take it off there with "
                "a repair of {other} first, or call it off on {day}. Nothing was changed."
            ).format(
                site=names.get(site_of[visit_id], site_of[visit_id]),
                other=day_words(one.day),
                day=day_words(before.day),
            )
            for visit_id, one in sorted(found.items())
        )
    )


def _goes_on(state: DayState, today: date) -> bool:
    """Whether anybody may still drive the day: it is not over, or its night shift is not."""
    ends = (one.route.end_s for one in state.revisions.values())
    return state.day >= today or (state.day == today - A_DAY and max(ends, default=0) > DAY_S)


def _elsewhere(state: DayState, one: VisitNow) -> Elsewhere:
    return Elsewhere(state.day, one.state in HAPPENED, has_begun(state))


def _sentence(one: Elsewhere) -> str:
    """What is said of a visit that another day has, with places for the site and the days."""
    if one.has_happened:
        return _("{site} is planned for {day}, but somebody was there on {other}: nobody comes.")
    if one.has_begun:
        return _(
            "{site} is planned for {day}, but the published routes of {other} bring somebody "
            "there, and that day is under way: move the stop to {day} with a repair of {other}. "
            "Until then it stays on {other}."
        )
    return _(
        "{site} is planned for {day}, but the published routes of {other} still bring somebody "
        "there: publish {other} again first, then {day}, or move the stop with a repair of "
        "{other}. Until then it stays on {other}."
    )
