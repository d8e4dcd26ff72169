"""Turns: the rhythm against RFC 5545, first visits, visits made and visits missed."""

from dataclasses import replace
from datetime import date, timedelta

from dateutil.rrule import MO, SU, TU, WEEKLY, rrule
from hypothesis import given
from hypothesis import strategies as st

from dispatch.clock import IsoWeek
from dispatch.closed_days import HolidayRule
from dispatch.sites import MonthDay, Rhythm, Season, ServicePlan
from dispatch.turns import DueBecause, turn_comes
from dispatch.visits import NotDue, visits_due
from tests.pools import FRIDAY_BEFORE, W49, answer, due, every, not_due, pool

R2_START = date(1997, 8, 5)

# Rhythm against RFC 5545 ---------------------------------------------------------------------


@given(
    st.dates(date(2019, 1, 1), date(2032, 12, 31)),
    st.sampled_from([2, 4]),
    st.integers(0, 80),
)
def test_anchored_turns_are_the_weeks_of_an_rfc_5545_recurrence(
    anchor: date, weeks: int, ahead: int
) -> None:
    """python-dateutil computes the recurrence; 2020, 2026 and 2032 have a week 53 in between."""
    occurrences = rrule(WEEKLY, interval=weeks, dtstart=anchor, wkst=MO, count=60)
    due_weeks = {IsoWeek.of(day.date()) for day in occurrences}
    week = IsoWeek.of(anchor + timedelta(weeks=ahead))
    assert turn_comes(every(weeks, anchor=anchor), week) == (week in due_weeks)
    nothing_missed = every(weeks, anchor=anchor, last=week.monday - timedelta(days=1))
    found = visits_due([pool(nothing_missed)], week, today=week.monday)
    assert bool(found.due) == (week in due_weeks)


def test_every_2_weeks_goes_on_across_week_53_of_2026() -> None:
    """R4: RRULE FREQ=WEEKLY;INTERVAL=2;BYDAY=MO from 2026-12-14; W53 and W01 are both odd.

    The dates are worked out from the calendar.
    """
    week, last, days = IsoWeek(2026, 51), date(2026, 11, 30), list[date]()
    while week <= IsoWeek(2027, 6):
        site = pool(every(2, anchor=date(2026, 12, 14), last=last))
        for owed in visits_due([site], week, today=week.monday).due:
            last = owed.patterns[0][0]  # served on the first day offered
            days.append(last)
        week = week.next
    assert days == [
        date(2026, 12, 14),
        date(2026, 12, 28),
        date(2027, 1, 11),
        date(2027, 1, 25),
        date(2027, 2, 8),
    ]


def test_the_example_of_rfc_5545_every_other_week_is_met() -> None:
    """RFC 5545 section 3.8.5.3: every other week from Tuesday 2 September 1997, forever."""
    published = [
        (9, 2),
        (9, 16),
        (9, 30),
        (10, 14),
        (10, 28),
        (11, 11),
        (11, 25),
        (12, 9),
        (12, 23),
    ]
    tuesdays = rrule(WEEKLY, dtstart=date(1997, 9, 2), until=date(1997, 12, 31), wkst=SU)
    plan = every(2, anchor=date(1997, 9, 2))
    found = [day.date() for day in tuesdays if turn_comes(plan, IsoWeek.of(day.date()))]
    assert found == [date(1997, month, day) for month, day in published]


def test_the_first_thirteen_turns_of_rfc_5545s_example_are_met() -> None:
    """R1: FREQ=WEEKLY;INTERVAL=2;WKST=SU from 2 September 1997, RFC 5545 section 3.8.5.3."""
    counted = rrule(WEEKLY, interval=2, dtstart=date(1997, 9, 2), wkst=SU, count=13)
    published = [date(1997, 9, 2) + timedelta(weeks=2 * n) for n in range(13)]
    assert published[-1] == date(1998, 2, 17)
    assert [day.date() for day in counted] == published
    plan = every(2, anchor=date(1997, 9, 2))
    tuesdays = [date(1997, 9, 2) + timedelta(weeks=n) for n in range(25)]
    assert [day for day in tuesdays if turn_comes(plan, IsoWeek.of(day))] == published


def test_weeks_that_begin_on_monday_hold_the_days_rfc_5545_gives_for_them() -> None:
    """R2: TU,SU every other week from 5 August 1997, RFC 5545, from memory, computed again.

    Where weeks begin on a Sunday the same rule gives other days: turns here go by ISO weeks.
    """
    by_first_day = {
        wkst: [
            day.date()
            for day in rrule(
                WEEKLY, interval=2, count=4, byweekday=(TU, SU), wkst=wkst, dtstart=R2_START
            )
        ]
        for wkst in (MO, SU)
    }
    assert by_first_day[MO] == [date(1997, 8, day) for day in (5, 10, 19, 24)]
    assert by_first_day[SU] == [date(1997, 8, day) for day in (5, 17, 19, 31)]
    plan = every(2, anchor=R2_START)
    days = [date(1997, 8, 4) + timedelta(days=n) for n in range(28)]
    asked = [day for day in days if day.weekday() in (1, 6)]
    assert [day for day in asked if turn_comes(plan, IsoWeek.of(day))] == by_first_day[MO]


def test_the_anchor_fixes_the_week_and_not_the_day() -> None:
    """Anchored on a Wednesday, the visit may still come on any agreed day of that week."""
    found = due(pool(every(2, anchor=date(2026, 11, 18))))  # two weeks before W49
    assert found.patterns == tuple((day,) for day in W49.days[:5])
    assert found.because is DueBecause.FIRST


def test_visits_count_from_the_anchor_and_not_from_the_last_visit() -> None:
    """A visit made up a week late does not shift the rhythm (common practice)."""
    site = pool(every(2, anchor=date(2026, 11, 16), last=date(2026, 11, 24)))  # W47, done in W48
    assert due(site).because is DueBecause.RHYTHM  # W49, one week after that visit


def test_without_an_anchor_the_last_visit_is_the_anchor() -> None:
    """It is the best that is known of the schedule."""
    assert due(pool(every(2, last=date(2026, 11, 17)))).because is DueBecause.RHYTHM
    later = not_due(pool(every(2, last=date(2026, 11, 24))))
    assert later.next_due_on == date(2026, 12, 7)
    assert later.reason == (
        "Not its turn: visits come every 2 weeks, counted from 2026-11-24. Next visit due Mon "
        "2026-12-07, in 2026-W50."
    )


def test_nothing_is_due_before_the_anchor_whatever_the_rhythm() -> None:
    """A new customer's service begins when it was said to begin."""
    for weeks in (1, 2, 4):
        found = not_due(pool(every(weeks, anchor=date(2026, 12, 8))))
        assert found.next_due_on == date(2026, 12, 7)  # Monday of the anchor's week
        assert "begins with the visit scheduled for 2026-12-08" in found.reason


def test_a_weekly_site_is_due_every_week_and_twice_a_week_twice() -> None:
    """The plain case: 25 minutes, on the agreed days."""
    found = due(pool(every(1, last=date(2026, 11, 24))))
    assert (found.count, found.service_min, found.note) == (1, (25,), "")
    assert found.because is DueBecause.RHYTHM
    pair = due(pool(ServicePlan(Rhythm.TWICE_A_WEEK, 30, last_visit_on=date(2026, 11, 26))))
    assert (pair.count, pair.service_min) == (2, (30, 30))
    assert pair.visit_id(2) == "S001/2026-W49/2"


# First visits, visits made, visits missed ------------------------------------------------------


def test_a_site_without_history_is_owed_its_first_visit_this_week_and_next() -> None:
    """Further ahead nothing can be counted until the first visit took place."""
    site = pool(every(4))
    assert due(site).because is DueBecause.FIRST
    assert due(site, IsoWeek(2026, 48)).because is DueBecause.FIRST
    later = not_due(site, IsoWeek(2026, 51))
    assert "first visit comes earlier" in later.reason
    assert later.next_due_on == date(2026, 11, 30)


def test_a_weekly_site_without_history_is_due_in_every_week() -> None:
    """Its rhythm needs nothing to count from; further ahead the first visit will have been made."""
    assert due(pool(every(1))).because is DueBecause.FIRST
    assert due(pool(every(1)), IsoWeek(2027, 9)).because is DueBecause.RHYTHM


def test_a_site_already_visited_in_the_week_is_not_due_again() -> None:
    """Planning the current week again must not send somebody twice."""
    site = pool(every(1, last=date(2026, 12, 1)))
    found = not_due(site, today=date(2026, 12, 2))
    assert "visited on 2026-12-01" in found.reason
    assert found.next_due_on == date(2026, 12, 7)


def test_a_visit_after_the_week_settles_the_week() -> None:
    """Looking back at an earlier week owes nothing that has been done since."""
    assert "visited on 2026-12-09" in not_due(pool(every(1, last=date(2026, 12, 9)))).reason


def test_the_second_visit_of_the_week_stays_due_after_the_first() -> None:
    """Monday is done; Thursday or Friday is owed."""
    site = pool(ServicePlan(Rhythm.TWICE_A_WEEK, 25, last_visit_on=date(2026, 11, 30)))
    found = due(site, today=date(2026, 12, 1))
    assert found.patterns == ((date(2026, 12, 3),), (date(2026, 12, 4),))


def test_a_second_visit_that_no_day_is_left_for_is_not_owed() -> None:
    """After Thursday's visit the week is done."""
    site = pool(ServicePlan(Rhythm.TWICE_A_WEEK, 25, last_visit_on=date(2026, 12, 3)))
    assert "no open day lies 3 or 4 days after" in not_due(site, today=date(2026, 12, 4)).reason


def test_a_missed_turn_is_owed_at_once_and_said() -> None:
    """Turns in W44, W46, W48 from the anchor; the last visit was in W44, so W46 was missed."""
    site = pool(every(2, anchor=date(2026, 10, 26), last=date(2026, 10, 26)))
    found = due(site, W49, today=date(2026, 11, 30))
    assert found.because is DueBecause.OVERDUE
    assert found.note == "A turn in an earlier week was missed."


def test_a_missed_turn_is_not_owed_again_and_again_further_ahead() -> None:
    """W46 was missed; it is made up in W48 or W49, and W51 would owe it a second time."""
    site = pool(every(4, anchor=date(2026, 11, 9), last=date(2026, 10, 12)))  # turns W46, W50
    assert due(site, IsoWeek(2026, 49)).because is DueBecause.OVERDUE
    assert not_due(site, IsoWeek(2026, 51)).next_due_on == date(2027, 1, 4)  # W50 + 4 = 2027-W01


def test_a_turn_in_a_week_that_is_not_over_was_not_missed() -> None:
    """On Friday of W48 a turn in W48 may still be served: W49 does not owe it."""
    site = pool(every(2, anchor=date(2026, 11, 23), last=date(2026, 11, 10)))
    assert isinstance(answer(site, W49, today=FRIDAY_BEFORE), NotDue)
    assert due(site, W49, today=date(2026, 11, 30)).because is DueBecause.OVERDUE


def test_a_first_visit_that_was_missed_is_owed_at_once() -> None:
    """Service was to begin in W46, every four weeks: the new customer does not wait until W50."""
    site = pool(every(4, anchor=date(2026, 11, 9)))
    assert due(site).because is DueBecause.FIRST
    assert isinstance(answer(site, IsoWeek(2026, 51)), NotDue)


def test_the_second_visit_of_a_week_is_not_carried_into_the_next() -> None:
    """The next week has its own two visits; a third would not help the water."""
    site = pool(ServicePlan(Rhythm.TWICE_A_WEEK, 25, last_visit_on=date(2026, 11, 23)))
    assert due(site, today=date(2026, 11, 30)).because is DueBecause.RHYTHM


def test_a_weekly_site_that_was_missed_is_marked_overdue() -> None:
    """It is due anyway, but planning should know that it has waited."""
    assert due(pool(every(1, last=date(2026, 11, 10)))).because is DueBecause.OVERDUE


# Seasons -----------------------------------------------------------------------------------------

WINTER = Season(MonthDay(11, 1), MonthDay(2, 29), Rhythm.EVERY_2_WEEKS, 20)
SUMMER = Season(MonthDay(6, 1), MonthDay(8, 31), Rhythm.TWICE_A_WEEK)


def test_a_weekly_pool_is_visited_every_second_week_in_winter() -> None:
    """Counted from the last visit, with the minutes of the season."""
    plan = replace(every(1, last=date(2026, 11, 17)), seasons=(WINTER, SUMMER))  # in W47
    found = due(pool(plan))
    assert (found.service_min, found.because) == ((20,), DueBecause.RHYTHM)
    off = not_due(pool(plan), W49.previous)
    assert off.reason.startswith("Not its turn: visits come every 2 weeks")


def test_the_rhythm_changes_in_the_week_that_holds_more_of_the_season() -> None:
    """1 March 2027 is a Monday, 1 June a Tuesday, 31 August a Tuesday; worked by hand."""
    plan = replace(every(1, last=date(2026, 11, 17)), seasons=(WINTER, SUMMER))
    mondays = (date(2027, 2, 22), date(2027, 3, 1), date(2027, 5, 31), date(2027, 8, 30))
    counts = [plan.rhythm_in(IsoWeek.of(monday)) for monday in mondays]
    assert counts == [
        Rhythm.EVERY_2_WEEKS,
        Rhythm.WEEKLY,
        Rhythm.TWICE_A_WEEK,
        Rhythm.WEEKLY,
    ]


def test_a_closed_season_has_no_turn_and_makes_up_for_none() -> None:
    """Missed in November, the pool is under its cover in December, and the spring begins anew."""
    closed = Season(MonthDay(12, 1), MonthDay(3, 31), None)
    plan = replace(every(1, last=date(2026, 11, 3)), seasons=(closed,))
    found = not_due(pool(plan), IsoWeek(2026, 50), today=date(2026, 12, 7))
    assert found.reason.startswith("No visits are made in the season Dec-01..Mar-31=none.")
    assert found.next_due_on == date(2027, 4, 1)
    assert due(pool(plan), IsoWeek(2027, 14), today=date(2027, 4, 5))


def test_the_next_visit_is_looked_for_in_the_rhythm_of_its_week() -> None:
    """Planning puts upkeep on the visit before it is late: in winter the next one is far off."""
    plan = replace(every(1, last=date(2026, 11, 17)), seasons=(WINTER,))
    assert due(pool(plan)).next_visit_on == date(2026, 12, 14)
    assert due(pool(replace(plan, seasons=()))).next_visit_on == date(2026, 12, 7)


# Holidays by the rule to skip ---------------------------------------------------------------------


def test_a_visit_left_out_on_a_holiday_was_not_missed() -> None:
    """Christmas falls on the Friday of W52, and the rule is to skip: W53 has its own turn alone."""
    fridays = replace(
        every(4, anchor=date(2026, 12, 25), last=date(2026, 11, 27)),
        allowed_weekdays=frozenset({4}),
        usual_weekdays=frozenset({4}),
    )
    christmas = frozenset({date(2026, 12, 25)})
    for rule, owed in ((HolidayRule.SKIP, False), (HolidayRule.NEAREST, True)):
        found = visits_due(
            [pool(fridays)],
            IsoWeek(2026, 53),
            today=date(2026, 12, 28),
            holidays=christmas,
            holiday_rule=rule,
        )
        assert bool(found.due) is owed
    left_out = visits_due(
        [pool(fridays)],
        IsoWeek(2026, 52),
        today=date(2026, 12, 18),
        holidays=christmas,
        holiday_rule=HolidayRule.SKIP,
    ).not_due[0]
    assert left_out.reason.startswith(
        "Closed on Fri 2026-12-25, and by the company's rule the visit is left out."
    )
    assert left_out.next_due_on == date(2027, 1, 22)


def test_after_the_first_of_two_visits_the_rule_says_why_the_second_is_left_out() -> None:
    """Monday is done and Thursday closed: the rule ends the week, and not a lack of days."""
    pair = ServicePlan(
        Rhythm.TWICE_A_WEEK,
        25,
        usual_weekdays=frozenset({0, 3}),
        last_visit_on=date(2026, 11, 30),
    )
    found = visits_due(
        [pool(pair)],
        W49,
        today=date(2026, 12, 1),
        holidays=frozenset({date(2026, 12, 3)}),
        holiday_rule=HolidayRule.SKIP,
    )
    assert found.not_due[0].reason == (
        "It was visited on 2026-11-30. Left out by the company's rule for holidays: Thu "
        "2026-12-03. Next visit due Mon 2026-12-07, in 2026-W50."
    )
