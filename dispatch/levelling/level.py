"""Levelling from end to end: values in, upkeep in its weeks out."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date

from dispatch.clock import IsoWeek
from dispatch.levelling.choices import choices_of
from dispatch.levelling.jobs import jobs_of
from dispatch.levelling.rooms import Visits, rooms_of
from dispatch.levelling.sharing import share_out
from dispatch.levelling.solve import solve
from dispatch.levelling.values import Job, LeftOut, Levelling, Progress, Slot, weeks_from
from dispatch.sites import Hold, Site
from dispatch.technicians import Technician
from dispatch.upkeep_conditions import History
from dispatch.upkeep_rules import UpkeepRule
from dispatch.words import _


def level(
    sites: Sequence[Site],
    technicians: Sequence[Technician],
    rules: Sequence[UpkeepRule],
    first_week: IsoWeek,
    weeks: int,
    *,
    holds: Sequence[Hold] = (),
    closed: frozenset[date] = frozenset(),
    histories: Mapping[str, History] | None = None,
    drive_min: Mapping[str, float] | None = None,
    say: Callable[[Progress], None] = lambda _progress: None,
    should_stop: Callable[[], bool] = lambda: False,
) -> Levelling:
    """Spread the upkeep of the coming weeks.

    No technician's week takes more upkeep than it has room for, no truck more on a day than its
    payload, and nothing passes its latest day; what cannot be done so is in `left_out` with the
    reason, but for what may wait until after the horizon. Jobs keep to weeks with slack and to
    the months of their season where the window allows. Upkeep that is overdue comes as soon as
    there is room.

    Parameters
    ----------
    sites, technicians, rules
        The book and the company's table of upkeep.
    first_week, weeks
        The horizon.
    holds, closed
        Spans without visits, and days on which the company is closed.
    histories
        Readings and upkeep done by site id.
    drive_min
        Minutes of driving that come with a stop, by technician id.
    say, should_stop
        Told of the progress, and asked whether to stop.

    Raises
    ------
    InvalidValue
        When the horizon is empty or too long.
    Cancelled
        When `should_stop` says yes.
    """
    horizon = weeks_from(first_week, weeks)
    ordered = sorted(technicians, key=lambda one: one.id)
    visits = Visits(sites, holds, closed)
    rooms = rooms_of(ordered, horizon, visits, closed, drive_min or {})
    by_id = {site.id: site for site in sites}
    found = jobs_of(sites, ordered, rules, horizon, visits, histories or {})
    jobs = share_out(found, rooms, by_id, ordered)
    choices = choices_of(jobs, rooms, by_id, visits)
    solved = solve(jobs, rooms, choices, say, should_stop)
    slots, left_out = [], []
    for number, choice in sorted(solved.taken.items()):
        job = jobs[number]
        if choice is None and job.waits_until is not None and job.technician_ids:
            continue  # the next levelling sees it again
        if choice is None:
            left_out.append(LeftOut(job, choices.without.get(number) or _why_full(job)))
        else:
            room = rooms[choice.room]
            slots.append(Slot(job, room.week, choice.day, room.technician_id))
    return Levelling(
        first_week, weeks, tuple(slots), tuple(left_out), rooms, solved.cost, solved.bound
    )


def _why_full(job: Job) -> str:
    return _(
        "{title} at site {site}: the weeks up to {latest} are full with other upkeep, and "
        "{minutes} minutes find no room. Add hours, or give it to another technician."
    ).format(title=_(job.title), site=job.site_id, latest=job.latest_on, minutes=job.minutes)
