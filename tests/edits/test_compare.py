from __future__ import annotations

from dispatch.edits.compare import compare
from tests.planning.weeks import MON, TUE, by_hand, cell, demand, on_a_line, problem

WEEK = problem(
    on_a_line(0, 10, 20, 30),
    [cell("T1", MON), cell("T1", TUE), cell("T2", MON)],
    [demand(f"S{n}", n, MON, TUE, minutes=30) for n in (1, 2, 3)],
)


def words(*, before: list[list[int]], after: list[list[int]]) -> dict[str, str]:
    """What changes for each site between two plans by hand."""
    found = compare(by_hand(WEEK, *before), by_hand(WEEK, *after))
    return {one.site_id: one.words for one in found.moved}


def test_the_same_plan_differs_in_nothing() -> None:
    """No row of nothing for the dispatcher to read."""
    assert words(before=[[0, 1, 2]], after=[[0, 1, 2]]) == {}


def test_another_day_and_another_technician_are_told_by_name() -> None:
    """S1 to Tuesday, S2 to T2; S3 begins 60 minutes earlier without them."""
    found = words(before=[[0, 1, 2], [], []], after=[[2], [0], [1]])
    assert found == {"S1": "other day", "S2": "other technician", "S3": "other time"}


def test_who_gains_or_loses_a_place_is_told_first() -> None:
    """S1 is gone, S3 has come."""
    found = compare(by_hand(WEEK, [0, 1]), by_hand(WEEK, [1, 2]))
    assert [(one.site_id, one.words) for one in found.shifted][:2] == [
        ("S1", "loses its place"),
        ("S3", "gets a place"),
    ]
    assert (found.before.unplaced, found.after.unplaced) == (1, 1)


def test_a_few_minutes_are_counted_and_not_told() -> None:
    """S2 before S1: 10 minutes more drive for S1; nobody notices a quarter of an hour."""
    week = problem(
        on_a_line(0, 1, 2), [cell("T1", MON)], [demand(f"S{n}", n, minutes=5) for n in (1, 2)]
    )
    found = compare(by_hand(week, [0, 1]), by_hand(week, [1, 0]))
    assert len(found.moved) == 2
    assert found.shifted == ()


def test_figures_stand_side_by_side() -> None:
    """Out to 30 minutes and back is 60; with S2 and S3 on Tuesday 20 and 60."""
    found = compare(by_hand(WEEK, [0, 1, 2]), by_hand(WEEK, [0], [1, 2]))
    assert (found.before.drive_s, found.after.drive_s) == (60 * 60, 80 * 60)
    assert (found.before.stops, found.after.stops) == (3, 3)
