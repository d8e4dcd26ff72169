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

How a service begins
    With `started_on`, nothing is due before that day, and the first visit is owed in its week (in
    the next one where no agreed day is left), whatever the rhythm; without anchor, later turns
    are counted from it until there is a last visit.

How seasons change the rhythm
    The rhythm of a week is that of the season that holds its greater part
    (`ServicePlan.rhythm_in`). Turns of every second or fourth week are counted from the same
    anchor in every season. A week without visits has no turn and makes up for none.

What counts as missed
    A turn in a week that is over, in which no hold or burst covered every agreed day and the
    company's holiday rule did not leave every visit out, and since which no visit took place. It
    is owed in the week of `today` and in the week after; weeks further ahead take it that it will
    have been made up, so that planning ahead does not owe it again and again. A site without a
    visit on record has never been visited: it missed every turn since its anchor, and until its
    first visit this week and the next are owed it as the first one. Of several visits in a week
    the later ones are not carried into the next week.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from enum import StrEnum

from dispatch.clock import IsoWeek
from dispatch.day_patterns import WeekDays, agreed_days, visits_owed
from dispatch.sites import ServicePlan

LOOK_AHEAD_WEEKS = 104  # how far the next visit is looked for; two years


class DueBecause(StrEnum):
    """Why a site is owed visits in a week."""

    RHYTHM = "rhythm"  # its turn has come
    FIRST = "first"  # it has never been visited, and will not have been by then
    ONE_OFF = "one-off"  # it was asked for once
    OVERDUE = "overdue"  # its turn came in an earlier week and was missed


def turn_comes(plan: ServicePlan, week: IsoWeek) -> bool:
    """Whether the rhythm alone, counted from anchor or last visit, has its turn in `week`.

    False before the service begins, in a season without visits, and for a site every second or
    fourth week that has nothing to be counted from.
    """
    rhythm = plan.rhythm_in(week)
    if rhythm is None:
        return False
    first = _first_week(plan)
    if first is not None and plan.is_unvisited and week <= first:
        return week == first
    if rhythm.every_weeks == 1:
        return plan.anchor_on is None or week >= IsoWeek.of(plan.anchor_on)
    counted_from = counting_day(plan)
    if counted_from is None:
        return False
    weeks = (week.monday - IsoWeek.of(counted_from).monday).days // 7
    return weeks >= 0 and weeks % rhythm.every_weeks == 0


def counting_day(plan: ServicePlan) -> date | None:
    """The day from which turns are counted: anchor, else last visit, else the beginning."""
    last = None if plan.is_unvisited else plan.last_visit_on
    return plan.anchor_on or last or plan.started_on


def why_due(plan: ServicePlan, days: WeekDays) -> DueBecause | None:
    """Why the week owes the site visits; None when it does not."""
    carried = owed_from_before(plan, days)
    if not (carried or turn_comes(plan, days.week)):
        return None
    if plan.is_unvisited and not _first_comes_earlier(plan, days):
        return DueBecause.FIRST
    return DueBecause.OVERDUE if carried else DueBecause.RHYTHM


def _first_comes_earlier(plan: ServicePlan, days: WeekDays) -> bool:
    """Whether the first visit will have been made by a week further ahead than the next."""
    if _is_near(days):
        return False
    week = IsoWeek.of(days.today)
    while week < days.week:
        before = replace(days, week=week)
        comes = turn_comes(plan, week) or owed_from_before(plan, before)
        if comes and not _is_excused(plan, week, days):
            return True
        week = week.next
    return False


def owed_from_before(plan: ServicePlan, days: WeekDays) -> bool:
    """Whether the week has to make up for a missed turn, or for a first visit without a turn."""
    if not _is_near(days) or plan.rhythm_in(days.week) is None:
        return False
    return _has_no_turns(plan, days.week) or _missed_turn(plan, days)


def _has_no_turns(plan: ServicePlan, week: IsoWeek) -> bool:
    """Whether there is nothing from which turns could be counted, and they need counting."""
    rhythm = plan.rhythm_in(week)
    return counting_day(plan) is None and rhythm is not None and rhythm.every_weeks > 1


def _is_near(days: WeekDays) -> bool:
    """Whether the week is that of today or the one after, where missed visits are made up."""
    return days.week <= IsoWeek.of(days.today).next


def _first_week(plan: ServicePlan) -> IsoWeek | None:
    """The week of the first visit: that of `started_on`, or the next where no day of it is left."""
    if plan.started_on is None:
        return None
    week = IsoWeek.of(plan.started_on)
    return week if agreed_days(plan, week) else week.next


def _missed_turn(plan: ServicePlan, days: WeekDays) -> bool:
    """Whether a turn after the last visit lies in a week that is over and was not excused."""
    if plan.last_visit_on is not None and not plan.is_unvisited:
        week = IsoWeek.of(plan.last_visit_on).next
    elif (first := _first_week(plan)) is not None:
        week = first
    elif plan.anchor_on is not None:
        week = IsoWeek.of(plan.anchor_on)
    else:
        return False
    while week < days.week and week.sunday < days.today:
        if turn_comes(plan, week) and not _is_excused(plan, week, days):
            return True
        week = week.next
    return False


def _is_excused(plan: ServicePlan, week: IsoWeek, days: WeekDays) -> bool:
    """Whether holds, bursts or the holiday rule left `week` no visit to be made."""
    held = all(not days.is_free(day) for day in agreed_days(plan, week))
    return held or visits_owed(plan, replace(days, week=week)) == 0


def next_day(plan: ServicePlan, days: WeekDays, *, carried: bool) -> date | None:
    """First expected day after the week and after any later visit on record.

    `carried` work comes in the first week not held, all else at its turn. A first visit that
    nothing can be counted from is owed in the week of today or the one after, even where the
    week asked about lies further ahead. None when no day is found within LOOK_AHEAD_WEEKS.
    """
    week = _week_after(plan, days)
    if _has_no_turns(plan, week):
        carried = True
        week = week if _is_near(days) else IsoWeek.of(days.today).next
    found = _next_days(plan, days, week, carried=carried)
    usual = [day for day in found if day.weekday() in plan.usual_weekdays]
    return _first(usual) or _first(found)


def next_visit_on(plan: ServicePlan, days: WeekDays) -> date | None:
    """First day on which the next regular visit after the week may come, at its turn.

    Unlike `next_day` this is the earliest of the days that planning may choose, not the usual
    one. None when there is none within LOOK_AHEAD_WEEKS.
    """
    week = _week_after(plan, days)
    undated = _has_no_turns(plan, week)
    if undated and (rhythm := plan.rhythm_in(week)) is not None:
        week = IsoWeek.of(days.week.monday + timedelta(weeks=rhythm.every_weeks))
    return _first(_next_days(plan, days, week, carried=undated))


def _week_after(plan: ServicePlan, days: WeekDays) -> IsoWeek:
    return max(days.week, IsoWeek.of(plan.last_visit_on or days.week.monday)).next


def _next_days(
    plan: ServicePlan, days: WeekDays, week: IsoWeek, *, carried: bool
) -> tuple[date, ...]:
    """Free agreed days of the first week from `week` on that owes a visit and has such days."""
    for _ in range(LOOK_AHEAD_WEEKS):
        comes = turn_comes(plan, week) or (carried and plan.rhythm_in(week) is not None)
        if comes and visits_owed(plan, replace(days, week=week)) > 0:
            free = tuple(day for day in agreed_days(plan, week) if days.is_free(day))
            if free:
                return free
        week = week.next
    return ()


def _first(days: Sequence[date]) -> date | None:
    return days[0] if days else None
