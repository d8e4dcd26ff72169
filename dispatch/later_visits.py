"""The rest of a week in which a visit took place already."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from itertools import combinations, pairwise

from dispatch.clock import IsoWeek
from dispatch.day_patterns import (
    COUNTS,
    ORDINALS,
    DayChoice,
    WeekDays,
    agreed_days,
    day_notes,
    name_day,
    substitutes,
    visits_owed,
)
from dispatch.day_spacing import PROPER_GAPS_DAYS
from dispatch.sites import ServicePlan
from dispatch.words import _


def later_visits(plan: ServicePlan, days: WeekDays, last: date) -> DayChoice:
    """Choose days for the visits still owed in a week in which the latest took place on `last`.

    Only days count that lie as far after it, and from each other, as the rhythm wants; a visit
    that finds none is owed no more, for one late in the week was most likely the last one. Of
    visits three times a week only the latest is on record: how many came before it is told from
    the usual weekdays up to it, or from how far the week has gone. A holiday moves a visit as in
    `day_choice`.
    """
    owed = visits_owed(plan, days)
    made = _visits_made(plan, days.week, last, owed)
    agreed = agreed_days(plan, days.week)
    for choices in (filter(days.is_open, agreed), sorted(substitutes(plan, agreed, days))):
        after = [day for day in choices if day > last]
        left = _patterns_after(last, after, owed, owed - made)
        if left:
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
    return DayChoice(())


def _visits_made(plan: ServicePlan, week: IsoWeek, last: date, owed: int) -> int:
    """Visits made up to `last`, at least one: by usual weekdays, or by the days gone by."""
    if owed <= 2:
        return 1
    usual = [day for day in agreed_days(plan, week) if day.weekday() in plan.usual_weekdays]
    if len(usual) >= owed:
        return max(1, sum(day <= last for day in usual))
    return min(owed, 1 + last.weekday() // 2)  # Monday or Tuesday one, Wednesday or Thursday two


def _patterns_after(
    last: date, choices: Iterable[date], owed: int, count: int
) -> tuple[tuple[date, ...], ...]:
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
