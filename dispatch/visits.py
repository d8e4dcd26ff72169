"""Visits due: what each site is owed in one ISO week.

Turns
    See `turns`: visits count from an anchor, and a missed turn is owed until it is made up.

Holds and holidays
    See `day_patterns.day_choice`. A site whose agreed days are all held is not due; it comes back
    by itself at its first turn after the hold. A turn lost to holidays is carried as missed,
    unless the company's rule is to leave it out.

One-off work
    See `one_off_days`. A green-pool burst takes the place of the regular visits that fall into
    it; after it the site is back on its route by itself.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date

from dispatch.clock import IsoWeek
from dispatch.closed_days import HolidayRule
from dispatch.day_patterns import (
    DayChoice,
    WeekDays,
    agreed_days,
    day_choice,
    name_day,
    skip_notes,
    skipped_days,
    visits_owed,
)
from dispatch.due_visits import NotDue, VisitsDue, WeekDue
from dispatch.later_visits import later_visits
from dispatch.one_off_days import one_off_due
from dispatch.one_offs import OneOff
from dispatch.service_plan import VisitKind
from dispatch.sites import MONDAY_TO_FRIDAY, Hold, ServicePlan, Site
from dispatch.turns import (
    LOOK_AHEAD_WEEKS,
    DueBecause,
    counting_day,
    next_day,
    next_visit_on,
    owed_from_before,
    why_due,
)
from dispatch.words import _

__all__ = ["DueBecause", "NotDue", "VisitKind", "VisitsDue", "WeekDue", "visits_due"]


def visits_due(
    sites: Iterable[Site],
    week: IsoWeek,
    *,
    today: date,
    holidays: frozenset[date] = frozenset(),
    holds: Iterable[Hold] = (),
    working_weekdays: frozenset[int] = MONDAY_TO_FRIDAY,
    holiday_rule: HolidayRule = HolidayRule.NEAREST,
    one_offs: Iterable[OneOff] = (),
    planned: Mapping[str, Sequence[date]] | None = None,
) -> WeekDue:
    """Say what each site and each one-off job is owed in one ISO week.

    The rules are those of the module's docstring. The result is a function of the arguments
    alone; it keeps the order of `sites`, and lists one-off work after them in its own order.

    Parameters
    ----------
    sites
        The book; the regular visits of each come back once, in `due` or in `not_due`.
    week
        The week to be planned. In a week that has begun, days before `today` are over.
    today
        The day on which the question is asked.
    holidays
        Days on which the company is closed (see `closed_days.holidays_of`): those of the week,
        and for the rule 'skip' those of the four weeks before it.
    holds
        Holds of any sites, whether or not they touch the week.
    working_weekdays
        Weekdays, 0 is Monday, to which a holiday may move a visit when no day that the customer
        allows is left, and on which one-off work is done; Monday to Friday unless told otherwise
        (common practice).
    holiday_rule
        What becomes of a visit whose usual day is a holiday.
    one_offs
        One-off work at sites of the book, finished or not; that of other sites is left out.
    planned
        By the id of one-off work, days on which plans of other weeks have visits of it.
    """
    works = tuple(one_offs)
    holds_of_site: defaultdict[str, list[Hold]] = defaultdict(list)
    for hold in holds:
        holds_of_site[hold.site_id].append(hold)
    bursts_of_site: defaultdict[str, list[tuple[date, date]]] = defaultdict(list)
    for work in works:
        if work.kind is VisitKind.GREEN_POOL and not _is_called_off(work):
            bursts_of_site[work.site_id].append(_burst_span(work))
    whole = WeekDays(week, today, holidays, (), working_weekdays, holiday_rule)
    answers: list[VisitsDue | NotDue] = []
    by_id: dict[str, Site] = {}
    for site in sites:
        by_id[site.id] = site
        bursts = tuple(bursts_of_site[site.id])
        days = replace(whole, holds=tuple(holds_of_site[site.id]), bursts=bursts)
        answers.append(_answer(site, days))
    for work in works:
        if work.site_id in by_id:
            days = replace(whole, holds=tuple(holds_of_site[work.site_id]))
            ahead = (planned or {}).get(work.id, ())
            found = one_off_due(work, by_id[work.site_id], days, ahead)
            answers += [] if found is None else [found]
    return WeekDue(
        tuple(one for one in answers if isinstance(one, VisitsDue)),
        tuple(one for one in answers if isinstance(one, NotDue)),
    )


def _is_called_off(work: OneOff) -> bool:
    """Whether a burst was done with before its first day, so that it takes no visit's place."""
    return work.done_on is not None and work.done_on < work.first_day


def _burst_span(work: OneOff) -> tuple[date, date]:
    """First and last day of a burst; one that was finished early ended on that day."""
    return work.first_day, min(work.done_on or work.last_day, work.last_day)


def _answer(site: Site, days: WeekDays) -> VisitsDue | NotDue:
    plan, week = site.plan, days.week
    last = None if plan.is_unvisited else plan.last_visit_on
    because = why_due(plan, days)
    if because is None:
        return _not_due(site, days, _why_no_turn(plan, days))
    if last is not None and last > week.sunday:
        return _not_due(site, days, _visited_words(last))
    if last is not None and last >= week.monday:
        if visits_owed(plan, days) <= 1:
            reasons = (_visited_words(last), *skip_notes(plan, days))
            return _not_due(site, days, " ".join(reasons))
        choice = later_visits(plan, days, last)
        if not choice.patterns:
            return _not_due(
                site,
                days,
                _("It was visited on {last} and {plan}.").format(
                    last=last, plan=_too_late(plan, week)
                ),
            )
    else:
        choice = day_choice(plan, days)
        if not choice.patterns:
            return _no_day_left(site, days)
    return _owed(site, days, choice, because)


def _owed(site: Site, days: WeekDays, choice: DayChoice, because: DueBecause) -> VisitsDue:
    plan = site.plan
    minutes = [plan.service_min_in(days.week)] * len(choice.patterns[0])
    if because is DueBecause.FIRST and plan.first_service_min is not None:
        minutes[0] = plan.first_service_min
    return VisitsDue(
        site_id=site.id,
        week=days.week,
        patterns=choice.patterns,
        service_min=tuple(minutes),
        because=because,
        note=_note(because, choice),
        kind=VisitKind.FIRST if because is DueBecause.FIRST else VisitKind.REGULAR,
        windows=plan.windows,
        crew=plan.crew,
        priority=plan.priority,
        skills=plan.skills,
        chemicals_kg=plan.chemicals_kg,
        usual_technician_id=plan.usual_technician_id,
        usual_weekdays=plan.usual_weekdays,
        technician_locked=plan.technician_locked,
        unwanted_technician_ids=plan.unwanted_technician_ids,
        next_visit_on=next_visit_on(plan, days),
        lacking=choice.lacking,
    )


def _visited_words(last: date) -> str:
    return _("It was visited on {last}.").format(last=last)


def _too_late(plan: ServicePlan, week: IsoWeek) -> str:
    rhythm = plan.rhythm_in(week)
    gaps = "3 or 4" if rhythm is not None and rhythm.visits_per_week == 2 else "2 or 3"
    return _("no open day lies {gaps} days after that").format(gaps=gaps)


def _note(because: DueBecause, choice: DayChoice) -> str:
    overdue = _("A turn in an earlier week was missed.") if because is DueBecause.OVERDUE else ""
    return " ".join(filter(None, (overdue, choice.note)))


def _why_no_turn(plan: ServicePlan, days: WeekDays) -> str:
    rhythm = plan.rhythm_in(days.week)
    if plan.started_on is not None and days.week < IsoWeek.of(plan.started_on):
        return _("Its service begins on {started}.").format(started=plan.started_on)
    if rhythm is None:
        return _("No visits are made in the season {season}.").format(
            season=plan.season_on(days.week.days[3])
        )
    if plan.anchor_on is not None and days.week < IsoWeek.of(plan.anchor_on):
        return _("Its service begins with the visit scheduled for {anchor}.").format(
            anchor=plan.anchor_on
        )
    counted_from = counting_day(plan)
    if counted_from is None:
        return _("Its first visit comes earlier, and later turns are counted from that one.")
    weeks = rhythm.every_weeks
    return _("Not its turn: visits come every {weeks} weeks, counted from {counted_from}.").format(
        weeks=weeks, counted_from=counted_from
    )


def _no_day_left(site: Site, days: WeekDays) -> NotDue:
    """Say why an owed visit finds no day.

    A turn that is held, left out by the company's rule or made up for by a burst is owed no
    longer; one lost to holidays, or missed before the hold, is.
    """
    agreed = agreed_days(site.plan, days.week)
    holds = [hold for day in agreed if day >= days.today and (hold := days.hold_on(day))]
    excused = bool(holds)
    if visits_owed(site.plan, days) == 0:
        reason, excused = _why_nothing_owed(site.plan, days), True
    elif holds:
        hold = max(holds, key=lambda hold: hold.last_day)
        why = f" ({hold.reason})" if hold.reason else ""
        reason = _("On hold from {first_day} to {last_day}{why}.").format(
            first_day=hold.first_day, last_day=hold.last_day, why=why
        )
    elif any(days.only_closed(day) for day in agreed):
        reason = _("Closed for holidays on every day on which it could be served.")
    elif burst := next(filter(None, map(days.burst_on, agreed)), None):
        reason, excused = _("{burst} leaves no other day.").format(burst=_burst_words(burst)), True
    elif not agreed:
        reason = _("The week has no day on which it could be served.")
    else:
        reason = _("Every day of this week on which it could be served is over.")
    carried = not excused or owed_from_before(site.plan, days)
    return _not_due(site, days, reason, carried=carried)


def _why_nothing_owed(plan: ServicePlan, days: WeekDays) -> str:
    skipped = skipped_days(plan, days)
    if skipped:
        names = ", ".join(map(name_day, skipped))
        return _("Closed on {names}, and by the company's rule the visit is left out.").format(
            names=names
        )
    burst = next(filter(None, map(days.burst_on, agreed_days(plan, days.week))))
    return _("{burst} takes its place.").format(burst=_burst_words(burst))


def _burst_words(burst: tuple[date, date]) -> str:
    return _("A green-pool burst from {burst} to {until}").format(burst=burst[0], until=burst[1])


def _not_due(site: Site, days: WeekDays, reason: str, *, carried: bool = False) -> NotDue:
    next_on = next_day(site.plan, days, carried=carried)
    if next_on is None:
        ahead = _("No visit comes within {look_ahead_weeks} weeks.").format(
            look_ahead_weeks=LOOK_AHEAD_WEEKS
        )
    else:
        ahead = _("Next visit due {day}, in {of}.").format(
            day=name_day(next_on), of=IsoWeek.of(next_on)
        )
    return NotDue(site.id, f"{reason} {ahead}", next_on)
