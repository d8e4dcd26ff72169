"""Turns: whether a site's rhythm has its turn in a week, and whether one was missed.

How a turn is counted
    A site every second or fourth week has its turn in the week of `anchor_on` and in every second
    or fourth week after it. Weeks begin on Monday, so these are the weeks of the RFC 5545 rule
    `FREQ=WEEKLY;INTERVAL=2;WKST=MO` (or 4) with the anchor as DTSTART; the parity of the week
    number plays no part, which is what keeps the rhythm whole across week 53 of 2026. The anchor
    fixes the week; the day is chosen from the agreed weekdays.
    Without an anchor the last visit is the anchor. With neither, the first visit is owed in the
    week of `today` and the week after, and later turns can be counted only once it took place.
    Nothing is due before the week of the anchor, whatever the rhythm.

What counts as missed
    A turn in a week that is over, in which no hold covered every agreed day, and since which no
    visit took place. It is owed in the week of `today` and in the week after; weeks further ahead
    take it that it will have been made up, so that planning ahead does not owe it again and
    again. A site without a visit on record has never been visited: it missed every turn since
    its anchor. Of two visits in a week the second is not carried into the next week.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from enum import StrEnum

from dispatch.clock import IsoWeek
from dispatch.day_patterns import WeekDays, agreed_days
from dispatch.sites import ServicePlan

LOOK_AHEAD_WEEKS = 104  # how far the next visit is looked for; two years


class DueBecause(StrEnum):
    """Why a site is owed visits in a week."""

    RHYTHM = "rhythm"  # its turn has come
    FIRST = "first"  # it has never been visited
    OVERDUE = "overdue"  # its turn came in an earlier week and was missed


def turn_comes(plan: ServicePlan, week: IsoWeek) -> bool:
    """Whether the rhythm alone, counted from anchor or last visit, has its turn in `week`.

    False before the week of the anchor, and for a site every second or fourth week that has
    neither anchor nor last visit.
    """
    if plan.rhythm.every_weeks == 1:
        return plan.anchor_on is None or week >= IsoWeek.of(plan.anchor_on)
    counted_from = plan.anchor_on or plan.last_visit_on
    if counted_from is None:
        return False
    weeks = (week.monday - IsoWeek.of(counted_from).monday).days // 7
    return weeks >= 0 and weeks % plan.rhythm.every_weeks == 0


def why_due(plan: ServicePlan, days: WeekDays) -> DueBecause | None:
    """Why the week owes the site visits; None when it does not."""
    unvisited = plan.last_visit_on is None
    carried = owed_from_before(plan, days)
    if not (carried or turn_comes(plan, days.week)):
        return None
    if unvisited:
        return DueBecause.FIRST
    return DueBecause.OVERDUE if carried else DueBecause.RHYTHM


def owed_from_before(plan: ServicePlan, days: WeekDays) -> bool:
    """Whether the week has to make up for a missed turn, or for a first visit without a turn."""
    if not _is_near(days):
        return False
    return _has_no_turns(plan) or _missed_turn(plan, days)


def _has_no_turns(plan: ServicePlan) -> bool:
    """Whether there is nothing from which turns could be counted, and they need counting."""
    undated = plan.anchor_on is None and plan.last_visit_on is None
    return undated and plan.rhythm.every_weeks > 1


def _is_near(days: WeekDays) -> bool:
    """Whether the week is that of today or the one after, where missed visits are made up."""
    return days.week <= IsoWeek.of(days.today).next


def _missed_turn(plan: ServicePlan, days: WeekDays) -> bool:
    """Whether a turn after the last visit lies in a week that is over and was not held."""
    if plan.last_visit_on is not None:
        week = IsoWeek.of(plan.last_visit_on).next
    elif plan.anchor_on is not None:
        week = IsoWeek.of(plan.anchor_on)
    else:
        return False
    while week < days.week and week.sunday < days.today:
        if turn_comes(plan, week) and not _is_held(plan, week, days):
            return True
        week = week.next
    return False


def _is_held(plan: ServicePlan, week: IsoWeek, days: WeekDays) -> bool:
    """Whether a hold covers every agreed day of `week`."""
    return all(days.hold_on(day) is not None for day in agreed_days(plan, week))


def next_day(plan: ServicePlan, days: WeekDays, *, carried: bool) -> date | None:
    """First expected day after the week and after any later visit on record.

    `carried` work comes in the first week not held, all else at its turn. A first visit that
    nothing can be counted from is owed in the week of today or the one after, even where the
    week asked about lies further ahead. None when no day is found within LOOK_AHEAD_WEEKS.
    """
    week = max(days.week, IsoWeek.of(plan.last_visit_on or days.week.monday)).next
    if _has_no_turns(plan):
        carried = True
        week = week if _is_near(days) else IsoWeek.of(days.today).next
    for _ in range(LOOK_AHEAD_WEEKS):
        if carried or turn_comes(plan, week):
            day = _expected_day(plan, days, week)
            if day is not None:
                return day
        week = week.next
    return None


def _expected_day(plan: ServicePlan, days: WeekDays, week: IsoWeek) -> date | None:
    """The usual weekday in `week` where no hold covers it, else the first agreed day left."""
    free = [day for day in agreed_days(plan, week) if days.hold_on(day) is None]
    usual = [day for day in free if day.weekday() in plan.usual_weekdays]
    return _first(usual) or _first(free)


def _first(days: Sequence[date]) -> date | None:
    return days[0] if days else None
