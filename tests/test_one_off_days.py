"""Which days of a week one-off work can have."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from dispatch.clock import IsoWeek
from dispatch.day_patterns import WeekDays
from dispatch.due_visits import NotDue, VisitsDue
from dispatch.one_off_days import one_off_due
from dispatch.one_offs import OneOff
from dispatch.service_plan import ServicePlan, VisitKind
from dispatch.sites import Hold, Rhythm
from dispatch.turns import DueBecause
from dispatch.windows import TimeWindow
from tests.pools import FRIDAY_BEFORE, W49, pool

MON, TUE, WED, THU, FRI, SAT, SUN = W49.days
JOB = OneOff("J1", "S001", "Mend the gate", VisitKind.ONE_OFF, TUE, THU, (45,))
BURST = OneOff("J2", "S001", "Green", VisitKind.GREEN_POOL, MON, FRI, (180, 30, 30), True)


def due(
    work: OneOff,
    week: IsoWeek = W49,
    *,
    today: date = FRIDAY_BEFORE,
    plan: ServicePlan | None = None,
    holidays: frozenset[date] = frozenset(),
    holds: tuple[Hold, ...] = (),
    planned: Sequence[date] = (),
) -> VisitsDue | NotDue | None:
    return one_off_due(work, pool(plan), WeekDays(week, today, holidays, holds), planned)


def visits(found: VisitsDue | NotDue | None) -> VisitsDue:
    assert isinstance(found, VisitsDue), found
    return found


def days(found: VisitsDue | NotDue | None) -> list[tuple[date, ...]]:
    return list(visits(found).patterns)


def test_a_job_may_come_on_each_open_day_of_its_span() -> None:
    """Tuesday to Thursday, whatever weekdays the regular visits have."""
    found = visits(due(JOB, plan=ServicePlan(Rhythm.WEEKLY, 25, allowed_weekdays=frozenset({0}))))
    assert found.patterns == ((TUE,), (WED,), (THU,))
    assert (found.service_min, found.kind) == ((45,), VisitKind.ONE_OFF)
    assert (found.demand_id, found.title) == ("one-off:J1", "Mend the gate")
    assert found.visit_id(1) == "one-off:J1/2026-W49/1"
    assert found.because is DueBecause.ONE_OFF


def test_a_job_of_another_week_has_no_part_in_this_one() -> None:
    """Neither due nor listed as not due: a list of every job of the year helps nobody."""
    assert due(JOB, W49.next) is None
    assert due(JOB, W49.previous) is None
    assert due(JOB.finished(MON)) is None


def test_what_is_agreed_for_the_site_holds_for_the_job_too() -> None:
    """A gate that opens at eight opens at eight for everybody."""
    morning = TimeWindow(8 * 3600, 12 * 3600)
    plan = ServicePlan(
        Rhythm.WEEKLY,
        25,
        windows=(morning,),
        skills=frozenset({"dogs"}),
        unwanted_technician_ids=frozenset({"T2"}),
        usual_technician_id="T1",
    )
    found = visits(due(replace(JOB, skills=frozenset({"welding"})), plan=plan))
    assert found.windows == (morning,)
    assert found.skills == {"dogs", "welding"}
    assert found.unwanted_technician_ids == {"T2"}
    assert (found.usual_technician_id, found.technician_locked) == (None, False)


def test_a_job_for_one_technician_is_locked_to_that_one() -> None:
    """Whoever began the repair ends it, even one whom the customer does not want otherwise."""
    plan = ServicePlan(Rhythm.WEEKLY, 25, unwanted_technician_ids=frozenset({"T2"}))
    found = visits(due(replace(JOB, technician_id="T2"), plan=plan))
    assert (found.usual_technician_id, found.technician_locked) == ("T2", True)
    assert not found.unwanted_technician_ids


def test_a_burst_runs_on_days_in_a_row() -> None:
    """Three visits from Monday to Friday can begin on Monday, Tuesday or Wednesday."""
    found = visits(due(BURST))
    assert found.patterns == ((MON, TUE, WED), (TUE, WED, THU), (WED, THU, FRI))
    assert found.service_min == (180, 30, 30)


def test_a_burst_steps_over_a_holiday() -> None:
    """Nobody works on it, so the days around it follow each other."""
    assert days(due(BURST, holidays=frozenset({WED})))[0] == (MON, TUE, THU)


def test_a_burst_over_the_weekend_is_cut_and_goes_on_in_the_next_week() -> None:
    """Thursday and Friday now, the third on the first working day that follows."""
    burst = replace(BURST, first_day=THU, last_day=THU + timedelta(days=6))
    now = visits(due(burst))
    assert (now.patterns, now.service_min) == (((THU, FRI),), (180, 30))
    assert now.note == "1 more of its visits follows later."
    then = visits(due(burst, W49.next, planned=(THU, FRI)))
    assert (then.patterns, then.service_min) == (((MON + timedelta(days=7),),), (30,))


def test_a_burst_that_has_begun_goes_on_at_the_first_open_day() -> None:
    """A green pool is not left alone for two days in the middle."""
    assert days(due(BURST.visited(MON), today=TUE)) == [(TUE, WED)]
    assert days(due(BURST.visited(MON), today=WED)) == [(WED, THU)]


def test_visits_that_are_planned_in_another_week_are_not_owed_again() -> None:
    """The span holds two weeks; the plan of the first has it."""
    job = replace(JOB, last_day=THU + timedelta(days=7))
    assert days(due(job, W49.next))
    assert due(job, W49.next, planned=(WED,)) is None


def test_an_earlier_week_asked_again_keeps_the_long_visit_that_opens_a_burst() -> None:
    """The last two are planned in the week after: this week owes the first three, 180 and all."""
    last = THU + timedelta(days=5)
    burst = replace(BURST, first_day=WED, last_day=last, minutes=(180, 60, 60, 45, 30))
    then = (MON + timedelta(days=7), TUE + timedelta(days=7))
    again = visits(due(burst, planned=then))
    assert (again.patterns, again.service_min) == (((WED, THU, FRI),), (180, 60, 60))
    assert again.note == ""
    after = visits(due(burst, W49.next, planned=(WED, THU, FRI)))
    assert (after.patterns, after.service_min) == ((then,), (45, 30))


def test_more_visits_planned_than_are_left_owe_none() -> None:
    """One of three was made meanwhile, and the plan of the week after still holds all of them."""
    job = replace(JOB, last_day=THU + timedelta(days=7), minutes=(45, 30, 30), visited_on=(TUE,))
    then = tuple(day + timedelta(days=7) for day in (MON, TUE, WED))
    assert due(job, today=WED, planned=then) is None


def test_a_planned_visit_that_is_over_and_was_not_made_is_owed_again() -> None:
    """Nobody came on Wednesday; on Friday that is plain."""
    job = replace(JOB, last_day=THU + timedelta(days=7))
    assert days(due(job, W49.next, today=FRI, planned=(WED,)))


def test_a_job_whose_span_is_over_is_owed_at_once_and_said() -> None:
    """Nothing that is owed is dropped because its day has passed."""
    found = visits(due(JOB, today=FRI))
    assert (found.patterns, found.because) == (((FRI,),), DueBecause.OVERDUE)
    assert found.note == "It was to be done by 2026-12-03."
    assert len(days(due(JOB, W49.next, today=FRI))) == 5
    assert due(JOB, W49.next.next, today=FRI) is None


def test_a_follow_up_due_over_a_weekend_comes_on_the_next_working_day() -> None:
    """Saturday and Sunday are no working days: Monday, with the reason."""
    weekend = replace(JOB, first_day=SAT, last_day=SUN)
    found = visits(due(weekend, W49.next))
    assert found.patterns[0] == (MON + timedelta(days=7),)
    assert found.note.startswith("No open day is left up to 2026-12-06")


def test_a_job_at_a_held_site_waits_and_says_so() -> None:
    """The customer is away and nobody can get in."""
    away = Hold("S001", MON, SUN, "away")
    found = due(JOB, holds=(away,))
    assert isinstance(found, NotDue)
    assert found.reason == (
        "Mend the gate: The site is on hold from 2026-11-30 to 2026-12-06 (away). It can be done "
        "on Mon 2026-12-07, in 2026-W50."
    )
    assert found.demand_id == "one-off:J1"
    assert found.next_due_on == date(2026, 12, 7)


def test_late_work_at_a_held_site_is_listed_in_every_week_until_it_can_be_done() -> None:
    """To be done by Thursday, and the customer is away until 20 December: nobody forgets it."""
    away = Hold("S001", MON, date(2026, 12, 20), "away")
    weeks = [IsoWeek(2026, number) for number in (49, 50, 51)]
    for today in (FRIDAY_BEFORE, WED, date(2026, 12, 9)):
        for week in weeks:
            if week < IsoWeek.of(today):
                continue
            found = due(JOB, week, today=today, holds=(away,))
            assert isinstance(found, NotDue), (today, week)
            assert "The site is on hold from 2026-11-30 to 2026-12-20 (away)." in found.reason
            assert found.next_due_on == date(2026, 12, 21)


def test_late_work_is_owed_in_the_week_it_was_promised_for_however_early_one_asks() -> None:
    """It can be done on 21 December, in W52: that week owes it, the next too, and then no more."""
    away = Hold("S001", MON, date(2026, 12, 20), "away")
    for today in (FRIDAY_BEFORE, WED, date(2026, 12, 9), date(2026, 12, 21)):
        then = visits(due(JOB, IsoWeek(2026, 52), today=today, holds=(away,)))
        assert then.patterns[0] == (date(2026, 12, 21),)
        assert then.because is DueBecause.OVERDUE
        assert days(due(JOB, IsoWeek(2026, 53), today=today, holds=(away,)))
        assert due(JOB, IsoWeek(2027, 1), today=today, holds=(away,)) is None


def test_late_work_under_a_hold_without_an_end_is_listed_in_every_week() -> None:
    """A day would be a promise that nobody made."""
    found = due(JOB, IsoWeek(2027, 9), today=WED, holds=(Hold("S001", MON, date(2036, 1, 1)),))
    assert isinstance(found, NotDue)
    assert found.next_due_on is None


def test_late_work_that_nobody_is_left_for_this_week_says_so_and_comes_in_the_next() -> None:
    """On Saturday the working days are over; Monday is the first day there is."""
    found = due(JOB, today=SAT)
    assert isinstance(found, NotDue)
    assert found.reason == (
        "Mend the gate: Every day of this week on which it could be done is over. It can be done "
        "on Mon 2026-12-07, in 2026-W50."
    )
    late = replace(JOB, first_day=TUE - timedelta(days=7), last_day=THU - timedelta(days=7))
    assert due(late, today=SAT) == found


def test_the_second_visit_of_work_whose_span_ends_with_the_first_comes_in_the_week_after() -> None:
    """Friday has the first, and nobody works on the Saturday that was meant for the second."""
    job = replace(JOB, first_day=FRI, last_day=SAT, minutes=(45, 30))
    then = visits(due(job, W49.next, planned=(FRI,)))
    assert (then.patterns[0], then.service_min) == ((MON + timedelta(days=7),), (30,))
    after = due(job.visited(FRI), today=FRI)
    assert isinstance(after, NotDue)
    assert after.next_due_on == MON + timedelta(days=7)


@given(
    st.integers(0, 20),
    st.integers(0, 20),
    st.lists(st.integers(5, 200), min_size=1, max_size=4),
    st.booleans(),
    st.frozensets(st.integers(0, 40), max_size=12),
)
def test_planned_week_by_week_every_visit_comes_exactly_once(
    begins: int, span: int, minutes: list[int], consecutive: bool, closed: frozenset[int]
) -> None:
    """Each week takes its first pattern; in the end every visit has a day of its own."""
    first = MON + timedelta(days=begins)
    last = first + timedelta(days=max(span, len(minutes) - 1))
    work = OneOff("J", "S001", "Job", VisitKind.ONE_OFF, first, last, tuple(minutes), consecutive)
    holidays = frozenset(MON + timedelta(days=n) for n in closed)
    taken: list[date] = []
    lengths: list[int] = []
    week = W49
    for _ in range(12):
        found = due(work, week, today=week.monday, holidays=holidays)
        if isinstance(found, VisitsDue):
            assert all(day not in holidays and day.weekday() < 5 for day in found.patterns[0])
            taken += found.patterns[0]
            lengths += found.service_min
            for day in found.patterns[0]:
                work = work.visited(day)
        week = week.next
    assert lengths == minutes
    assert taken == sorted(set(taken))
    assert min(taken) >= first
