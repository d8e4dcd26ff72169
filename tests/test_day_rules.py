"""Days that a week leaves to a site: three visits, the company's rule for holidays, bursts."""

import pytest

from dispatch.closed_days import HolidayRule
from dispatch.day_patterns import DayChoice, day_choice
from dispatch.sites import Rhythm, ServicePlan
from tests.test_day_patterns import FRI, MON, THU, TUE, WED, choices, plan, week

# Three visits a week ----------------------------------------------------------------------------


def thrice(*weekdays: int) -> ServicePlan:
    return plan(*weekdays, rhythm=Rhythm.THREE_TIMES_A_WEEK)


def test_three_visits_come_with_a_day_between_them() -> None:
    """From Monday to Friday there is one way, and nothing to say about it."""
    choice = day_choice(thrice(MON, TUE, WED, THU, FRI), week())
    assert choices(choice) == [[MON, WED, FRI]]
    assert choice.note == ""


def test_three_visits_around_a_holiday_are_bent_and_say_so() -> None:
    """Wednesday is closed: Tuesday and Thursday stand for it, each next to one of the others."""
    choice = day_choice(thrice(MON, WED, FRI), week(WED))
    assert choices(choice) == [[MON, TUE, FRI], [MON, THU, FRI]]
    assert "No three open days lie 2 or 3 days apart" in choice.note
    assert "Tue 2026-11-24 or Thu 2026-11-26 may be taken instead" in choice.note


def test_three_visits_with_two_days_left_are_two() -> None:
    """Two visits are better than one, and the third is not forgotten."""
    choice = day_choice(thrice(MON, WED, FRI), week(held=(MON, MON)))
    assert choices(choice) == [[WED, FRI]]
    assert "Two visits instead of three, because no third day is open." in choice.note


# The company's rule for holidays ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("rule", "days"),
    [
        (HolidayRule.NEAREST, [[WED], [FRI]]),
        (HolidayRule.DAY_BEFORE, [[WED]]),
        (HolidayRule.DAY_AFTER, [[FRI]]),
        (HolidayRule.SKIP, []),
    ],
)
def test_the_only_day_on_a_holiday_goes_where_the_rule_says(
    rule: HolidayRule, days: list[list[int]]
) -> None:
    """Before, after, either, or not at all: contracts differ (common practice)."""
    assert choices(day_choice(plan(THU, usual=(THU,)), week(THU, rule=rule))) == days


def test_the_day_before_holds_for_a_usual_day_that_is_not_locked() -> None:
    """The customer could be served on Monday as well, but was told 'the day before'."""
    wide = plan(MON, TUE, WED, THU, FRI, usual=(THU,))
    choice = day_choice(wide, week(THU, rule=HolidayRule.DAY_BEFORE))
    assert choices(choice) == [[WED]]
    assert choice.note == "Closed on the usual day, Thu 2026-11-26."
    assert len(day_choice(wide, week(THU)).patterns) == 4


def test_the_day_before_a_monday_is_the_day_after() -> None:
    """A visit does not leave its week."""
    choice = day_choice(plan(MON, usual=(MON,)), week(MON, rule=HolidayRule.DAY_BEFORE))
    assert choices(choice) == [[TUE]]


def test_of_a_pair_the_closed_day_alone_moves_by_the_rule() -> None:
    """Monday stays, and Thursday comes a day late."""
    pair = plan(MON, THU, rhythm=Rhythm.TWICE_A_WEEK, usual=(MON, THU))
    choice = day_choice(pair, week(THU, rule=HolidayRule.DAY_AFTER))
    assert choices(choice) == [[MON, FRI]]


def test_of_a_pair_the_rule_to_skip_leaves_one_and_says_so() -> None:
    """The customer pays for two; the dispatcher should be able to tell why one came."""
    pair = plan(MON, THU, rhythm=Rhythm.TWICE_A_WEEK, usual=(MON, THU))
    choice = day_choice(pair, week(THU, rule=HolidayRule.SKIP))
    assert choices(choice) == [[MON]]
    assert "Left out by the company's rule for holidays: Thu 2026-11-26." in choice.note


def test_without_a_usual_day_a_visit_is_skipped_only_when_no_day_is_left() -> None:
    """Any day of the week was agreed: a holiday takes one of five."""
    assert len(day_choice(plan(MON, THU), week(THU, rule=HolidayRule.SKIP)).patterns) == 1
    assert not day_choice(plan(THU), week(THU, rule=HolidayRule.SKIP)).patterns


def test_the_one_visit_of_winter_comes_on_the_usual_day_that_stays_open() -> None:
    """Twice a week in summer, on Monday and Thursday: in winter Monday alone will do."""
    winter = plan(MON, THU, usual=(MON, THU))
    choice = day_choice(winter, week(THU, rule=HolidayRule.SKIP))
    assert choices(choice) == [[MON]]
    assert choice.note == "Closed on the usual day, Thu 2026-11-26."
    assert day_choice(winter, week(MON, THU, rule=HolidayRule.SKIP)) == DayChoice(())


def test_a_usual_day_on_hold_makes_up_for_no_holiday() -> None:
    """Away on Monday, closed on Thursday: by the rule to skip nobody comes on other days."""
    wide = plan(MON, TUE, WED, THU, usual=(MON, THU))
    skip = week(THU, held=(MON, MON), rule=HolidayRule.SKIP)
    assert day_choice(wide, skip) == DayChoice(())


def test_a_usual_day_beside_a_burst_makes_up_for_a_holiday() -> None:
    """The burst has Monday and Thursday is closed: the second visit comes on Wednesday."""
    pair = plan(MON, WED, THU, rhythm=Rhythm.TWICE_A_WEEK, usual=(MON, WED, THU))
    choice = day_choice(pair, week(THU, burst=(MON, MON), rule=HolidayRule.SKIP))
    assert choices(choice) == [[WED]]


# Bursts -----------------------------------------------------------------------------------------


def test_a_burst_on_the_usual_day_takes_the_place_of_the_visit() -> None:
    """The pool is seen every day from Monday to Wednesday; Tuesday's visit would be one more."""
    usual = plan(MON, TUE, WED, THU, FRI, usual=(TUE,))
    assert day_choice(usual, week(burst=(MON, WED))) == DayChoice(())


def test_a_burst_before_the_usual_day_leaves_the_visit_on_it() -> None:
    """After the burst the pool is back on its route."""
    usual = plan(MON, TUE, WED, THU, FRI, usual=(THU,))
    choice = day_choice(usual, week(burst=(MON, WED)))
    assert choices(choice) == [[THU], [FRI]]
    assert choice.note.startswith("A green-pool burst takes Mon 2026-11-23")


def test_of_two_visits_a_burst_takes_the_one_it_covers() -> None:
    """Monday lies in it, Thursday does not."""
    pair = plan(MON, THU, rhythm=Rhythm.TWICE_A_WEEK, usual=(MON, THU))
    assert choices(day_choice(pair, week(burst=(MON, WED)))) == [[THU]]
