"""The rest of a week in which a visit took place already."""

from datetime import date, timedelta

from dispatch.clock import IsoWeek
from dispatch.closed_days import HolidayRule
from dispatch.day_patterns import DayChoice, WeekDays
from dispatch.later_visits import later_visits
from dispatch.sites import Rhythm, ServicePlan

MON, TUE, WED, THU, FRI, SAT, SUN = range(7)
WEEK = IsoWeek(2026, 48)  # Monday 23 November; Thursday the 26th is Thanksgiving in the US


def plan(
    *weekdays: int, rhythm: Rhythm = Rhythm.TWICE_A_WEEK, usual: tuple[int, ...] = ()
) -> ServicePlan:
    return ServicePlan(
        rhythm, 25, allowed_weekdays=frozenset(weekdays), usual_weekdays=frozenset(usual)
    )


def week(*closed: int, today: int, rule: HolidayRule = HolidayRule.NEAREST) -> WeekDays:
    days = WEEK.days
    holidays = frozenset(days[number] for number in closed)
    return WeekDays(WEEK, days[today], holidays, holiday_rule=rule)


def choices(choice: DayChoice) -> list[list[int]]:
    return [[day.weekday() for day in pattern] for pattern in choice.patterns]


def on(weekday: int) -> date:
    return WEEK.monday + timedelta(days=weekday)


def test_the_second_visit_of_a_week_comes_three_or_four_days_after_the_first() -> None:
    """After a visit on Monday, Thursday and Friday are right and Wednesday is too soon."""
    choice = later_visits(plan(MON, TUE, WED, THU, FRI), week(today=TUE), on(MON))
    assert choices(choice) == [[THU], [FRI]]
    assert choice.note == "The first visit of the week took place on Mon 2026-11-23."


def test_the_second_visit_moves_off_a_holiday_too() -> None:
    """Thursday is closed: Friday is 4 days after Monday, Wednesday would be 2."""
    choice = later_visits(plan(MON, THU), week(THU, today=TUE), on(MON))
    assert choices(choice) == [[FRI]]
    assert "may be taken instead" in choice.note


def test_after_the_first_visit_the_company_s_rule_for_holidays_still_holds() -> None:
    """The customer was told the day before Thanksgiving; Monday's visit changes nothing in that."""
    wide = plan(MON, TUE, WED, THU, FRI, usual=(MON, THU))
    for rule, second in ((HolidayRule.DAY_BEFORE, WED), (HolidayRule.DAY_AFTER, FRI)):
        for today in (MON, TUE, second):
            choice = later_visits(wide, week(THU, today=today, rule=rule), on(MON))
            assert choices(choice) == [[second]]
        assert not later_visits(wide, week(THU, today=FRI, rule=rule), on(second)).patterns


def test_after_a_monday_moved_to_tuesday_the_usual_thursday_is_still_owed() -> None:
    """Closed on Monday, the week owed Tuesday and Thursday: two days apart, as was planned."""
    pair = plan(MON, THU, usual=(MON, THU))
    moved = week(MON, today=WED, rule=HolidayRule.DAY_AFTER)
    assert choices(later_visits(pair, moved, on(TUE))) == [[THU]]


def test_a_day_before_the_holiday_that_is_gone_leaves_another_day() -> None:
    """Nobody came on Wednesday: Friday is open, and four days after Monday."""
    wide = plan(MON, TUE, WED, THU, FRI, usual=(MON, THU))
    choice = later_visits(wide, week(THU, today=FRI, rule=HolidayRule.DAY_BEFORE), on(MON))
    assert choices(choice) == [[FRI]]


def test_a_customer_of_neighbouring_days_keeps_the_second_visit_after_the_first() -> None:
    """Monday and Wednesday were sold: the week owed both, though they are two days apart."""
    assert choices(later_visits(plan(MON, WED), week(today=TUE), on(MON))) == [[WED]]
    assert later_visits(plan(MON, WED), week(today=THU), on(WED)) == DayChoice(())


def test_a_visit_late_in_the_week_was_the_second_one() -> None:
    """Only the last visit is on record; a third one must not be owed for it."""
    assert later_visits(plan(MON, THU), week(today=FRI), on(THU)) == DayChoice(())


def test_after_the_first_of_three_visits_two_are_owed() -> None:
    """Monday is done; Wednesday and Friday follow."""
    three = plan(MON, TUE, WED, THU, FRI, rhythm=Rhythm.THREE_TIMES_A_WEEK)
    choice = later_visits(three, week(today=TUE), on(MON))
    assert choices(choice) == [[WED, FRI]]
    assert choice.note == "One of three visits took place up to Mon 2026-11-23."


def test_after_the_second_of_three_visits_one_is_owed() -> None:
    """The usual weekdays tell that Wednesday is the second."""
    three = plan(MON, WED, FRI, rhythm=Rhythm.THREE_TIMES_A_WEEK, usual=(MON, WED, FRI))
    assert choices(later_visits(three, week(today=THU), on(WED))) == [[FRI]]
    without_usual = plan(*range(7), rhythm=Rhythm.THREE_TIMES_A_WEEK)
    assert choices(later_visits(without_usual, week(today=THU), on(WED))) == [[FRI], [SAT]]


def test_after_the_last_of_three_visits_nothing_is_owed() -> None:
    """Friday was the third, whatever Sunday would allow."""
    three = plan(*range(7), rhythm=Rhythm.THREE_TIMES_A_WEEK)
    assert later_visits(three, week(today=SAT), on(FRI)) == DayChoice(())


def test_of_two_visits_left_one_comes_where_two_find_no_room() -> None:
    """After Tuesday, Thursday is left and Saturday is not allowed: one visit, not none."""
    three = plan(MON, TUE, WED, THU, FRI, rhythm=Rhythm.THREE_TIMES_A_WEEK)
    assert choices(later_visits(three, week(today=WED), on(TUE))) == [[THU], [FRI]]
