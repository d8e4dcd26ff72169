"""Days that a week leaves to a site."""

from datetime import date, timedelta
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.clock import IsoWeek
from dispatch.closed_days import HolidayRule
from dispatch.day_patterns import DayChoice, WeekDays, day_choice
from dispatch.sites import MONDAY_TO_FRIDAY, Hold, Rhythm, ServicePlan

MON, TUE, WED, THU, FRI, SAT, SUN = range(7)
WEEK = IsoWeek(2026, 48)  # Monday 23 November; Thursday the 26th is Thanksgiving in the US
BEFORE = WEEK.monday - timedelta(days=3)


def on(*weekdays: int) -> tuple[date, ...]:
    return tuple(WEEK.days[number] for number in weekdays)


def plan(
    *weekdays: int,
    rhythm: Rhythm = Rhythm.WEEKLY,
    usual: tuple[int, ...] = (),
    locked: bool = False,
) -> ServicePlan:
    return ServicePlan(
        rhythm,
        25,
        allowed_weekdays=frozenset(weekdays),
        usual_weekdays=frozenset(usual),
        weekday_locked=locked,
    )


def twice(*weekdays: int) -> ServicePlan:
    return plan(*weekdays, rhythm=Rhythm.TWICE_A_WEEK)


def week(
    *closed: int,
    held: tuple[int, int] | None = None,
    today: date = BEFORE,
    working: frozenset[int] = MONDAY_TO_FRIDAY,
    rule: HolidayRule = HolidayRule.NEAREST,
    burst: tuple[int, int] | None = None,
) -> WeekDays:
    holds = (Hold("S001", WEEK.days[held[0]], WEEK.days[held[1]]),) if held else ()
    bursts = ((WEEK.days[burst[0]], WEEK.days[burst[1]]),) if burst else ()
    return WeekDays(WEEK, today, frozenset(on(*closed)), holds, working, rule, bursts)


def choices(choice: DayChoice) -> list[list[int]]:
    """Patterns as weekdays, which read easier than dates."""
    return [[day.weekday() for day in pattern] for pattern in choice.patterns]


def test_one_visit_may_come_on_each_allowed_day() -> None:
    """Planning chooses; nothing was bent, so there is no note."""
    choice = day_choice(plan(MON, WED, SAT), week())
    assert choices(choice) == [[MON], [WED], [SAT]]
    assert choice.note == ""


def test_a_locked_weekday_leaves_the_usual_days_alone() -> None:
    """The lock is what planning may not change."""
    choice = day_choice(plan(MON, TUE, WED, usual=(TUE,), locked=True), week())
    assert choices(choice) == [[TUE]]


def test_two_visits_come_three_or_four_days_apart() -> None:
    """By hand from Monday to Friday: Mon-Thu, Mon-Fri and Tue-Fri are 3, 4 and 3 days apart."""
    choice = day_choice(twice(MON, TUE, WED, THU, FRI), week())
    assert choices(choice) == [[MON, THU], [MON, FRI], [TUE, FRI]]
    assert choice.note == ""


def test_a_holiday_closes_its_day_and_leaves_the_others_unbent() -> None:
    """A site that may be served on other days is not moved at all."""
    choice = day_choice(plan(MON, THU, FRI), week(THU))
    assert choices(choice) == [[MON], [FRI]]
    assert choice.note == ""


def test_a_holiday_on_the_usual_day_is_said() -> None:
    """The customer expects Thursday; the dispatcher should know before they ring."""
    choice = day_choice(plan(MON, THU, usual=(THU,)), week(THU))
    assert choices(choice) == [[MON]]
    assert choice.note == "Closed on the usual day, Thu 2026-11-26."


def test_the_only_day_on_a_holiday_moves_to_the_open_days_around_it() -> None:
    """A holiday is served the day before or after (common practice), said in words."""
    choice = day_choice(plan(THU), week(THU))
    assert choices(choice) == [[WED], [FRI]]
    assert choice.note == (
        "Closed on Thu 2026-11-26: Wed 2026-11-25 or Fri 2026-11-27 may be taken instead. The "
        "customer has not allowed Wed 2026-11-25, Fri 2026-11-27: ask first."
    )


def test_a_locked_day_on_a_holiday_moves_to_allowed_days_first() -> None:
    """Thursday is locked; Tuesday is allowed and Wednesday is not, so Tuesday comes first."""
    choice = day_choice(plan(MON, TUE, THU, usual=(THU,), locked=True), week(THU))
    assert choices(choice) == [[TUE]]
    assert "not allowed" not in choice.note


def test_two_holidays_in_a_row_are_stepped_over() -> None:
    """With Friday closed as well, only Wednesday is left: Saturday is no working day."""
    assert choices(day_choice(plan(THU), week(THU, FRI))) == [[WED]]


def test_a_saturday_takes_moved_visits_where_the_company_works_on_it() -> None:
    """Which weekdays are worked is the company's to say."""
    working = MONDAY_TO_FRIDAY | {SAT}
    assert choices(day_choice(plan(FRI), week(FRI, working=working))) == [[THU], [SAT]]
    assert choices(day_choice(plan(FRI), week(FRI))) == [[THU]]


def test_a_monday_holiday_never_moves_a_visit_out_of_its_week() -> None:
    """The week before has its own plan, most likely published already."""
    assert choices(day_choice(plan(MON), week(MON))) == [[TUE]]


def test_a_pair_broken_by_a_holiday_is_mended_with_a_neighbouring_day() -> None:
    """Monday and Thursday, Thursday closed: Wednesday is 2 days on, Friday 4, so it is Friday."""
    choice = day_choice(twice(MON, THU), week(THU))
    assert choices(choice) == [[MON, FRI]]
    assert "Fri 2026-11-27 may be taken instead" in choice.note
    assert "Wed" not in choice.note


def test_a_pair_that_cannot_be_mended_comes_as_even_as_it_can() -> None:
    """Monday with Thursday and Friday closed: Wednesday is left, 2 days on, and that is said."""
    choice = day_choice(twice(MON, THU), week(THU, FRI))
    assert choices(choice) == [[MON, WED]]
    assert "No two open days lie 3 or 4 days apart; these lie 2 apart." in choice.note


def test_a_fair_pair_of_allowed_days_comes_before_a_day_that_is_not_allowed() -> None:
    """Tuesday to Friday, Friday closed: Tuesday and Thursday need no question, Monday would."""
    choice = day_choice(twice(TUE, WED, THU, FRI), week(FRI))
    assert choices(choice) == [[TUE, THU]]
    assert choice.note == "No two open days lie 3 or 4 days apart; these lie 2 apart."


def test_a_poor_pair_of_allowed_days_is_mended_from_other_days() -> None:
    """Monday and Tuesday in a row are no second visit: Thursday may be asked for."""
    choice = day_choice(twice(MON, TUE, FRI), week(FRI))
    assert choices(choice) == [[MON, THU]]
    assert "The customer has not allowed Thu 2026-11-26: ask first." in choice.note


def test_the_evenest_pair_is_taken_when_none_is_proper() -> None:
    """Open are Monday, Tuesday and, instead of Friday, Wednesday: 2 days apart beats 1."""
    choice = day_choice(twice(MON, TUE, FRI), week(THU, FRI))
    assert choices(choice) == [[MON, WED]]


def test_a_customer_who_allows_only_neighbouring_days_gets_both() -> None:
    """Two visits were sold: an uneven pair is bent, not refused."""
    choice = day_choice(twice(MON, TUE), week())
    assert choices(choice) == [[MON, TUE]]
    assert "these lie 1 apart" in choice.note


def test_both_days_around_one_holiday_do_not_stand_for_two_visits() -> None:
    """Monday is held and Thursday closed: Wednesday or Friday replaces Thursday, not both."""
    choice = day_choice(twice(MON, THU), week(THU, held=(MON, MON)))
    assert choices(choice) == [[WED], [FRI]]
    assert "One visit instead of two" in choice.note


def test_a_hold_takes_its_days_and_is_said() -> None:
    """The customer is away until Wednesday: Thursday and Friday are left."""
    choice = day_choice(plan(TUE, WED, THU, FRI), week(held=(MON, WED)))
    assert choices(choice) == [[THU], [FRI]]
    assert choice.note == "On hold on Tue 2026-11-24, Wed 2026-11-25."


def test_a_hold_that_leaves_one_day_of_two_leaves_one_visit() -> None:
    """One visit is better than none, and the note keeps the second from being forgotten."""
    choice = day_choice(twice(MON, THU), week(held=(MON, TUE)))
    assert choices(choice) == [[THU]]
    assert "One visit instead of two" in choice.note


def test_a_hold_never_moves_a_visit() -> None:
    """Who is away on the agreed day has not asked for another one."""
    assert day_choice(plan(THU), week(held=(THU, THU))) == DayChoice(())


def test_a_holiday_inside_a_hold_moves_nothing() -> None:
    """The hold already says that nobody comes that day."""
    assert day_choice(plan(THU), week(THU, held=(THU, THU))) == DayChoice(())


def test_a_moved_visit_avoids_held_days() -> None:
    """Wednesday is held, so Tuesday is the nearest open day before Thursday."""
    assert choices(day_choice(plan(THU), week(THU, held=(WED, WED)))) == [[TUE], [FRI]]


def test_days_that_are_over_are_no_choice() -> None:
    """Asked on Wednesday, Monday and Tuesday are gone; Wednesday itself is not."""
    assert choices(day_choice(plan(MON, TUE, WED, FRI), week(today=WEEK.days[WED]))) == [
        [WED],
        [FRI],
    ]


def test_a_week_without_an_open_day_has_no_pattern() -> None:
    """No note either: the reason is given where the site is listed as not due."""
    assert day_choice(plan(MON), week(MON, TUE, WED, THU, FRI)) == DayChoice(())


def test_of_overlapping_holds_the_one_that_ends_last_is_named() -> None:
    """A person asking when the site comes back wants the later day."""
    short = Hold("S001", WEEK.days[MON], WEEK.days[TUE])
    long = Hold("S001", WEEK.days[MON], WEEK.days[FRI])
    assert WeekDays(WEEK, BEFORE, holds=(long, short)).hold_on(*on(MON)) == long


# In general -------------------------------------------------------------------------------------

WEEKDAY_SETS = st.frozensets(st.integers(MON, SUN), min_size=1)


@st.composite
def situations(draw: st.DrawFn) -> tuple[ServicePlan, WeekDays]:
    """Any plan in any week, with closed days, holds and a today around it."""
    rhythm = draw(st.sampled_from(Rhythm))
    least = rhythm.visits_per_week
    allowed = draw(st.frozensets(st.integers(MON, SUN), min_size=least))
    locked = draw(st.booleans())
    usual = draw(st.frozensets(st.sampled_from(sorted(allowed)), min_size=least if locked else 0))
    first = WEEK.monday + timedelta(days=draw(st.integers(-3, 7)))
    hold = Hold("S001", first, first + timedelta(days=draw(st.integers(0, 6))))
    return (
        ServicePlan(
            rhythm, 25, allowed_weekdays=allowed, usual_weekdays=usual, weekday_locked=locked
        ),
        WeekDays(
            WEEK,
            WEEK.monday + timedelta(days=draw(st.integers(-7, 7))),
            draw(st.frozensets(st.sampled_from(WEEK.days), max_size=4)),
            draw(st.sampled_from([(), (hold,)])),
            draw(WEEKDAY_SETS),
            draw(st.sampled_from(HolidayRule)),
        ),
    )


@given(situations())
def test_no_pattern_holds_a_day_that_is_over_closed_or_held(
    situation: tuple[ServicePlan, WeekDays],
) -> None:
    """These three are never bent, whatever the note says."""
    agreed, days = situation
    hold_days = {day for hold in days.holds for day in WEEK.days if hold.covers(day)}
    for pattern in day_choice(agreed, days).patterns:
        assert set(pattern) <= set(WEEK.days)
        assert all(day >= days.today for day in pattern)
        assert not set(pattern) & (days.holidays | hold_days)


@given(situations())
def test_a_day_that_was_not_agreed_is_named_in_the_note(
    situation: tuple[ServicePlan, WeekDays],
) -> None:
    """Nobody is sent on another day than agreed without being told so, and only by a holiday."""
    agreed, days = situation
    weekdays = agreed.usual_weekdays if agreed.weekday_locked else agreed.allowed_weekdays
    choice = day_choice(agreed, days)
    for day in {day for pattern in choice.patterns for day in pattern}:
        if day.weekday() not in weekdays:
            assert str(day) in choice.note
            assert any(closed.weekday() in weekdays for closed in days.holidays)
        if day.weekday() not in agreed.allowed_weekdays:
            assert "ask first" in choice.note


@given(situations())
def test_patterns_are_alike_rising_and_no_longer_than_the_rhythm(
    situation: tuple[ServicePlan, WeekDays],
) -> None:
    """Planning relies on one number of visits for all patterns of a site."""
    agreed, days = situation
    choice = day_choice(agreed, days)
    assert len({len(pattern) for pattern in choice.patterns}) <= 1
    assert len(set(choice.patterns)) == len(choice.patterns)
    for pattern in choice.patterns:
        assert list(pattern) == sorted(set(pattern))
        assert len(pattern) <= agreed.rhythm.visits_per_week
        if len(pattern) < agreed.rhythm.visits_per_week:
            assert "instead of" in choice.note or "Left out" in choice.note


@given(situations())
def test_an_agreed_open_day_always_leads_to_a_visit(
    situation: tuple[ServicePlan, WeekDays],
) -> None:
    """Nothing is lost as long as one agreed day is neither over, closed nor held."""
    agreed, days = situation
    weekdays = agreed.usual_weekdays if agreed.weekday_locked else agreed.allowed_weekdays
    open_days = [day for day in WEEK.days if day.weekday() in weekdays and days.is_open(day)]
    choice = day_choice(agreed, days)
    if open_days and days.holiday_rule is not HolidayRule.SKIP:
        assert choice.patterns
    ruled = days.holiday_rule is not HolidayRule.NEAREST
    if ruled and any(day.weekday() in agreed.usual_weekdays for day in days.holidays):
        return
    proper = [pair for pair in combinations(open_days, 2) if (pair[1] - pair[0]).days in (3, 4)]
    if agreed.rhythm.visits_per_week == 2 and proper:
        assert list(choice.patterns) == proper


@pytest.mark.parametrize("closed", list(combinations(range(5), 4)))
def test_one_open_day_in_a_holiday_week_takes_every_single_visit(closed: tuple[int, ...]) -> None:
    """Whichever working day is left, a visit of any other day is moved to it."""
    (left,) = set(range(5)) - set(closed)
    for weekday in range(5):
        assert choices(day_choice(plan(weekday), week(*closed))) == [[left]]
