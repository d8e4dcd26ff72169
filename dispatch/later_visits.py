"""The rest of a week in which a visit took place already."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from itertools import combinations, pairwise

from dispatch.clock import IsoWeek
from dispatch.day_patterns import (
    COUNTS,
    ORDINALS,
    DayChoice,
    WeekDays,
    agreed_days,
    day_choice,
    day_notes,
    name_day,
    substitutes,
    visits_owed,
)
from dispatch.day_spacing import PROPER_GAPS_DAYS, Pattern
from dispatch.sites import ServicePlan
from dispatch.words import _


def later_visits(plan: ServicePlan, days: WeekDays, last: date) -> DayChoice:
    """Choose days for the visits still owed in a week in which the latest took place on `last`.

    What is left of the patterns that the week owed from its Monday comes first (`day_choice`, with
    the company's rule for holidays). Where the latest visit fits none of them, or what is left is
    over, those days count that lie as far after it, and from each other, as the rhythm wants; a
    visit that finds none is owed no more, for one late in the week was most likely the last one.
    Only the latest visit is on record: how many came before it is told from those patterns, else
    from the usual weekdays up to it, or from how far the week has gone.
    """
    owed = visits_owed(plan, days)
    whole = day_choice(plan, replace(days, today=days.week.monday)).patterns
    made = _visits_made(plan, days.week, last, owed, whole)
    left = _rests(whole, days, last, made) or _apart(plan, days, last, owed, made)
    if not left:
        return DayChoice(())
    done = (
        _("The {ordinals} visit of the week took place on {day}.").format(
            ordinals=_(ORDINALS[made]), day=name_day(last)
        )
        if owed == 2
        else _("{counts} of {owed} visits took place up to {day}.").format(
            counts=_(COUNTS[made]).title(), owed=_(COUNTS[owed]), day=name_day(last)
        )
    )
    return DayChoice(left, " ".join((done, *day_notes(plan, days, left))))


def _visits_made(
    plan: ServicePlan, week: IsoWeek, last: date, owed: int, whole: Sequence[Pattern]
) -> int:
    """Visits made up to `last`, at least one: by patterns, usual weekdays, or the days gone by."""
    places = {pattern.index(last) for pattern in whole if last in pattern}
    if len(places) == 1:
        return places.pop() + 1
    if owed <= 2:
        return 1
    usual = [day for day in agreed_days(plan, week) if day.weekday() in plan.usual_weekdays]
    if len(usual) >= owed:
        return max(1, sum(day <= last for day in usual))
    return min(owed, 1 + last.weekday() // 2)  # Monday or Tuesday one, Wednesday or Thursday two


def _rests(whole: Iterable[Pattern], days: WeekDays, last: date, made: int) -> tuple[Pattern, ...]:
    """What is open of the patterns whose visit number `made` took place on `last`."""
    rests = {pattern[made:] for pattern in whole if pattern[made - 1 : made] == (last,)}
    return tuple(sorted(rest for rest in rests if rest and all(map(days.is_open, rest))))


def _apart(
    plan: ServicePlan, days: WeekDays, last: date, owed: int, made: int
) -> tuple[Pattern, ...]:
    """Patterns with proper gaps from `last` on: of agreed days, else with those beside holidays."""
    agreed = agreed_days(plan, days.week)
    for choices in (filter(days.is_open, agreed), sorted(substitutes(plan, agreed, days))):
        left = _patterns_after(last, [day for day in choices if day > last], owed, owed - made)
        if left:
            return left
    return ()


def _patterns_after(
    last: date, choices: Iterable[date], owed: int, count: int
) -> tuple[Pattern, ...]:
    """Patterns of `count` days with proper gaps from `last` on; of fewer where there are none."""
    days = list(choices)
    for number in range(count, 0, -1):
        fitting = tuple(
            chosen
            for chosen in combinations(days, number)
            if all(
                (later - earlier).days in PROPER_GAPS_DAYS[owed]
                for earlier, later in pairwise((last, *chosen))
            )
        )
        if fitting:
            return fitting
    return ()
