"""The upkeep of a horizon as jobs: what is due, and what comes again after it.

A repeat is counted from the day the job before it is due, which is all that can be known now, or
from the first visit after its window where the pool is not visited in it: nothing is made up for.
The next levelling counts from what was done.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from dispatch.clock import IsoWeek
from dispatch.levelling.rooms import Visits
from dispatch.levelling.values import Job
from dispatch.sites import Site
from dispatch.technicians import Technician
from dispatch.upkeep import UpkeepDue, as_due, next_upkeep
from dispatch.upkeep_causes import Cause, DueBy, Figure
from dispatch.upkeep_conditions import NO_HISTORY, History
from dispatch.upkeep_dates import Window
from dispatch.upkeep_rules import UpkeepRule

SPARED_DAYS = 30  # days before a spared kind may be done in which the other one renews it


def jobs_of(
    sites: Sequence[Site],
    technicians: Sequence[Technician],
    rules: Sequence[UpkeepRule],
    weeks: Sequence[IsoWeek],
    visits: Visits,
    histories: Mapping[str, History],
) -> tuple[Job, ...]:
    """All upkeep that falls due by the end of the last week, in the order of sites and rules."""
    days = {site.id: [day for one in weeks for day in visits.days(site, one)] for site in sites}
    months = {rule.kind: rule.months for rule in rules}
    return tuple(
        _as_job(due, number, months[due.kind], site, technicians, weeks[-1].sunday)
        for site in sites
        for number, due in _upkeep_of(
            site, rules, weeks, days[site.id], histories.get(site.id, NO_HISTORY)
        )
    )


def _upkeep_of(
    site: Site,
    rules: Sequence[UpkeepRule],
    weeks: Sequence[IsoWeek],
    days: Sequence[date],
    history: History,
) -> Iterator[tuple[int, UpkeepDue]]:
    first, end = weeks[0].monday, weeks[-1].sunday
    found = {rule.kind: list(_repeats(site, rule, history, first, end, days)) for rule in rules}
    for rule in rules:
        sparing = [due for other in rules if rule.kind in other.spares for due in found[other.kind]]
        number = 0
        for due in found[rule.kind]:
            if not _is_spared(due, sparing):
                number += 1
                yield number, due


def _repeats(
    site: Site,
    rule: UpkeepRule,
    history: History,
    first: date,
    end: date,
    days: Sequence[date],
) -> Iterator[UpkeepDue]:
    due = next_upkeep(site, rule, history)
    while due is not None and due.due_on <= end:
        yield due
        if rule.earliest is None or rule.due is None or rule.latest is None:
            return
        done_on = _done_on(due, first, days)
        if done_on is None:
            return
        months = (Figure("interval", rule.due.months, "months"),)
        window = Window(
            rule.earliest.after(done_on),
            rule.due.after(done_on),
            rule.latest.after(done_on),
            Cause(DueBy.CALENDAR, done_on, figures=months),
        )
        due = as_due(site, rule, window)


def _done_on(due: UpkeepDue, first: date, days: Sequence[date]) -> date | None:
    """The day from which the next one counts; None where the pool is not visited any more.

    `days` are those on which it may be visited, in their order.
    """
    if any(due.earliest_on <= day <= due.latest_on for day in days):
        return max(due.due_on, first)
    return next((day for day in days if day > due.latest_on), None)


def _is_spared(due: UpkeepDue, sparing: Iterable[UpkeepDue]) -> bool:
    opens = due.earliest_on - timedelta(days=SPARED_DAYS)
    return not due.is_urgent and any(opens <= one.due_on <= due.latest_on for one in sparing)


def _as_job(
    due: UpkeepDue,
    number: int,
    months: frozenset[int],
    site: Site,
    technicians: Sequence[Technician],
    end: date,
) -> Job:
    may_wait = due.latest_on > end and not due.is_urgent
    job = Job(
        site_id=due.site_id,
        kind=due.kind,
        number=number,
        title=due.title,
        earliest_on=due.earliest_on,
        due_on=due.due_on,
        latest_on=due.latest_on,
        minutes=due.minutes,
        mass_kg=due.mass_kg,
        crew=max(due.crew, site.plan.crew),
        months=months,
        technician_ids=(),
        is_urgent=due.is_urgent,
        waits_until=end if may_wait else None,
    )
    return replace(job, technician_ids=_who_may(due, site, technicians))


def _who_may(due: UpkeepDue, site: Site, technicians: Sequence[Technician]) -> tuple[str, ...]:
    """The usual technician where able, else everybody who is able and wanted there."""
    plan = site.plan
    needed = plan.skills | ({due.skill} if due.skill else set())
    able = [
        one.id
        for one in technicians
        if needed <= one.skills
        and one.id not in plan.unwanted_technician_ids
        and due.mass_kg <= one.payload_kg
    ]
    if plan.usual_technician_id in able:
        return (plan.usual_technician_id,)
    return () if plan.technician_locked else tuple(sorted(able))
