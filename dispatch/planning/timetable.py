"""Arrival, start and departure of each stop of any given order.

The search, hand edits, the day and the checks all read times from here. Times are seconds after
local midnight; every rule that an order breaks comes out as an amount, none is repaired.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dispatch.planning.problem import Cell, Problem, Seconds
from dispatch.sites import TimeWindow


@dataclass(frozen=True, slots=True)
class Call:
    """One stop to be timed: where (row of the drive-time matrix), how long, and when."""

    place: int
    service_s: int
    window: TimeWindow


@dataclass(frozen=True, slots=True)
class Times:
    """Times of an order.

    `late_s` has for each stop the seconds by which service begins after its window, `overfull_s`
    the seconds beyond the shift, `break_late_s` those by which the meal begins too late. The meal
    is taken after `break_after` stops; both break fields are None without one.
    """

    start_s: int
    arrive_s: tuple[int, ...]
    begin_s: tuple[int, ...]
    leave_s: tuple[int, ...]
    end_s: int
    late_s: tuple[int, ...]
    overfull_s: int
    break_after: int | None = None
    break_start_s: int | None = None
    break_late_s: int = 0

    @property
    def broken_s(self) -> int:
        """Seconds by which the order breaks windows, shift and meal together."""
        return sum(self.late_s) + self.overfull_s + self.break_late_s


def times_of(cell: Cell, calls: Sequence[Call], drive_s: Seconds) -> Times:
    """Times of `calls` in this order, with the meal where it hurts least.

    A meal is owed only when the day would last beyond the latest time it may begin. It stands
    between two stops; of all positions the one that breaks least, then ends the day earliest, then
    comes first is taken. The truck leaves no earlier than needed to be at the first stop when its
    window opens.
    """
    plain = _walk(cell, calls, drive_s, None)
    if cell.meal is None or not calls or plain.end_s <= cell.meal.latest_s:
        return plain
    options = [_walk(cell, calls, drive_s, after) for after in range(len(calls) + 1)]
    return min(options, key=lambda one: (one.broken_s, one.end_s, one.break_after))


def _walk(cell: Cell, calls: Sequence[Call], drive_s: Seconds, meal_after: int | None) -> Times:
    """Times with the meal after `meal_after` stops, or without one."""
    start_s = cell.shift.start_s
    if calls and meal_after != 0:
        first_leg_s = int(drive_s[cell.start, calls[0].place])
        start_s = max(start_s, calls[0].window.start_s - first_leg_s)
    now_s, here = start_s, cell.start
    meal_start_s: int | None = None
    arrive, begin, leave = list[int](), list[int](), list[int]()
    for n, call in enumerate(calls):
        if meal_after == n:
            meal_start_s, now_s = _meal(cell, now_s)
        now_s += int(drive_s[here, call.place])
        arrive.append(now_s)
        begin.append(max(now_s, call.window.start_s))
        now_s = begin[-1] + call.service_s
        leave.append(now_s)
        here = call.place
    if meal_after == len(calls):
        meal_start_s, now_s = _meal(cell, now_s)
    end_s = now_s + int(drive_s[here, cell.end]) if calls else now_s
    late_by = 0 if meal_start_s is None or cell.meal is None else meal_start_s - cell.meal.latest_s
    return Times(
        start_s=start_s,
        arrive_s=tuple(arrive),
        begin_s=tuple(begin),
        leave_s=tuple(leave),
        end_s=end_s,
        late_s=tuple(max(0, b - call.window.end_s) for b, call in zip(begin, calls, strict=True)),
        overfull_s=max(0, end_s - cell.shift.end_s),
        break_after=meal_after,
        break_start_s=meal_start_s,
        break_late_s=max(0, late_by),
    )


def _meal(cell: Cell, now_s: int) -> tuple[int, int]:
    """Beginning and end of the meal for a truck that is free from `now_s`."""
    assert cell.meal is not None  # noqa: S101 - only called for a cell with one
    begin_s = max(now_s, cell.meal.earliest_s)
    return begin_s, begin_s + cell.meal.minutes * 60


def leg(problem: Problem, here: int, there: int) -> tuple[int, int]:
    """Seconds and metres from one place to another (rows of the matrices)."""
    return int(problem.drive_s[here, there]), int(problem.drive_m[here, there])
