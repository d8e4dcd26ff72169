"""Which days of a week a site can have, and how its visits may lie on them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations

from dispatch.clock import WEEKDAYS, IsoWeek
from dispatch.sites import MONDAY_TO_FRIDAY, Hold, ServicePlan

PROPER_GAPS_DAYS = (3, 4)  # days between two visits of one week; common practice
FAIR_GAPS_DAYS = (2, 5)  # days; still worth having without asking the customer for another day
EVEN_GAP_DAYS = 3.5  # days; half a week, what a bent pair should stay near


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
    """

    week: IsoWeek
    today: date
    holidays: frozenset[date] = frozenset()
    holds: tuple[Hold, ...] = ()
    working_weekdays: frozenset[int] = MONDAY_TO_FRIDAY

    def hold_on(self, day: date) -> Hold | None:
        """The hold that covers `day`; of several the one that ends last."""
        covering = [hold for hold in self.holds if hold.covers(day)]
        return max(covering, key=lambda hold: hold.last_day, default=None)

    def is_open(self, day: date) -> bool:
        """Whether `day` is neither over, nor closed, nor held."""
        return day >= self.today and day not in self.holidays and self.hold_on(day) is None

    def only_closed(self, day: date) -> bool:
        """Whether a holiday is all that keeps `day` from being served."""
        return day >= self.today and day in self.holidays and self.hold_on(day) is None


@dataclass(frozen=True, slots=True)
class DayChoice:
    """The ways in which visits may lie on days; no pattern at all when no day is left.

    `patterns` are rising tuples of one or two days, in date order. `note` says in words what was
    bent for it: a holiday, a hold, a gap, a visit left out; empty when nothing was.
    """

    patterns: tuple[tuple[date, ...], ...]
    note: str = ""


def agreed_days(plan: ServicePlan, week: IsoWeek) -> tuple[date, ...]:
    """Days of `week` that the customer allows; the usual weekdays alone where they are locked."""
    weekdays = plan.usual_weekdays if plan.weekday_locked else plan.allowed_weekdays
    return tuple(day for day in week.days if day.weekday() in weekdays)


def day_choice(plan: ServicePlan, days: WeekDays) -> DayChoice:
    """Choose the patterns of days that one week leaves to a site.

    - One visit: each agreed day that is open is a pattern of its own.
    - Two visits: pairs of agreed open days 3 or 4 days apart (common practice).
    - Where no proper pair is open, pairs 2 or 5 days apart are taken, with a note.
    - A holiday closes its day. Where that leaves no agreed day, or no pair such as these, each
      closed day is replaced by the nearest open days before and after it in the same week: days
      that the customer allows if there are any, else days in `working_weekdays`. Two days that
      replace one and the same day never make a pair.
    - Where all that leaves no proper pair, the evenest pairs there are are taken, with a note.
    - Where one day is left for two visits, one visit is owed, with a note.
    - Where no day is left, there is no pattern. A hold never moves a visit to a day that was
      not agreed.

    A visit never leaves its ISO week, because the weeks before and after have their own plans.
    """
    agreed = agreed_days(plan, days.week)
    stands_for = {day: frozenset({day}) for day in agreed if days.is_open(day)}
    visits = plan.rhythm.visits_per_week
    patterns = _patterns(stands_for, visits, PROPER_GAPS_DAYS) or _patterns(
        stands_for, visits, FAIR_GAPS_DAYS
    )
    if not patterns:
        stands_for |= _substitutes(plan, agreed, days)
        patterns = _bent_patterns(stands_for, visits)
    if not patterns:
        return DayChoice(())
    moved = sorted({day for pattern in patterns for day in pattern} - set(agreed))
    notes = (*_day_notes(plan, days, agreed, moved), *_pattern_notes(patterns, visits))
    return DayChoice(patterns, " ".join(notes))


def second_visit(plan: ServicePlan, days: WeekDays, first: date) -> DayChoice:
    """Choose the day of the second visit of a week in which one took place on `first`.

    Only days 3 or 4 days later count: after a visit late in the week nothing more is owed, for
    that visit was most likely the second one. A holiday moves it as in `day_choice`.
    """
    agreed = agreed_days(plan, days.week)
    for choices in (filter(days.is_open, agreed), sorted(_substitutes(plan, agreed, days))):
        left = tuple((day,) for day in choices if (day - first).days in PROPER_GAPS_DAYS)
        if left:
            moved = [day for (day,) in left if day not in agreed]
            notes = _day_notes(plan, days, agreed, moved)
            done = f"The first visit of the week took place on {name_day(first)}."
            return DayChoice(left, " ".join((done, *notes)))
    return DayChoice(())


def name_day(day: date) -> str:
    """A day with its weekday, as in 'Thu 2026-11-26'."""
    return f"{WEEKDAYS[day.weekday()]} {day}"


def _patterns(
    stands_for: Mapping[date, frozenset[date]], visits: int, gaps_days: Sequence[int]
) -> tuple[tuple[date, ...], ...]:
    """Single days, or the pairs with one of the gaps; the keys of `stands_for` are open days."""
    if visits == 1:
        return tuple((day,) for day in sorted(stands_for))
    return tuple(pair for pair in _pairs(stands_for) if _gap_days(pair) in gaps_days)


def _bent_patterns(
    stands_for: Mapping[date, frozenset[date]], visits: int
) -> tuple[tuple[date, ...], ...]:
    """Return proper patterns if there are any, else the evenest pairs, else single days."""
    proper = _patterns(stands_for, visits, PROPER_GAPS_DAYS)
    pairs = _pairs(stands_for)
    if proper or not pairs:
        return proper or tuple((day,) for day in sorted(stands_for))
    best = min(_unevenness(pair) for pair in pairs)
    return tuple(pair for pair in pairs if _unevenness(pair) == best)


def _pairs(stands_for: Mapping[date, frozenset[date]]) -> list[tuple[date, ...]]:
    """Rising pairs of days that do not both stand for one and the same agreed day."""
    pairs = combinations(sorted(stands_for), 2)
    return [pair for pair in pairs if len(stands_for[pair[0]] | stands_for[pair[1]]) > 1]


def _gap_days(pair: tuple[date, ...]) -> int:
    return (pair[1] - pair[0]).days


def _unevenness(pair: tuple[date, ...]) -> float:
    return abs(_gap_days(pair) - EVEN_GAP_DAYS)


def _substitutes(
    plan: ServicePlan, agreed: Sequence[date], days: WeekDays
) -> dict[date, frozenset[date]]:
    """Nearest open days around each agreed day that a holiday closes, and what they replace."""
    others = [day for day in days.week.days if days.is_open(day) and day not in agreed]
    allowed = [day for day in others if day.weekday() in plan.allowed_weekdays]
    working = [day for day in others if day.weekday() in days.working_weekdays]
    candidates = allowed or working
    found: dict[date, frozenset[date]] = {}
    for closed in filter(days.only_closed, agreed):
        before = [day for day in candidates if day < closed][-1:]
        after = [day for day in candidates if day > closed][:1]
        for day in (*before, *after):
            found[day] = found.get(day, frozenset()) | {closed}
    return found


def _day_notes(
    plan: ServicePlan, days: WeekDays, agreed: Sequence[date], moved: Sequence[date]
) -> Iterable[str]:
    """Say which agreed days a holiday or a hold has taken, where that matters to anybody."""
    closed = [day for day in agreed if days.only_closed(day)]
    if moved:
        where = " or ".join(name_day(day) for day in moved)
        yield f"Closed on {_name_days(closed)}: {where} may be taken instead."
        stray = [day for day in moved if day.weekday() not in plan.allowed_weekdays]
        if stray:
            yield f"The customer has not allowed {_name_days(stray)}: ask first."
    else:
        usual = [day for day in closed if day.weekday() in plan.usual_weekdays]
        if usual:
            yield f"Closed on the usual day, {_name_days(usual)}."
    held = [day for day in agreed if day >= days.today and days.hold_on(day) is not None]
    if held:
        yield f"On hold on {_name_days(held)}."


def _pattern_notes(patterns: Sequence[tuple[date, ...]], visits: int) -> Iterable[str]:
    if visits == 1 or not patterns:
        return
    if len(patterns[0]) == 1:
        yield "One visit instead of two, because no second day is open."
    elif _gap_days(patterns[0]) not in PROPER_GAPS_DAYS:
        gaps = " or ".join(str(gap) for gap in sorted({_gap_days(pair) for pair in patterns}))
        yield f"No two open days lie 3 or 4 days apart; these lie {gaps} apart."


def _name_days(days: Sequence[date]) -> str:
    return ", ".join(name_day(day) for day in days)
