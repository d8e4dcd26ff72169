"""Visits due: holds, holidays, days that are over, and the whole book."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.clock import IsoWeek
from dispatch.errors import SettingsError
from dispatch.sites import Hold, Rhythm, ServicePlan, Site
from dispatch.visits import (
    DueBecause,
    NotDue,
    VisitsDue,
    holiday_names,
    holidays_of,
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


def test_holidays_of_a_week_come_from_the_calendar_of_the_country() -> None:
    """5 U.S.C. 6103: Thanksgiving is the fourth Thursday in November, Christmas 25 December."""
    assert holiday_names("US", None, IsoWeek(2026, 48)) == {date(2026, 11, 26): "Thanksgiving Day"}
    assert holidays_of("US", None, CHRISTMAS_WEEK) == {date(2026, 12, 25)}
    assert holidays_of("US", None, W49) == frozenset()


def test_a_holiday_on_a_saturday_closes_the_saturday_itself() -> None:
    """4 July 2026: offices observe the Friday, the trade works it (common practice)."""
    assert holidays_of("US", None, IsoWeek(2026, 27)) == {date(2026, 7, 4)}


def test_new_year_is_found_in_a_week_that_lies_in_two_years() -> None:
    """1 January 2027 lies in week 53 of 2026."""
    assert holidays_of("US", None, IsoWeek(2026, 53)) == {date(2027, 1, 1)}


def test_a_holiday_on_which_the_company_works_does_not_close_it() -> None:
    """Many companies work on Columbus Day; which ones is theirs to say."""
    week = IsoWeek(2026, 42)
    assert holidays_of("US", None, week) == {date(2026, 10, 12)}
    assert holidays_of("US", None, week, worked=["columbus day"]) == frozenset()


def test_a_subdivision_adds_its_own_holidays() -> None:
    """Texas keeps 2 March, its independence day; the country does not (a Monday in 2026)."""
    week = IsoWeek.of(date(2026, 3, 2))
    assert holidays_of("US", None, week) == frozenset()
    assert isinstance(holidays_of("US", "TX", week), frozenset)


@pytest.mark.parametrize(("country", "subdivision"), [("XX", None), ("US", "QQ")])
def test_an_unknown_country_or_subdivision_is_a_bad_setting(
    country: str, subdivision: str | None
) -> None:
    """Silence would leave every holiday open."""
    with pytest.raises(SettingsError, match="ISO 3166"):
        holidays_of(country, subdivision, W49)


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
