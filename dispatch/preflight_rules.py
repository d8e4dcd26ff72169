"""Which technicians on which days could serve a demand at all, one rule after the other."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from dispatch.due_visits import VisitsDue
from dispatch.technicians import Technician


class Cause(StrEnum):
    """What a finding is about; stable, for callers of the API."""

    NO_SHIFT = "no-shift"  # nobody works in the week, or on the days of a visit
    UNKNOWN_TECHNICIAN = "unknown-technician"  # named by a site, not in the book
    LOCK = "lock"  # the technician a visit is locked to cannot come
    UNWANTED = "unwanted"  # nobody is left whom the customer wants
    SKILL = "skill"
    CREW = "crew"
    WINDOW = "window"  # outside every shift
    TOO_LONG = "too-long"  # longer than any shift
    PAYLOAD = "payload"
    CHEMICALS = "chemicals"
    FEWER_VISITS = "fewer-visits"  # fewer than agreed, because too few days are open
    OVERLAP = "overlapping-shifts"  # a night shift goes on when the next one begins
    OVERLOAD = "overload"  # more service than there are hours in the shifts
    DRIVE = "drive"  # no drive times
    OFF = "off"  # a technician has stops on a day off, in the plan or published


@dataclass(frozen=True, slots=True)
class WorkDay:
    """A technician on a day with a shift; with overtime the day may go on to `end_s`."""

    technician: Technician
    day: date
    start_s: int
    end_s: int
    longest_s: int

    @classmethod
    def of(cls, technician: Technician, day: date) -> WorkDay | None:
        """The day of the technician, None on a day off."""
        shift = technician.shift_on(day)
        if shift is None:
            return None
        span_s = shift.end_s - shift.start_s
        overtime = technician.overtime
        longest_s = span_s if overtime is None else max(span_s, 60 * overtime.day_most_min)
        end_s = max(shift.end_s, shift.start_s + longest_s)
        return cls(technician, day, shift.start_s, end_s, longest_s)


def work_days(technicians: Iterable[Technician], days: Sequence[date]) -> list[WorkDay]:
    """Every day on which a technician has a shift."""
    found = (WorkDay.of(technician, day) for technician in technicians for day in days)
    return [one for one in found if one is not None]


def broken(visits: VisitsDue, days: Sequence[WorkDay]) -> list[Cause]:
    """Why nobody can serve a demand; nothing when somebody is left.

    The first rule that leaves nobody after those before it, and every later one that would leave
    nobody by itself: whoever mended the first alone would meet the next.
    """
    if _is_possible(visits, days):  # nearly every demand, told by the first days looked at
        return []
    left, found = list(days), list[Cause]()
    for cause, keeps in RULES:
        if found:
            if not any(keeps(visits, one) for one in days):
                found.append(cause)
            continue
        left = [one for one in left if keeps(visits, one)]
        if cause is Cause.NO_SHIFT:
            left = _with_whole_patterns(visits, left)
        if not left:
            found.append(cause)
    return found


def _is_possible(visits: VisitsDue, days: Sequence[WorkDay]) -> bool:
    """Whether some pattern has on each of its days somebody who keeps every rule."""

    def is_served(day: date) -> bool:
        return any(one.day == day and all(keeps(visits, one) for _, keeps in RULES) for one in days)

    return any(all(map(is_served, pattern)) for pattern in visits.patterns)


def _with_whole_patterns(visits: VisitsDue, left: Sequence[WorkDay]) -> list[WorkDay]:
    """Those of `left` on days of patterns that have somebody on each of their days."""
    worked = {one.day for one in left}
    possible = {day for pattern in visits.patterns if worked >= set(pattern) for day in pattern}
    return [one for one in left if one.day in possible]


def _keeps_lock(visits: VisitsDue, one: WorkDay) -> bool:
    return not visits.technician_locked or one.technician.id == visits.usual_technician_id


def _is_wanted(visits: VisitsDue, one: WorkDay) -> bool:
    return one.technician.id not in visits.unwanted_technician_ids


def _has_skills(visits: VisitsDue, one: WorkDay) -> bool:
    return visits.skills <= one.technician.skills


def _is_on_its_days(visits: VisitsDue, one: WorkDay) -> bool:
    return any(one.day in pattern for pattern in visits.patterns)


def _has_persons(visits: VisitsDue, one: WorkDay) -> bool:
    return visits.crew <= one.technician.crew_on(one.day)


def _has_time(visits: VisitsDue, one: WorkDay) -> bool:
    return 60 * max(visits.service_min) <= one.longest_s


def _is_open(visits: VisitsDue, one: WorkDay) -> bool:
    lasts_s = min(60 * max(visits.service_min), one.longest_s)  # what is longer is TOO_LONG
    latest_s = one.end_s - lasts_s
    return any(w.start_s <= latest_s and one.start_s <= w.end_s for w in visits.windows)


def _can_carry(visits: VisitsDue, one: WorkDay) -> bool:
    return visits.mass_kg + visits.chemicals_kg <= one.technician.payload_kg


def _may_carry(visits: VisitsDue, one: WorkDay) -> bool:
    return visits.chemicals_kg <= one.technician.chemicals_most_kg


RULES: tuple[tuple[Cause, Callable[[VisitsDue, WorkDay], bool]], ...] = (
    (Cause.LOCK, _keeps_lock),
    (Cause.UNWANTED, _is_wanted),
    (Cause.SKILL, _has_skills),
    (Cause.NO_SHIFT, _is_on_its_days),
    (Cause.CREW, _has_persons),
    (Cause.TOO_LONG, _has_time),
    (Cause.WINDOW, _is_open),
    (Cause.PAYLOAD, _can_carry),
    (Cause.CHEMICALS, _may_carry),
)
