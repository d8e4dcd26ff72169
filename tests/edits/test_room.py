"""Where a visit without a place has room on routes that planning leaves alone."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from dispatch.edits.draft import CellKey
from dispatch.edits.room import with_kept_told
from dispatch.planning.problem import Problem
from tests.planning.weeks import MON, TUE, WED, by_hand, cell, demand, on_a_line, problem


def week(*cells: CellKey) -> Problem:
    """One visit, usually T1's on Tuesday, that may come on any of three days."""
    trucks = [cell(technician, day) for technician, day in cells]
    return problem(
        on_a_line(0, 5), trucks, [demand("S1", 1, MON, TUE, WED, usual="T1", weekdays=[1])]
    )


def told(
    one: Problem,
    *,
    published: Collection[CellKey] = (),
    locked: Collection[CellKey] = (),
    under_way: Collection[date] = (),
) -> str:
    """The reason of the visit, which stands in no route."""
    kept = {*published, *locked}
    plan = with_kept_told(one, by_hand(one), kept, published, under_way)
    (left,) = plan.unplaced
    return left.reason


def test_the_usual_day_is_advised_before_another_one() -> None:
    """The customer keeps the day; another technician is the smaller change."""
    cells = [("T1", MON), ("T2", TUE), ("T1", WED)]
    assert told(week(*cells), published=cells) == (
        "T2 on Tuesday has room, but that route is published, and planning leaves it alone: move "
        "the visit there by hand and publish the day again."
    )


def test_nobody_is_sent_to_publish_a_day_under_way() -> None:
    """It would be refused: the next day with room is advised, though it is not the usual one."""
    cells = [("T1", TUE), ("T1", WED)]
    one = week(*cells)
    assert told(one, published=cells, under_way=[TUE]).startswith("T1 on Wednesday has room")
    assert told(one, published=cells[:1], under_way=[TUE]) == (
        "T1 on Wednesday still has room: plan again with more time."
    )
    assert told(one, locked=cells[1:], under_way=[TUE]).startswith(
        "T1 on Wednesday has room, but that route is locked"
    )


def test_with_room_on_a_day_under_way_alone_an_urgent_stop_is_advised() -> None:
    """A day under way is only repaired, whether or not the technician has a route there."""
    one = week(("T1", TUE))
    reason = (
        "T1 on Tuesday has room, but that day is under way and is only repaired: add an urgent "
        "stop there."
    )
    assert told(one, published=[("T1", TUE)], under_way=[TUE]) == reason
    assert told(one, under_way=[TUE]) == reason
