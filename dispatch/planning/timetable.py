"""Arrival, start and departure of each stop of any given order.

The search, hand edits, the day and the checks all read times from here. Times are seconds after
local midnight; every rule that an order breaks comes out as an amount, none is repaired.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dispatch.planning.problem import Cell, Problem, Seconds
from dispatch.sites import TimeWindow
from dispatch.technicians import Break


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
    break_s: int = 0
    break_late_s: int = 0

    @property
    def broken_s(self) -> int:
        """Seconds by which the order breaks windows, shift and meal together."""
        return sum(self.late_s) + self.overfull_s + self.break_late_s


def times_of(cell: Cell, calls: Sequence[Call], drive_s: Seconds) -> Times:
    """Times of `calls` in this order, with the meal where it hurts least.

    A meal is owed only when the day lasts beyond the latest time it may begin. It stands
    between two stops; of all positions the one that breaks least, then ends the day earliest, then
    comes first is taken. The truck leaves no earlier than needed to be at the first stop when its
    window opens.
    """
    plain = _walk(cell, calls, drive_s)
    meal = cell.meal_in_shift
    if meal is None or not calls or plain.end_s <= meal.latest_s:
        return plain
    options = [_walk(cell, calls, drive_s, meal, after) for after in range(len(calls) + 1)]
    return min(options, key=lambda one: (one.broken_s, one.end_s, one.break_after))


def _walk(
    cell: Cell,
    calls: Sequence[Call],
    drive_s: Seconds,
    meal: Break | None = None,
    meal_after: int | None = None,
) -> Times:
    """Times with the meal after `meal_after` stops, or without one."""
    start_s = cell.shift.start_s
    if calls and meal_after != 0:
        first_leg_s = int(drive_s[cell.start, calls[0].place])
        start_s = max(start_s, calls[0].window.start_s - first_leg_s)
    now_s, here = start_s, cell.start
    meal_start_s: int | None = None
    arrive, begin, leave = list[int](), list[int](), list[int]()
    for n in range(len(calls) + 1):
        if meal is not None and meal_after == n:
            meal_start_s = max(now_s, meal.earliest_s)
            now_s = meal_start_s + meal.minutes * 60
        if n == len(calls):
            break
        call = calls[n]
        arrive.append(now_s + int(drive_s[here, call.place]))
        begin.append(max(arrive[-1], call.window.start_s))
        now_s = begin[-1] + call.service_s
        leave.append(now_s)
        here = call.place
    end_s = now_s + int(drive_s[here, cell.end]) if calls else now_s
    late_s = (max(0, b - call.window.end_s) for b, call in zip(begin, calls, strict=True))
    late_by = meal_start_s - meal.latest_s if meal and meal_start_s is not None else 0
    return Times(
        start_s=start_s,
        arrive_s=tuple(arrive),
        begin_s=tuple(begin),
        leave_s=tuple(leave),
        end_s=end_s,
        late_s=tuple(late_s),
        overfull_s=max(0, end_s - cell.shift.end_s),
        break_after=meal_after,
        break_start_s=meal_start_s,
        break_s=meal.minutes * 60 if meal else 0,
        break_late_s=max(0, late_by),
    )


def leg(problem: Problem, here: int, there: int) -> tuple[int, int]:
    """Seconds and metres from one place to another (rows of the matrices)."""
    return int(problem.drive_s[here, there]), int(problem.drive_m[here, there])
