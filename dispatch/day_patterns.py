"""Which days of a week a site can have, and how its visits may lie on them."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from dispatch.clock import IsoWeek, weekday_short
from dispatch.closed_days import HolidayRule
from dispatch.day_spacing import (
    PROPER_GAPS_DAYS,
    Pattern,
    agreeable_patterns,
    evenest_patterns,
    gaps_days,
    is_proper,
)
from dispatch.sites import MONDAY_TO_FRIDAY, Hold, ServicePlan
from dispatch.words import N_, _, either, joined, ngettext

COUNTS = (N_("no"), N_("one"), N_("two"), N_("three"))
ORDINALS = ("", N_("first"), N_("second"), N_("third"))


@dataclass(frozen=True, slots=True)
class WeekDays:
    """A week as one site sees it: which of its days can be served at all.

    Parameters
    ----------
    week
        The ISO week.
    today
        Days before it are over.
    holidays
        Days on which the company is closed.
    holds
        Holds of this site alone, in the order in which a person would name them.
    working_weekdays
        Weekdays (0 is Monday) on which a visit may land that a holiday has driven off every day
        the customer allows.
    holiday_rule
        What becomes of a visit whose usual day is a holiday.
    bursts
        First and last days of green-pool bursts at the site, which take the place of its visits.
    """

    week: IsoWeek
    today: date
    holidays: frozenset[date] = frozenset()
    holds: tuple[Hold, ...] = ()
    working_weekdays: frozenset[int] = MONDAY_TO_FRIDAY
    holiday_rule: HolidayRule = HolidayRule.NEAREST
    bursts: tuple[tuple[date, date], ...] = ()

    def hold_on(self, day: date) -> Hold | None:
        """The hold that covers `day`; of several the one that ends last."""
        covering = [hold for hold in self.holds if hold.covers(day)]
        return max(covering, key=lambda hold: hold.last_day, default=None)

    def burst_on(self, day: date) -> tuple[date, date] | None:
        """The burst that covers `day`, as its first and last day."""
        return next((span for span in self.bursts if span[0] <= day <= span[1]), None)

    def is_free(self, day: date) -> bool:
        """Whether neither a hold nor a burst covers `day`."""
        return self.hold_on(day) is None and self.burst_on(day) is None

    def is_open(self, day: date) -> bool:
        """Whether `day` is neither over, nor closed, nor held, nor in a burst."""
        return day >= self.today and day not in self.holidays and self.is_free(day)

    def only_closed(self, day: date) -> bool:
        """Whether a holiday is all that keeps `day` from being served."""
        return day >= self.today and day in self.holidays and self.is_free(day)


@dataclass(frozen=True, slots=True)
class DayChoice:
    """The ways in which visits may lie on days; no pattern at all when no day is left.

    `patterns` are rising tuples of days, all of one length, in date order. `note` says in words
    what was bent for it: a holiday, a hold, a gap, a visit left out; empty when nothing was.
    `lacking` is how many owed visits find no day beside these.
    """

    patterns: tuple[Pattern, ...]
    note: str = ""
    lacking: int = 0


def agreed_days(plan: ServicePlan, week: IsoWeek) -> tuple[date, ...]:
    """Days of `week` that the customer allows; the usual weekdays alone where they are locked.

    Days before the service began, and days of a season without visits, are none of them.
    """
    weekdays = plan.usual_weekdays if plan.weekday_locked else plan.allowed_weekdays
    return tuple(d for d in week.days if d.weekday() in weekdays and plan.is_served_on(d))


def expected_days(plan: ServicePlan, week: IsoWeek) -> tuple[date, ...]:
    """The agreed days on which the customer expects the visits: the usual ones, else all."""
    agreed = agreed_days(plan, week)
    return tuple(day for day in agreed if day.weekday() in plan.usual_weekdays) or agreed


def skipped_days(plan: ServicePlan, days: WeekDays) -> tuple[date, ...]:
    """Holidays of the week whose visits the company's rule leaves out.

    A visit is left out only when too few of the days on which the customer expects one stay open.
    """
    if days.holiday_rule is not HolidayRule.SKIP:
        return ()
    free = [day for day in expected_days(plan, days.week) if days.is_free(day)]
    closed = tuple(day for day in free if day in days.holidays)
    lacking = _visits_beside_bursts(plan, days) - (len(free) - len(closed))
    return closed[: max(0, lacking)]


def visits_owed(plan: ServicePlan, days: WeekDays) -> int:
    """Visits that the week owes when the site's turn has come: fewer by bursts and skipped days."""
    return max(0, _visits_beside_bursts(plan, days) - len(skipped_days(plan, days)))


def _visits_beside_bursts(plan: ServicePlan, days: WeekDays) -> int:
    """Visits of the rhythm; a burst makes up for those of the expected days that it covers."""
    rhythm = plan.rhythm_in(days.week)
    visits = 0 if rhythm is None else rhythm.visits_per_week
    expected = expected_days(plan, days.week)
    covered = sum(days.burst_on(day) is not None for day in expected)
    return visits * (len(expected) - covered) // len(expected) if covered else visits


def day_choice(plan: ServicePlan, days: WeekDays) -> DayChoice:
    """Choose the patterns of days that one week leaves to a site.

    - One visit: each agreed day that is open is a pattern of its own.
    - Two visits: pairs of agreed open days 3 or 4 days apart; three visits: days 2 or 3 apart,
      so that no two are neighbours, not even across Sunday (common practice).
    - Where no proper pair is open, pairs 2 or 5 days apart are taken, with a note.
    - A holiday closes its day. Where that leaves no agreed day, or no pattern such as these, each
      closed day is replaced by the nearest open days before and after it in the same week: days
      that the customer allows if there are any, else days in `working_weekdays`. Two days that
      replace one and the same day never make a pair. By the rules 'day-before' and 'day-after'
      the usual day is replaced by that one day, with the other side where the week has none; by
      the rule 'skip' by no day.
    - Where all that leaves no proper pattern, the evenest ones are taken, with a note.
    - Where too few days are left, fewer visits are owed, with a note; so too in the week in
      which the service begins.
    - Where no day is left, there is no pattern. A hold never moves a visit to a day that was
      not agreed.

    A visit never leaves its ISO week, because the weeks before and after have their own plans.
    """
    visits = visits_owed(plan, days)
    if visits == 0:
        return DayChoice(())
    agreed = agreed_days(plan, days.week)
    patterns = _ruled_patterns(plan, days, visits) or _agreed_patterns(plan, days, visits)
    if not patterns:
        stands_for = {day: frozenset({day}) for day in agreed if days.is_open(day)}
        patterns = evenest_patterns(stands_for | substitutes(plan, agreed, days), visits)
    if not patterns:
        return DayChoice(())
    notes = (
        *day_notes(plan, days, patterns),
        *skip_notes(plan, days),
        *_pattern_notes(patterns, visits),
    )
    lacking = 0 if _begins_in(plan, days.week) else visits - len(patterns[0])
    return DayChoice(patterns, " ".join(notes), lacking)


def name_day(day: date) -> str:
    """A day with its weekday, as in 'Thu 2026-11-26'."""
    return _("{weekday} {day}").format(weekday=weekday_short(day), day=day)


def name_days(days: Iterable[date]) -> str:
    """Days with their weekdays, separated by commas."""
    return ", ".join(map(name_day, days))


def substitutes(
    plan: ServicePlan, taken: Collection[date], days: WeekDays
) -> dict[date, frozenset[date]]:
    """Open days beside each of the days `taken` that a holiday closes, and what they replace."""
    others = [day for day in days.week.days if days.is_open(day) and day not in taken]
    allowed = [
        day for day in others if day.weekday() in plan.allowed_weekdays and plan.is_served_on(day)
    ]
    candidates = allowed or [day for day in others if day.weekday() in days.working_weekdays]
    found: dict[date, frozenset[date]] = {}
    for closed in filter(days.only_closed, taken):
        for day in _beside(closed, candidates, days.holiday_rule):
            found[day] = found.get(day, frozenset()) | {closed}
    return found


def day_notes(plan: ServicePlan, days: WeekDays, patterns: Iterable[Pattern]) -> Iterable[str]:
    """Say which agreed days a holiday or a hold has taken, where that matters to anybody."""
    agreed = agreed_days(plan, days.week)
    moved = sorted({day for pattern in patterns for day in pattern} - set(agreed))
    closed = [day for day in agreed if days.only_closed(day)]
    if moved:
        where = either([name_day(day) for day in moved])
        yield _("Closed on {days}: {where} may be taken instead.").format(
            days=name_days(closed), where=where
        )
        stray = [day for day in moved if day.weekday() not in plan.allowed_weekdays]
        if stray:
            yield _("The customer has not allowed {days}: ask first.").format(days=name_days(stray))
    elif usual := [day for day in closed if day.weekday() in plan.usual_weekdays]:
        yield _("Closed on the usual day, {days}.").format(days=name_days(usual))
    held = [day for day in agreed if day >= days.today and days.hold_on(day) is not None]
    if held:
        yield _("On hold on {days}.").format(days=name_days(held))
    burst = [day for day in agreed if day >= days.today and days.burst_on(day) is not None]
    if burst:
        yield _("A green-pool burst takes {days}.").format(days=name_days(burst))


def _agreed_patterns(plan: ServicePlan, days: WeekDays, visits: int) -> tuple[Pattern, ...]:
    """Patterns of agreed open days; fewer visits only in the week in which the service begins."""
    stands_for = {d: frozenset({d}) for d in agreed_days(plan, days.week) if days.is_open(d)}
    for count in range(visits, 0, -1):
        patterns = agreeable_patterns(stands_for, count)
        if patterns or not _begins_in(plan, days.week):
            return patterns
    return ()


def _begins_in(plan: ServicePlan, week: IsoWeek) -> bool:
    return plan.started_on is not None and IsoWeek.of(plan.started_on) == week


def _ruled_patterns(plan: ServicePlan, days: WeekDays, visits: int) -> tuple[Pattern, ...]:
    """Patterns with the day before or after each closed usual day; none by other rules."""
    if days.holiday_rule not in (HolidayRule.DAY_BEFORE, HolidayRule.DAY_AFTER):
        return ()
    usual = [d for d in agreed_days(plan, days.week) if d.weekday() in plan.usual_weekdays]
    if not any(map(days.only_closed, usual)):
        return ()
    stands_for = {day: frozenset({day}) for day in usual if days.is_open(day)}
    return evenest_patterns(stands_for | substitutes(plan, usual, days), visits)


def _beside(closed: date, candidates: Sequence[date], rule: HolidayRule) -> Sequence[date]:
    """The days of `candidates` that the rule puts in the place of `closed`."""
    before = [day for day in candidates if day < closed][-1:]
    after = [day for day in candidates if day > closed][:1]
    if rule is HolidayRule.SKIP:
        return ()
    if rule is HolidayRule.DAY_BEFORE:
        return before or after
    return (after or before) if rule is HolidayRule.DAY_AFTER else (*before, *after)


def skip_notes(plan: ServicePlan, days: WeekDays) -> Iterable[str]:
    """Say which visits of the week the company's rule leaves out."""
    skipped = skipped_days(plan, days)
    if skipped:
        yield _("Left out by the company's rule for holidays: {days}.").format(
            days=name_days(skipped)
        )


def _pattern_notes(patterns: Sequence[Pattern], visits: int) -> Iterable[str]:
    count = len(patterns[0])
    if count < visits:
        said = ngettext(
            "{made} visit instead of {owed}, because no {next} day is open.",
            "{made} visits instead of {owed}, because no {next} day is open.",
            count,
        )
        yield said.format(
            made=_(COUNTS[count]).title(), owed=_(COUNTS[visits]), next=_(ORDINALS[count + 1])
        )
    elif not is_proper(patterns[0]):
        wanted = either([str(gap) for gap in PROPER_GAPS_DAYS[visits]])
        gaps = either(sorted({_inner_gaps(pattern) for pattern in patterns}))
        yield _("No {counts} open days lie {wanted} days apart; these lie {gaps} apart.").format(
            counts=_(COUNTS[visits]), wanted=wanted, gaps=gaps
        )


def _inner_gaps(pattern: Pattern) -> str:
    return joined([str(gap) for gap in gaps_days(pattern)[:-1]])
