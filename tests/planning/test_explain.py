"""Reasons that a dispatcher can act on, in words and as data."""

from __future__ import annotations

from dataclasses import replace

from dispatch.planning.plan import Rule
from tests.planning.weeks import (
    FRI,
    MINUTE,
    MON,
    TUE,
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
    assert "50 kg over the payload" in put_off.reason
    assert "Needs 90 min and the skill 'media', 150 kg on the truck" in put_off.reason
