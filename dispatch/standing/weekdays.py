"""Usual weekdays of customers whose weeks have more visits in one season than in another."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from itertools import combinations

from dispatch.clock import IsoWeek
from dispatch.day_spacing import Pattern, unevenness
from dispatch.service_plan import ServicePlan


def weekday_counts(plan: ServicePlan) -> range:
    """How many usual weekdays fit: the visits of a week outside seasons, up to the fullest's."""
    usual = plan.rhythm.visits_per_week
    rhythms = [season.rhythm for season in plan.seasons if season.rhythm is not None]
    fullest = max([usual, *(rhythm.visits_per_week for rhythm in rhythms)])
    return range(usual, fullest + 1)


def weekdays_with(plan: ServicePlan, visits: Pattern, worked: Collection[date]) -> frozenset[int]:
    """The usual weekdays of a customer whose visits in a week of one season are to be `visits`.

    They stay as many as they are where that fits the service plan. More than `visits` are made up
    with days that the customer allows, fewer are some of `visits`: such as have a shift of the
    technician (`worked`) first, then such as lie evenly apart, then those of before.
    """
    counts = weekday_counts(plan)
    count = min(max(len(plan.usual_weekdays), counts[0]), counts[-1])
    weekdays = plan.usual_weekdays if plan.weekday_locked else plan.allowed_weekdays
    days = [day for day in IsoWeek.of(visits[0]).days if day.weekday() in weekdays]
    ways = [
        one
        for one in combinations(days, count)
        if set(one) <= set(visits) or set(one) >= set(visits)
    ]

    def fitness(one: Pattern) -> tuple[int, int, int]:
        off = sum(day not in worked for day in one)
        new = sum(day.weekday() not in plan.usual_weekdays for day in one)
        return off, unevenness(one), new

    return frozenset(day.weekday() for day in min(ways, key=fitness))
