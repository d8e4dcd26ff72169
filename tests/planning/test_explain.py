"""Reasons that a dispatcher can act on, in words and as data."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dispatch.measures import measured
from dispatch.planning.check import violations
from dispatch.planning.explain import amount_in_words
from dispatch.planning.plan import Broken, Rule
from dispatch.planning.problem import Demand, Hours, Problem
from tests.planning.weeks import (
    FRI,
    MINUTE,
    MON,
    TUE,
    by_hand,
    cell,
    demand,
    on_a_line,
    planned,
    problem,
    upkeep,
)

ROAD = on_a_line(0, 10, 25)


def test_the_only_technician_with_the_skill_is_named_with_the_minutes_missing() -> None:
    """Ana alone has 'media'; 07:10 + 95 + 10 = 08:55, 25 minutes beyond her short Tuesday."""
    week = problem(
        ROAD,
        [cell("Bo", TUE), cell("Ana", TUE, "07:00-08:30", skills=["media"])],
        [demand("S1", 1, TUE, minutes=95, skills=["media"])],
    )
    (unplaced,) = planned(week).unplaced
    assert unplaced.reason == (
        "Needs 95 min and the skill 'media'; only Ana may take it; closest is Ana on Tuesday, "
        "25 min beyond the shift."
    )


def test_every_cell_is_listed_with_the_rules_it_breaks() -> None:
    """As data: Bo lacks the skill, Ana lacks 25 minutes."""
    week = problem(
        ROAD,
        [cell("Bo", TUE), cell("Ana", TUE, "07:00-08:30", skills=["media"])],
        [demand("S1", 1, TUE, minutes=95, skills=["media"])],
    )
    (unplaced,) = planned(week).unplaced
    assert [(one.technician_id, one.rule, one.amount) for one in unplaced.cells] == [
        ("Bo", Rule.SKILL, 0),
        ("Ana", Rule.OVERFULL, 25 * MINUTE),
    ]


@pytest.mark.parametrize(
    ("window", "words"),
    [
        ("07:00-07:10", "5 min after the time windows of other stops"),
        ("06:30-07:05", "10 min after time windows, its own and those of other stops"),
    ],
)
def test_a_window_of_another_stop_is_not_called_its_own(window: str, words: str) -> None:
    """S1 begins 07:10 when the truck arrives, and S2 at 07:40, 5 minutes after its window."""
    week = problem(
        ROAD,
        [cell("Ana", MON)],
        [
            demand("S1", 1, MON, minutes=30, window=window),
            demand("S2", 1, MON, minutes=60, window="07:00-07:35"),
        ],
    )
    (unplaced,) = by_hand(week, [1]).unplaced
    assert unplaced.reason == (
        f"Needs 30 min; only Ana may take it; closest is Ana on Monday, {words}."
    )


def test_a_skill_nobody_has_is_said_so() -> None:
    """The mend is to train or hire, not to search longer."""
    week = problem(ROAD, [cell()], [demand("S1", 1, skills=["heater"])])
    (unplaced,) = planned(week).unplaced
    assert unplaced.reason == (
        "Needs 30 min and the skill 'heater'; no technician on shift has what it needs."
    )


def test_a_lock_in_the_way_is_named_with_the_ways_around_it() -> None:
    """Locked to Ana, who is off on the only day: lift the lock, or allow another day."""
    week = problem(
        ROAD,
        [cell("Bo", MON), cell("Ana", TUE)],
        [demand("S1", 1, MON, usual="Ana", locked=True)],
    )
    (unplaced,) = planned(replace(week, technicians_off=(("Ana", MON),))).unplaced
    assert unplaced.reason == (
        "Needs 30 min; nobody may take it as agreed: it is locked to Ana, who is off on Monday; "
        "without the lock Bo on Monday has room; on another day Ana on Tuesday has room."
    )
    assert {(one.technician_id, one.rule) for one in unplaced.cells} == {
        ("Bo", Rule.TECHNICIAN_LOCK),
        ("Ana", Rule.DAY),
        ("Ana", Rule.SHIFT),
    }


def test_a_lock_on_somebody_who_is_gone_is_said_so() -> None:
    """The technician left; the site is still locked to them."""
    week = problem(ROAD, [cell("Bo", MON)], [demand("S1", 1, MON, usual="T9", locked=True)])
    (unplaced,) = planned(week).unplaced
    assert "it is locked to T9, who does not work this week" in unplaced.reason


def test_a_visit_longer_than_any_shift_is_unplaced_with_its_excess() -> None:
    """Ten hours of work in a shift of eight: 07:10 to 17:10, back 17:20, shift to 15:00."""
    week = problem(ROAD, [cell()], [demand("S1", 1, minutes=600)])
    (unplaced,) = planned(week).unplaced
    assert "140 min beyond the shift" in unplaced.reason


def test_upkeep_put_off_for_good_reason_says_which() -> None:
    """A sand change of 150 kg does not fit a truck of 100 kg, though the visit itself does."""
    item = upkeep("S1", latest=FRI, mass_kg=150)
    week = problem(
        ROAD,
        [cell("Ana", skills=["media"], payload_kg=100)],
        [demand("S1", 1, upkeep=[item])],
    )
    plan = planned(week)
    assert not plan.unplaced
    (put_off,) = plan.put_off
    assert put_off.late
    assert put_off.by == FRI
    assert "50 kg over the payload" in measured(put_off.reason)
    assert "Needs 90 min and the skill 'media', 150 kg on the truck" in measured(put_off.reason)


def reason(week: Problem) -> str:
    """Why the only visit that finds no place does not."""
    (unplaced,) = planned(week).unplaced
    return measured(unplaced.reason)


@pytest.mark.parametrize(
    ("site", "way_out"),
    [
        (
            replace(demand("S1", 1), unwanted_technician_ids=frozenset({"Ana"})),
            "if the customer agrees, Ana on Monday has room",
        ),
        (replace(demand("S1", 1), crew=2), "with one more person aboard Ana on Monday has room"),
        (replace(demand("S1", 1), crew=4), "with 3 more persons aboard Ana on Monday has room"),
    ],
)
def test_the_one_rule_to_bend_is_named(site: Demand, way_out: str) -> None:
    """A dispatcher can ask the customer or send a helper."""
    assert reason(problem(ROAD, [cell("Ana")], [site])) == (
        f"Needs 30 min; nobody may take it as agreed; {way_out}."
    )


def test_chemicals_above_the_limit_are_named_in_kilograms() -> None:
    """120 kg for a truck that may have 100 aboard and nowhere to refill."""
    site = replace(demand("S1", 1, load_kg=120), chemicals_kg=120.0)
    week = problem(ROAD, [replace(cell("Ana"), chemicals_most_kg=100.0)], [site])
    assert reason(week) == (
        "Needs 30 min, 120 kg on the truck; only Ana may take it; closest is Ana on Monday, "
        "20 kg over what may be aboard of chemicals."
    )


def test_a_fifth_of_a_gram_too_much_is_not_told_as_nothing() -> None:
    """Three visits of 0.3334 kg are 1.0002 kg; what is told comes in tenths, the next above."""
    pools = [demand(f"S{n}", 1, load_kg=0.3334) for n in (1, 2, 3)]
    week = problem(ROAD, [cell("Ana", payload_kg=1.0)], pools)
    plan = planned(week)
    assert not violations(week, plan)
    assert [[one.amount for one in left.cells] for left in plan.unplaced] == [[0.1]]


def test_hours_missing_in_the_week_are_named_in_minutes() -> None:
    """Two days of 50 min and a most of 80: the second visit is 20 min too much for the week."""
    week = problem(
        ROAD, [cell("Ana", MON), cell("Ana", TUE)], [demand("S1", 1, MON), demand("S2", 1, TUE)]
    )
    short = reason(replace(week, hours=(Hours("Ana", most_s=80 * MINUTE),)))
    assert short.endswith("20 min over the hours of the week.")


def test_overtime_counts_before_a_day_is_called_too_short() -> None:
    """07:10 + 95 + 10 = 08:55; the shift ends 08:30, ten minutes more may be worked: 15 over."""
    truck = replace(cell("Ana", hours="07:00-08:30"), overtime_s=10 * MINUTE)
    words = reason(problem(ROAD, [truck], [demand("S1", 1, minutes=95)]))
    assert words.endswith("closest is Ana on Monday, 15 min beyond the shift.")


def test_a_visit_kept_with_somebody_who_is_gone_says_who_has_it() -> None:
    """It was to stay with Bo on Monday, who no longer works then."""
    site = replace(demand("S1", 1), kept=(("Bo", MON),))
    (unplaced,) = planned(problem(ROAD, [cell("Ana")], [site])).unplaced
    assert [one.rule for one in unplaced.cells] == [Rule.KEPT]
    assert unplaced.reason.endswith("while it is kept with somebody else.")


@pytest.mark.parametrize("rule", list(Rule))
def test_every_rule_has_words(rule: Rule) -> None:
    """A rule without words would break the page on the day it is first broken."""
    assert amount_in_words(Broken(rule, "T1", MON, 90.0, "T2"))


def test_a_kept_visit_has_no_room_on_another_day() -> None:
    """It must stay with Bo on Monday, who is off: on Tuesday it would not stay either."""
    site = replace(demand("S1", 1, MON, TUE), kept=(("Bo", MON),))
    words = reason(problem(ROAD, [cell("Bo", TUE), cell("Ana", TUE)], [site]))
    assert "has room" not in words


def test_hours_are_counted_at_the_position_that_takes_least_of_them() -> None:
    """Ana's pools lie 10 and 30 min out, 30 min each: 120 min of 140 in the week.

    A pool at 20 min out is on her way: 20 min more fit exactly, 41 would not; before the first or
    after the last it would add its drives as well.
    """
    road = on_a_line(0, 10, 20, 30)
    pools = [demand("S1", 1), demand("S3", 3)]
    for minutes, over in ((20, ""), (41, "21 min over the hours of the week.")):
        week = problem(road, [cell("Ana")], [*pools, demand("S2", 2, minutes=minutes)])
        week = replace(week, hours=(Hours("Ana", most_s=140 * MINUTE),))
        (new,) = by_hand(week, [0, 1]).unplaced
        assert new.reason.endswith(over or "still has room: plan again with more time.")


def test_of_two_visits_that_fit_a_week_only_one_by_one_one_is_planned() -> None:
    """80 min each and 100 in the week: nobody is told that there is room for the other."""
    week = problem(
        ROAD, [cell("Ana", MON), cell("Ana", TUE)], [demand("S1", 1, (MON, TUE), minutes=60)]
    )
    words = reason(replace(week, hours=(Hours("Ana", most_s=100 * MINUTE),)))
    assert words.endswith("60 min over the hours of the week.")
