"""Visits due: what each site is owed in one ISO week.

Turns
    See `turns`: visits count from an anchor, and a missed turn is owed until it is made up.

Holds and holidays
    See `day_patterns.day_choice`. A site whose agreed days are all held is not due; it comes back
    by itself at its first turn after the hold. A turn lost to holidays is carried as missed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from dispatch.clock import IsoWeek
from dispatch.day_patterns import (
    DayChoice,
    WeekDays,
    agreed_days,
    day_choice,
    name_day,
    second_visit,
)
from dispatch.errors import SettingsError
from dispatch.sites import MONDAY_TO_FRIDAY, Hold, ServicePlan, Site
from dispatch.turns import LOOK_AHEAD_WEEKS, DueBecause, next_day, owed_from_before, why_due

__all__ = [
    "DueBecause",
    "NotDue",
    "VisitsDue",
    "WeekDue",
    "holiday_names",
    "holidays_of",
    "visits_due",
]


@dataclass(frozen=True, slots=True)
class VisitsDue:
    """Visits one site is owed in one week.

    `patterns` are the choices of days, each a rising tuple with one day per visit; planning takes
    exactly one of them. `note` says in words what was bent (a holiday, a hold), or is empty.
    """

    site_id: str
    week: IsoWeek
    patterns: tuple[tuple[date, ...], ...]
    service_min: int
    because: DueBecause = DueBecause.RHYTHM
    note: str = ""

    @property
    def count(self) -> int:
        """Number of visits owed."""
        return len(self.patterns[0])

    def visit_id(self, number: int) -> str:
        """Stable name of the visit `number` (1, 2 ...), as 'S017/2026-W49/1'."""
        return f"{self.site_id}/{self.week}/{number}"


@dataclass(frozen=True, slots=True)
class NotDue:
    """A site that is owed nothing in a week: why, in whole sentences, and when its turn comes.

    `next_due_on` is the day on which the next visit is expected (the usual weekday where it is
    open); None when no such day lies within two years, as under a hold without end. Holidays
    of later weeks are not looked at.
    """

    site_id: str
    reason: str
    next_due_on: date | None


@dataclass(frozen=True, slots=True)
class WeekDue:
    """Every site of the book once: either owed visits in the week, or not and why."""

    due: tuple[VisitsDue, ...]
    not_due: tuple[NotDue, ...]


def visits_due(
    sites: Iterable[Site],
    week: IsoWeek,
    *,
    today: date,
    holidays: frozenset[date] = frozenset(),
    holds: Iterable[Hold] = (),
    working_weekdays: frozenset[int] = MONDAY_TO_FRIDAY,
) -> WeekDue:
    """Say what each site is owed in one ISO week.

    The rules are those of the module's docstring. The result is a function of the arguments
    alone and keeps the order of `sites`.

    Parameters
    ----------
    sites
        The book; each site comes back once, in `due` or in `not_due`.
    week
        The week to be planned. In a week that has begun, days before `today` are over.
    today
        The day on which the question is asked.
    holidays
        Days on which the company is closed (see `holidays_of`).
    holds
        Holds of any sites, whether or not they touch the week.
    working_weekdays
        Weekdays, 0 is Monday, to which a holiday may move a visit when no day that the customer
        allows is left; Monday to Friday unless told otherwise (common practice).
    """
    holds_of_site: defaultdict[str, list[Hold]] = defaultdict(list)
    for hold in holds:
        holds_of_site[hold.site_id].append(hold)
    due: list[VisitsDue] = []
    not_due: list[NotDue] = []
    for site in sites:
        own_holds = tuple(holds_of_site[site.id])
        answer = _answer(site, WeekDays(week, today, holidays, own_holds, working_weekdays))
        if isinstance(answer, VisitsDue):
            due.append(answer)
        else:
            not_due.append(answer)
    return WeekDue(tuple(due), tuple(not_due))


def holiday_names(
    country: str, subdivision: str | None, week: IsoWeek, *, worked: Iterable[str] = ()
) -> dict[date, str]:
    """Name the public holidays in a week, by day.

    The day itself counts, not a substitute day that public offices observe: the trade works the
    actual day (common practice).

    Parameters
    ----------
    country, subdivision
        ISO 3166-1 alpha-2 and the part of ISO 3166-2 after the hyphen, as 'US' and 'AZ'.
    week
        The week; it may lie in two years.
    worked
        Names of holidays on which the company works all the same, in any case, as 'Columbus Day'.

    Raises
    ------
    SettingsError
        When the country or the subdivision is not known.

    Source
    ------
    The PyPI package `holidays`.
    """
    import holidays  # here, because only few callers ask for holidays

    years = {week.monday.year, week.sunday.year}
    try:
        calendar = holidays.country_holidays(
            country, subdiv=subdivision or None, years=years, observed=False
        )
    except NotImplementedError as error:
        place = f"{country}-{subdivision}" if subdivision else country
        raise SettingsError(
            f"No holidays are known for '{place}': give the country as two letters of ISO 3166-1, "
            "as US, and the subdivision as in ISO 3166-2 without the country, as AZ, or leave it "
            "empty."
        ) from error
    not_closed = {name.casefold() for name in worked}
    named = ((day, calendar.get(day)) for day in week.days)
    return {day: name for day, name in named if name and name.casefold() not in not_closed}


def holidays_of(
    country: str, subdivision: str | None, week: IsoWeek, *, worked: Iterable[str] = ()
) -> frozenset[date]:
    """Days of a week on which the company is closed; parameters and errors of `holiday_names`."""
    return frozenset(holiday_names(country, subdivision, week, worked=worked))


def _answer(site: Site, days: WeekDays) -> VisitsDue | NotDue:
    plan, week = site.plan, days.week
    last = plan.last_visit_on
    because = why_due(plan, days)
    if because is None:
        return _not_due(site, days, _why_no_turn(plan, days))
    if last is not None and (last > week.sunday or (last >= week.monday and _is_done(plan))):
        return _not_due(site, days, f"It was visited on {last}.")
    if last is not None and last >= week.monday:
        choice = second_visit(plan, days, last)
        if not choice.patterns:
            reason = f"It was visited on {last} and no open day lies 3 or 4 days after that."
            return _not_due(site, days, reason)
    else:
        choice = day_choice(plan, days)
        if not choice.patterns:
            return _no_day_left(site, days)
    return VisitsDue(
        site.id, week, choice.patterns, plan.service_min, because, _note(because, choice)
    )


def _is_done(plan: ServicePlan) -> bool:
    """Whether one visit is all that a week owes."""
    return plan.rhythm.visits_per_week == 1


def _note(because: DueBecause, choice: DayChoice) -> str:
    overdue = "A turn in an earlier week was missed." if because is DueBecause.OVERDUE else ""
    return " ".join(filter(None, (overdue, choice.note)))


def _why_no_turn(plan: ServicePlan, days: WeekDays) -> str:
    if plan.anchor_on is not None and days.week < IsoWeek.of(plan.anchor_on):
        return f"Its service begins with the visit scheduled for {plan.anchor_on}."
    counted_from = plan.anchor_on or plan.last_visit_on
    if counted_from is None:
        return "Its first visit comes earlier, and later turns are counted from that one."
    return f"Not its turn: visits come {_in_words(plan)}, counted from {counted_from}."


def _in_words(plan: ServicePlan) -> str:
    return f"every {plan.rhythm.every_weeks} weeks"


def _no_day_left(site: Site, days: WeekDays) -> NotDue:
    """Say why an owed visit finds no day.

    A turn that is held is owed no longer; one lost to holidays, or missed before the hold, is.
    """
    agreed = agreed_days(site.plan, days.week)
    holds = [hold for day in agreed if day >= days.today and (hold := days.hold_on(day))]
    if holds:
        hold = max(holds, key=lambda hold: hold.last_day)
        why = f" ({hold.reason})" if hold.reason else ""
        reason = f"On hold from {hold.first_day} to {hold.last_day}{why}."
    elif any(days.only_closed(day) for day in agreed):
        reason = "Closed for holidays on every day on which it could be served."
    else:
        reason = "Every day of this week on which it could be served is over."
    carried = not holds or owed_from_before(site.plan, days)
    return _not_due(site, days, reason, carried=carried)


def _not_due(site: Site, days: WeekDays, reason: str, *, carried: bool = False) -> NotDue:
    next_on = next_day(site.plan, days, carried=carried)
    if next_on is None:
        ahead = f"No visit comes within {LOOK_AHEAD_WEEKS} weeks."
    else:
        ahead = f"Next visit due {name_day(next_on)}, in {IsoWeek.of(next_on)}."
    return NotDue(site.id, f"{reason} {ahead}", next_on)
