"""All ways to do each job, with their prices.

Prices are in made-up minutes and our own choice: a week early wastes a little life, a week past
the due date is riskier, and the fuller a technician's week, the dearer another minute in it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from dispatch.levelling.rooms import Visits
from dispatch.levelling.values import Choice, Job, Room
from dispatch.sites import Site
from dispatch.words import _

EARLY_PRICE = 1.0  # a week before the due date
LATE_PRICE = 3.0  # a week after it, though before the latest
OVERDUE_PRICE = 30.0  # a week after the first visit, for what is overdue already
LEFT_OUT_PRICE = 2000.0  # a job without a week; more than any week can cost
LEFT_OUT_MIN_PRICE = 20.0  # on top of it, for each of its minutes
WAIT_PRICE = 60.0  # on top of the weeks late, for what may be left to after the horizon
HEAVY_KG = 20.0  # kg; lighter things are no question for a truck (common practice)
# Share of the room, and the price of each minute in that part of it.
BANDS = ((0.5, 0.0), (0.3, 0.1), (0.2, 0.4))


@dataclass(frozen=True, slots=True)
class Choices:
    """The choices of all jobs, and why a job has none (by its number)."""

    all: tuple[Choice, ...]
    without: Mapping[int, str]


def choices_of(
    jobs: Sequence[Job], rooms: Sequence[Room], sites: Mapping[str, Site], visits: Visits
) -> Choices:
    """Every week, day and technician that each job may have."""
    by_technician: dict[str, list[int]] = {}
    for n, room in enumerate(rooms):
        by_technician.setdefault(room.technician_id, []).append(n)
    found: list[Choice] = []
    without: dict[int, str] = {}
    for number, job in enumerate(jobs):
        numbers = [n for one in job.technician_ids for n in by_technician.get(one, [])]
        site = sites[job.site_id]
        made = _choices_of(number, job, [(n, rooms[n]) for n in numbers], site, visits)
        found += made
        if not made:
            without[number] = _why_none(job, [rooms[n] for n in numbers], site, visits)
    return Choices(tuple(found), without)


def left_out_price(job: Job) -> float:
    """What it costs to leave a job without a week."""
    if job.waits_until is not None:
        late = max(0.0, (job.waits_until - job.due_on).days / 7)
        return WAIT_PRICE + LATE_PRICE * late
    return LEFT_OUT_PRICE + LEFT_OUT_MIN_PRICE * job.minutes


def _choices_of(
    number: int, job: Job, rooms: Sequence[tuple[int, Room]], site: Site, visits: Visits
) -> list[Choice]:
    """Within the window and the season; out of season, then after the latest, if all else fails."""
    ways = [
        (n, day)
        for n, room in rooms
        for day in visits.days(site, room.week)
        if day in room.days
        and job.crew <= room.crew[room.days.index(day)]
        and day >= job.earliest_on
        and job.minutes <= room.room_min
    ]
    in_time = [way for way in ways if way[1] <= job.latest_on]
    in_season = [way for way in in_time if way[1].month in job.months or job.is_urgent]
    chosen = in_season or in_time
    first = _first_day(rooms, visits, site)
    if not chosen and job.latest_on < first:
        chosen = ways  # overdue: any week is late, the first one least
    return [Choice(number, n, day, _price(job, day, first)) for n, day in _one_day(chosen, job)]


def _one_day(ways: Sequence[tuple[int, date]], job: Job) -> list[tuple[int, date]]:
    """One day for each room; all days for a job with mass, because trucks are filled by the day."""
    if job.mass_kg >= HEAVY_KG:
        return list(ways)
    first: dict[int, date] = {}
    for n, day in ways:
        first.setdefault(n, day)
    return list(first.items())


def _first_day(rooms: Sequence[tuple[int, Room]], visits: Visits, site: Site) -> date:
    days = [day for _, room in rooms for day in visits.days(site, room.week) if day in room.days]
    return min(days, default=date.min)


def _price(job: Job, day: date, first: date) -> float:
    weeks = (day - job.due_on).days / 7
    if day > job.latest_on:
        return OVERDUE_PRICE * (day - max(job.latest_on, first)).days / 7
    return LATE_PRICE * weeks if weeks > 0 else -EARLY_PRICE * weeks


def _why_none(job: Job, rooms: Sequence[Room], site: Site, visits: Visits) -> str:
    if not job.technician_ids:
        return _(
            "{title} at site {site}: nobody who may go there has the skill and a truck for "
            "{mass:g} kg. Add the skill to somebody, or unlock the technician."
        ).format(title=_(job.title), site=job.site_id, mass=job.mass_kg)
    days = [day for room in rooms for day in visits.days(site, room.week)]
    is_overdue = bool(days) and job.latest_on < min(days)
    if is_overdue or any(job.earliest_on <= day <= job.latest_on for day in days):
        said = _(
            "{title} at site {site}: no visit between {earliest} and {latest} leaves room for "
            "{minutes} minutes. Add hours or a visit, or give it to another technician."
        )
    else:
        said = _(
            "{title} at site {site}: the pool is not visited between {earliest} and {latest}, by "
            "its hold or season. Agree on a visit, or do it at the first one after that."
        )
    return said.format(
        title=_(job.title),
        site=job.site_id,
        earliest=job.earliest_on,
        latest=job.latest_on,
        minutes=job.minutes,
    )
