"""Which days of a week one-off work can have."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import combinations

from dispatch.clock import IsoWeek
from dispatch.day_patterns import WeekDays, name_day
from dispatch.day_spacing import Pattern
from dispatch.due_visits import NotDue, VisitsDue
from dispatch.one_offs import OneOff
from dispatch.sites import Site
from dispatch.turns import LOOK_AHEAD_WEEKS, DueBecause
from dispatch.windows import ALL_DAY
from dispatch.words import _, counted

ONE_DAY = timedelta(days=1)


def one_off_due(
    work: OneOff, site: Site, days: WeekDays, planned: Sequence[date]
) -> VisitsDue | NotDue | None:
    """Say which visits of one-off work a week owes; None when the work has no part in the week.

    Visits are owed on working days (`days.working_weekdays`), neither held nor closed, within the
    span of the work, whatever weekdays the customer allows for the regular ones. As many as have
    room come in the first week that is planned; the others follow in the next. Consecutive visits
    begin on any day from which they can run on; once begun they go on at the first day there is.
    Work whose span is over, or has no such day left, is late: it is owed in the week of the first
    such day after it, and in the week after; the weeks before list it as not due.

    The site's windows hold where the work has none of its own, the site's skills are needed
    besides its own, and the technicians whom the customer does not want do not come.

    Parameters
    ----------
    days
        The week as the site sees it, its holds included.
    planned
        Days on which plans of other weeks have visits of the work; those that are over and not on
        record as made count as missed. Earlier weeks have its first visits, later ones its last.
    """
    week = days.week
    ahead = [day for day in planned if day >= days.today]
    earlier = [day for day in ahead if day < week.monday]
    later = [day for day in ahead if day > week.sunday]
    left = work.minutes_left[len(earlier) :]
    minutes = left[: max(0, len(left) - len(later))]
    if not minutes:
        return None
    begun_on = [day for day in (*work.visited_on, *earlier) if day <= week.sunday]
    first = max(work.first_day, days.today, *(day + ONE_DAY for day in begun_on))
    begins, ends, late = _room(work, days, first)
    choices = [day for day in week.days if begins <= day <= ends and _is_open(day, days)]
    if not choices:
        waits = work.first_day <= week.sunday and week.monday <= max(work.last_day, begins)
        return _no_day(work, days, late) if waits else None
    patterns = _patterns(choices, len(minutes), work.consecutive, bool(begun_on))
    count = len(patterns[0])
    return VisitsDue(
        site_id=site.id,
        week=week,
        patterns=patterns,
        service_min=minutes[:count],
        because=DueBecause.OVERDUE if late else DueBecause.ONE_OFF,
        note=_note(work, days, late, len(minutes) - count),
        kind=work.kind,
        demand_id=work.demand_id,
        windows=site.plan.windows if work.windows == ALL_DAY else work.windows,
        crew=work.crew,
        priority=work.priority,
        skills=work.skills | site.plan.skills,
        chemicals_kg=work.chemicals_kg,
        mass_kg=work.mass_kg,
        usual_technician_id=work.technician_id,
        technician_locked=work.technician_id is not None,
        unwanted_technician_ids=site.plan.unwanted_technician_ids - {work.technician_id},
        title=work.title,
    )


def _room(work: OneOff, days: WeekDays, first: date) -> tuple[date, date, bool]:
    """First and last day for visits that may come from `first` on, and whether that is late."""
    if any(_is_open(day, days) for day in _span(first, work.last_day)):
        return first, work.last_day, False
    begins = _next_open(max(first, work.last_day + ONE_DAY), days)
    if begins is None:
        return date.max, date.max, True
    return begins, IsoWeek.of(begins).next.sunday, True


def _is_open(day: date, days: WeekDays) -> bool:
    return day.weekday() in days.working_weekdays and days.is_open(day)


def _span(first: date, last: date) -> list[date]:
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def _patterns(
    choices: Sequence[date], visits: int, consecutive: bool, begun: bool
) -> tuple[Pattern, ...]:
    """Ways to lay as many visits as have room; `choices` is not empty."""
    count = min(visits, len(choices))
    if not consecutive:
        return tuple(combinations(choices, count))
    runs = [tuple(choices[n : n + count]) for n in range(len(choices) - count + 1)]
    return tuple(runs[:1] if begun else runs)


def _note(work: OneOff, days: WeekDays, late: bool, left: int) -> str:
    parts = []
    if late and work.last_day < days.today:
        parts.append(_("It was to be done by {last_day}.").format(last_day=work.last_day))
    elif late:
        parts.append(
            _("No open day is left up to {last_day}, when it was to be done.").format(
                last_day=work.last_day
            )
        )
    if left:
        parts.append(
            counted(
                "{n} more of its visits follows later.",
                "{n} more of its visits follow later.",
                left,
            )
        )
    return " ".join(parts)


def _no_day(work: OneOff, days: WeekDays, late: bool) -> NotDue:
    """Say why work that could be done in the week, were it open, has no day in it."""
    last = days.week.sunday if late else work.last_day
    span = [day for day in days.week.days if work.first_day <= day <= last]
    holds = [hold for day in span if day >= days.today and (hold := days.hold_on(day))]
    if holds:
        hold = max(holds, key=lambda one: one.last_day)
        why = f" ({hold.reason})" if hold.reason else ""
        reason = _("The site is on hold from {first_day} to {last_day}{why}.").format(
            first_day=hold.first_day, last_day=hold.last_day, why=why
        )
    elif any(day < days.today and day.weekday() in days.working_weekdays for day in span):
        reason = _("Every day of this week on which it could be done is over.")
    else:
        reason = _("Nobody works on the days of this week on which it could be done.")
    nearest = _next_open(max(days.week.sunday + ONE_DAY, work.first_day), days)
    if nearest is None:
        return NotDue(work.site_id, f"{work.title}: {reason}", None, work.demand_id)
    ahead = _("It can be done on {day}, in {of}.").format(
        day=name_day(nearest), of=IsoWeek.of(nearest)
    )
    return NotDue(work.site_id, f"{work.title}: {reason} {ahead}", nearest, work.demand_id)


def _next_open(first: date, days: WeekDays) -> date | None:
    """First day from `first` on that is open; None within two years."""
    ahead = _span(first, first + timedelta(weeks=LOOK_AHEAD_WEEKS))
    return next((day for day in ahead if _is_open(day, days)), None)
