"""Dated changes of standing routes: what they make of the book, and how a plan tells of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from dispatch.clock import WEEKDAYS, IsoWeek
from dispatch.errors import InvalidValue
from dispatch.planning.plan import Change, WeekPlan
from dispatch.sites import Site
from dispatch.standing.values import ChangeState, StandingChange, with_habit
from dispatch.words import _


def sites_in(week: IsoWeek, sites: Iterable[Site], changes: Sequence[StandingChange]) -> list[Site]:
    """The sites as their standing routes are to be in `week`.

    A change holds from its first week on; one that has been withdrawn, or that does not fit the
    service plan any more, is left out.
    """
    begun = [one for one in changes if one.first_week <= week]
    return [after(site, [one for one in begun if one.site_id == site.id]) for site in sites]


def after(site: Site, changes: Iterable[StandingChange]) -> Site:
    """The site after those of its changes that are planned and fit, in the order of their days."""
    for change in sorted(changes, key=lambda one: one.from_on):
        if change.state is ChangeState.PLANNED and can_be_made(site, change):
            site = replace(site, plan=with_habit(site.plan, change.new))
    return site


def can_be_made(site: Site, change: StandingChange) -> bool:
    """Whether the service plan still names the old habit, and allows the new one."""
    if not change.fits(site.plan):
        return False
    try:
        with_habit(site.plan, change.new)
    except InvalidValue:
        return False
    return True


def announced(
    plan: WeekPlan,
    changes: Sequence[StandingChange],
    sites: Iterable[Site],
    names: Mapping[str, str],
) -> WeekPlan:
    """The plan with every standing change that a customer meets in it for the first time.

    That is a visit in as many weeks from the change on as the customer's visits lie apart. Where
    the week departs from the new habit as well, one line tells of both.
    """
    by_id = {site.id: site for site in sites}
    new = {
        one.site_id: one
        for one in changes
        if one.state is ChangeState.PLANNED
        and one.site_id in by_id
        and _is_news(one, by_id[one.site_id], plan.week)
    }
    departures = {one.visit_id: one for one in plan.changes}
    told = list[Change]()
    for route in plan.routes:
        for stop in route.stops:
            change = new.get(stop.site_id)
            if change is None or not stop.visit_id.startswith(f"{stop.site_id}/"):
                continue  # one-off work has no standing route
            departure = departures.pop(stop.visit_id, None)
            said = (
                _("Changed for good from {since}: {why} Besides, this week: {reason}")
                if departure
                else _("Changed for good from {since}: {why}")
            )
            who = names.get(route.technician_id, route.technician_id)
            told.append(
                Change(
                    stop.visit_id,
                    stop.site_id,
                    change.old.words(names),
                    f"{who}, {WEEKDAYS[route.day.weekday()]}",
                    said.format(
                        since=change.from_on,
                        why=change.why,
                        reason=departure.reason if departure else "",
                    ),
                )
            )
    left = [one for one in plan.changes if one.visit_id in departures]
    return replace(plan, changes=(*left, *told))


def _is_news(change: StandingChange, site: Site, week: IsoWeek) -> bool:
    rhythm = site.plan.rhythm_in(week) or site.plan.rhythm
    weeks = (week.monday - change.from_on).days // 7
    habit = (site.plan.usual_technician_id, site.plan.usual_weekdays)
    return 0 <= weeks < rhythm.every_weeks and habit == (
        change.new.technician_id,
        change.new.weekdays,
    )
