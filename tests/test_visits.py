"""Visits due: holds, holidays, days that are over, and the whole book."""

from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from dispatch.clock import IsoWeek
from dispatch.one_offs import OneOff
from dispatch.sites import Hold, Rhythm, ServicePlan, Site
from dispatch.visits import (
    DueBecause,
    NotDue,
    VisitKind,
    VisitsDue,
    visits_due,
)
from tests.pools import W49, answer, every, not_due, pool

MON, TUE, WED, THU, FRI, SAT, SUN = range(7)


# Holds -----------------------------------------------------------------------------------------


def hold(first: date, last: date, reason: str = "") -> Hold:
    return Hold("S001", first, last, reason)


def test_a_held_site_is_listed_with_the_reason_and_its_next_day() -> None:
    """Nothing due is dropped silently; the usual weekday names the day that is expected."""
    site = pool(
        ServicePlan(
            Rhythm.WEEKLY, 25, usual_weekdays=frozenset({WED}), last_visit_on=date(2026, 11, 25)
        )
    )
    away = hold(date(2026, 11, 28), date(2026, 12, 8), "away")
    found = not_due(site, holds=(away,))
    assert found.reason == (
        "On hold from 2026-11-28 to 2026-12-08 (away). Next visit due Wed 2026-12-09, in 2026-W50."
    )
    assert found.next_due_on == date(2026, 12, 9)


def test_a_held_customer_comes_back_by_itself_when_the_hold_ends() -> None:
    """The day after the last day of the hold is open, without anybody doing anything."""
    site = pool(every(1, last=date(2026, 11, 25)))
    away = hold(date(2026, 11, 28), date(2026, 12, 8))
    found = visits_due([site], IsoWeek(2026, 50), today=date(2026, 12, 5), holds=[away])
    assert found.due[0].patterns == tuple((date(2026, 12, day),) for day in (9, 10, 11))
    assert found.due[0].because is DueBecause.RHYTHM


def test_turns_inside_a_hold_were_not_missed() -> None:
    """Two weeks away are no two missed turns: the rhythm from the anchor goes on."""
    site = pool(every(2, anchor=date(2026, 11, 2), last=date(2026, 11, 2)))  # W45, W47, W49
    away = hold(date(2026, 11, 9), date(2026, 11, 22))
    found = visits_due([site], IsoWeek(2026, 48), today=date(2026, 11, 23), holds=[away])
    assert found.not_due[0].next_due_on == date(2026, 11, 30)


def test_a_hold_without_an_end_in_sight_is_said_to_have_none() -> None:
    """A date would be a promise that nobody made."""
    found = not_due(pool(every(1)), holds=(hold(date(2026, 11, 1), date(2036, 1, 1)),))
    assert found.next_due_on is None
    assert found.reason.endswith("No visit comes within 104 weeks.")


def test_a_hold_of_another_site_does_not_matter() -> None:
    """Holds are handed over for the whole book."""
    other = Hold("S002", date(2026, 11, 1), date(2036, 1, 1))
    assert isinstance(answer(pool(every(1)), holds=(other,)), VisitsDue)


def test_a_first_visit_under_a_hold_is_expected_right_after_it() -> None:
    """Nothing to count from, so the next day that is open is the day."""
    found = not_due(pool(every(4)), holds=(hold(date(2026, 11, 1), date(2026, 12, 8)),))
    assert found.next_due_on == date(2026, 12, 9)


def test_a_weekly_site_without_history_comes_back_after_a_hold_far_ahead() -> None:
    """Asked for W09 of 2027, the answer lies after that week, not in the next few days."""
    away = hold(date(2027, 3, 1), date(2027, 3, 9))
    assert not_due(pool(every(1)), IsoWeek(2027, 9), holds=(away,)).next_due_on == date(2027, 3, 10)


def test_a_turn_missed_before_a_hold_is_still_owed_after_it() -> None:
    """W45 was missed and W47 is held: it is owed in W48, not only at the next turn in W49."""
    site = pool(every(4, anchor=date(2026, 11, 2), last=date(2026, 10, 5)))
    away = hold(date(2026, 11, 14), date(2026, 11, 22))
    found = not_due(site, IsoWeek(2026, 47), today=date(2026, 11, 13), holds=(away,))
    assert found.next_due_on == date(2026, 11, 23)


# Holidays and days that are over ---------------------------------------------------------------

CHRISTMAS_WEEK = IsoWeek(2026, 52)  # Friday is 25 December


def test_a_week_lost_to_holidays_is_carried_into_the_next() -> None:
    """The whole company is closed: the turn was not skipped by agreement, so it is owed still."""
    site = pool(every(4, anchor=date(2026, 12, 21), last=date(2026, 11, 23)))
    closed = frozenset(CHRISTMAS_WEEK.days)
    found = visits_due([site], CHRISTMAS_WEEK, today=date(2026, 12, 18), holidays=closed)
    assert found.not_due[0].next_due_on == date(2026, 12, 28)
    assert "Closed for holidays on every day" in found.not_due[0].reason
    after = visits_due([site], IsoWeek(2026, 53), today=date(2026, 12, 28))
    assert after.due[0].because is DueBecause.OVERDUE


def test_a_visit_locked_to_a_holiday_moves_and_keeps_its_note() -> None:
    """Christmas on a Friday: Thursday is the nearest open day, Saturday is none."""
    friday = ServicePlan(
        Rhythm.WEEKLY,
        25,
        allowed_weekdays=frozenset({FRI}),
        usual_weekdays=frozenset({FRI}),
        weekday_locked=True,
        last_visit_on=date(2026, 12, 18),
    )
    found = visits_due(
        [pool(friday)],
        CHRISTMAS_WEEK,
        today=date(2026, 12, 18),
        holidays=frozenset({date(2026, 12, 25)}),
    )
    assert found.due[0].patterns == ((date(2026, 12, 24),),)
    assert found.due[0].note.startswith("Closed on Fri 2026-12-25: Thu 2026-12-24 may be taken")


def test_in_a_running_week_a_day_that_is_over_is_told_from_one_that_is_open() -> None:
    """On Wednesday, a Monday site has been missed and comes next week; a Thursday site is due."""
    plans = [
        ServicePlan(
            Rhythm.WEEKLY, 25, allowed_weekdays=frozenset({n}), last_visit_on=date(2026, 11, 26)
        )
        for n in (MON, THU)
    ]
    sites = [pool(plan, id=f"S{number}") for number, plan in enumerate(plans)]
    found = visits_due(sites, W49, today=date(2026, 12, 2))
    assert [due.site_id for due in found.due] == ["S1"]
    assert found.not_due == (
        NotDue(
            "S0",
            "Every day of this week on which it could be served is over. Next visit due Mon "
            "2026-12-07, in 2026-W50.",
            date(2026, 12, 7),
        ),
    )


# Green-pool bursts ------------------------------------------------------------------------------

WEDNESDAY = date(2026, 12, 2)
BURST = OneOff(
    "J1",
    "S001",
    "Bring the green pool back",
    VisitKind.GREEN_POOL,
    date(2026, 11, 30),
    WEDNESDAY,
    (180, 30, 30),
    consecutive=True,
)


def test_a_burst_takes_the_place_of_the_regular_visit_and_then_the_route_goes_on() -> None:
    """Monday to Wednesday the burst, no visit on the usual Tuesday, and the week after as ever."""
    site = pool(
        ServicePlan(
            Rhythm.WEEKLY, 25, usual_weekdays=frozenset({TUE}), last_visit_on=date(2026, 11, 24)
        )
    )
    found = visits_due([site], W49, today=date(2026, 11, 27), one_offs=[BURST])
    assert [(one.kind, one.count) for one in found.due] == [(VisitKind.GREEN_POOL, 3)]
    assert found.not_due[0].reason == (
        "A green-pool burst from 2026-11-30 to 2026-12-02 takes its place. Next visit due Tue "
        "2026-12-08, in 2026-W50."
    )
    after = visits_due(
        [site], W49.next, today=date(2026, 12, 7), one_offs=[BURST.finished(WEDNESDAY)]
    )
    assert [one.because for one in after.due] == [DueBecause.RHYTHM]


def test_a_burst_given_up_before_it_began_leaves_the_regular_visit() -> None:
    """The customer called on Sunday: nobody brings the pool back, so the usual visit is made."""
    site = pool(ServicePlan(Rhythm.WEEKLY, 25, usual_weekdays=frozenset({MON})))
    given_up = BURST.finished(date(2026, 11, 29))
    found = visits_due([site], W49, today=date(2026, 11, 29), one_offs=[given_up])
    assert [one.demand_id for one in found.due] == ["S001"]
    assert (date(2026, 11, 30),) in found.due[0].patterns
    assert (found.due[0].note, found.not_due) == ("", ())


def test_a_regular_visit_and_a_follow_up_of_one_site_stand_side_by_side() -> None:
    """Two demands with names of their own, so that neither pushes the other out."""
    follow_up = OneOff(
        "J2", "S001", "Look again", VisitKind.FOLLOW_UP, date(2026, 12, 1), date(2026, 12, 3), (15,)
    )
    site = pool(every(1, last=date(2026, 11, 24)))
    found = visits_due([site], W49, today=date(2026, 11, 27), one_offs=[follow_up])
    assert [one.demand_id for one in found.due] == ["S001", "one-off:J2"]
    assert len({one.visit_id(1) for one in found.due}) == 2


def test_work_at_a_site_that_is_not_in_the_book_is_left_out() -> None:
    """Nothing could be planned for it; the database does not let it happen."""
    found = visits_due([], W49, today=date(2026, 11, 27), one_offs=[BURST])
    assert (found.due, found.not_due) == ((), ())


# The whole book --------------------------------------------------------------------------------

DAYS_AROUND = st.dates(date(2026, 9, 1), date(2027, 2, 28))


@st.composite
def books(draw: st.DrawFn) -> list[Site]:
    """Up to eight sites with any rhythm, weekdays and history."""
    sites = []
    for number in range(draw(st.integers(0, 8))):
        rhythm = draw(st.sampled_from(Rhythm))
        allowed = draw(st.frozensets(st.integers(MON, SUN), min_size=rhythm.visits_per_week))
        plan = ServicePlan(
            rhythm,
            25,
            allowed_weekdays=allowed,
            last_visit_on=draw(st.none() | DAYS_AROUND),
            anchor_on=draw(st.none() | DAYS_AROUND),
        )
        sites.append(pool(plan, id=f"S{number}"))
    return sites


@st.composite
def some_holds(draw: st.DrawFn) -> list[Hold]:
    """Holds of some of the sites, of up to ten weeks."""
    spans = st.tuples(st.integers(0, 8), DAYS_AROUND, st.integers(0, 70))
    return [
        Hold(f"S{number}", first, first + timedelta(days=length))
        for number, first, length in draw(st.lists(spans, max_size=6))
    ]


@given(books(), some_holds(), DAYS_AROUND, st.integers(0, 12), st.frozensets(DAYS_AROUND))
def test_every_site_is_either_due_or_listed_as_not_due(
    sites: list[Site], holds: list[Hold], today: date, ahead: int, holidays: frozenset[date]
) -> None:
    """Nothing is lost and nothing doubled, and what is not due says when it will be."""
    week = IsoWeek.of(today + timedelta(weeks=ahead))
    found = visits_due(sites, week, today=today, holidays=holidays, holds=holds)
    answers = [due.site_id for due in found.due] + [other.site_id for other in found.not_due]
    assert sorted(answers) == sorted(site.id for site in sites)
    for due in found.due:
        assert due.patterns
        assert all(day in week.days for pattern in due.patterns for day in pattern)
    for other in found.not_due:
        assert other.reason.endswith(".")
        if other.next_due_on is not None:
            assert str(other.next_due_on) in other.reason
            own = [hold for hold in holds if hold.site_id == other.site_id]
            assert not any(hold.covers(other.next_due_on) for hold in own)


@given(books(), DAYS_AROUND)
def test_a_site_not_due_is_due_in_the_week_that_was_announced(
    sites: list[Site], today: date
) -> None:
    """Asked again in the announced week, with nothing done meanwhile, the visit is owed."""
    week = IsoWeek.of(today)
    for other in visits_due(sites, week, today=today).not_due:
        assert other.next_due_on is not None
        then = visits_due(sites, IsoWeek.of(other.next_due_on), today=other.next_due_on)
        assert other.site_id in {due.site_id for due in then.due}


@given(books(), some_holds(), DAYS_AROUND)
def test_a_turn_is_served_or_made_up_within_a_week_after_it_was_missed(
    sites: list[Site], holds: list[Hold], today: date
) -> None:
    """Whoever plans week by week never loses a turn that was not wholly held."""
    week = IsoWeek.of(today)
    now = visits_due(sites, week, today=week.monday, holds=holds)
    then = visits_due(sites, week.next, today=week.next.monday, holds=holds)
    plans = {site.id: site.plan for site in sites}
    for due in now.due:
        last = plans[due.site_id].last_visit_on
        own = [hold for hold in holds if hold.site_id == due.site_id]
        held_next = any(hold.covers(day) for hold in own for day in week.next.days)
        if not held_next and (last is None or last < week.monday):
            again = [other for other in then.due if other.site_id == due.site_id]
            assert again
            assert again[0].because in (DueBecause.OVERDUE, DueBecause.FIRST)


@given(books(), DAYS_AROUND)
def test_planned_week_by_week_every_visit_that_the_rhythm_owes_appears_once(
    sites: list[Site], begins: date
) -> None:
    """Twelve weeks, W53 of 2026 among them for many: each turn once, and none beside it.

    Each week is planned on its Monday and served on the first days offered; what is counted is
    set against turns worked out from the anchor by weeks alone.
    """
    for site in sites:
        first = IsoWeek.of(begins)
        plan = replace(site.plan, anchor_on=first.monday, last_visit_on=None)
        served: list[date] = []
        week = first
        for _ in range(12):
            found = visits_due([replace(site, plan=plan)], week, today=week.monday)
            for due in found.due:
                served += due.patterns[0]
                plan = replace(plan, last_visit_on=due.patterns[0][-1])
            week = week.next
        every_weeks = plan.rhythm.every_weeks
        turns = [first.monday + timedelta(weeks=n) for n in range(0, 12, every_weeks)]
        expected = [monday for monday in turns for _ in range(plan.rhythm.visits_per_week)]
        assert [IsoWeek.of(day).monday for day in served] == expected
        assert len(set(served)) == len(served)
