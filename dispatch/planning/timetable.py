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

    `wait_s` is the waiting of the whole day, in front of gates or for the meal. `late_s` has for
    each stop the seconds by which service begins after its window, `overfull_s` the seconds
    beyond the shift, `break_late_s` those by which the meal begins too late. The meal is taken
    after `break_after` stops; `break_after` and `break_start_s` are None without one.
    """

    start_s: int
    arrive_s: tuple[int, ...]
    begin_s: tuple[int, ...]
    leave_s: tuple[int, ...]
    end_s: int
    wait_s: int
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

    A meal is owed only when the day lasts beyond the latest time it may begin. It stands between
    two stops; of all positions the one that breaks least, then waits least, then ends the day
    earliest, then comes first is taken. The truck leaves as early as it can without waiting
    longer in all; an order that breaks a time rule starts with the shift.
    """
    plain = _walk(cell, calls, drive_s)
    meal = cell.meal_in_shift
    if meal is None or not calls or plain.end_s <= meal.latest_s:
        return plain
    options = [
        _walk(cell, calls, drive_s, meal, n) for n in _meal_range(cell, calls, drive_s, meal)
    ]
    return min(options, key=lambda one: (one.broken_s, one.wait_s, one.end_s, one.break_after))


def _meal_range(cell: Cell, calls: Sequence[Call], drive_s: Seconds, meal: Break) -> range:
    """The numbers of stops after which the meal may stand; all others are no better.

    From the last position reached before its earliest time (a meal before that one begins no
    earlier and has more left to do after it) to the first one reached after its latest.
    """
    now_s, here, first, last = cell.shift.start_s, cell.start, 0, len(calls)
    for n, call in enumerate(calls):
        if now_s <= meal.earliest_s:
            first = n
        if now_s > meal.latest_s:
            last = n
            break
        now_s = max(now_s + int(drive_s[here, call.place]), call.window.start_s) + call.service_s
        here = call.place
    else:
        first = last if now_s <= meal.earliest_s else first
    return range(first, last + 1)


@dataclass(frozen=True, slots=True)
class _Span:
    """One thing to do on the way: the drive to it, when it may begin, how long it takes."""

    leg_s: int
    from_s: int
    to_s: int
    lasts_s: int


def _walk(
    cell: Cell,
    calls: Sequence[Call],
    drive_s: Seconds,
    meal: Break | None = None,
    meal_after: int | None = None,
) -> Times:
    """Times with the meal after `meal_after` stops, or without one."""
    spans = _spans(cell, calls, drive_s)
    if meal is not None and meal_after is not None:
        spans.insert(meal_after, _Span(0, meal.earliest_s, meal.latest_s, meal.minutes * 60))
    start_s = _departure_s(cell, spans) if spans else cell.shift.start_s
    arrive, begin, leave, now_s = list[int](), list[int](), list[int](), start_s
    for span in spans:
        arrive.append(now_s + span.leg_s)
        begin.append(max(arrive[-1], span.from_s))
        now_s = begin[-1] + span.lasts_s
        leave.append(now_s)
    end_s = now_s + int(drive_s[calls[-1].place, cell.end]) if calls else now_s
    late_s = [max(0, at - span.to_s) for at, span in zip(begin, spans, strict=True)]
    wait_s = sum(begin) - sum(arrive)
    break_start_s = None
    break_late_s = 0
    if meal_after is not None:
        break_late_s = late_s.pop(meal_after)
        break_start_s = begin.pop(meal_after)
        arrive.pop(meal_after)
        leave.pop(meal_after)
    return Times(
        start_s=start_s,
        arrive_s=tuple(arrive),
        begin_s=tuple(begin),
        leave_s=tuple(leave),
        end_s=end_s,
        wait_s=wait_s,
        late_s=tuple(late_s),
        overfull_s=max(0, end_s - cell.shift.end_s),
        break_after=meal_after,
        break_start_s=break_start_s,
        break_s=meal.minutes * 60 if meal else 0,
        break_late_s=break_late_s,
    )


def _spans(cell: Cell, calls: Sequence[Call], drive_s: Seconds) -> list[_Span]:
    here, spans = cell.start, list[_Span]()
    for call in calls:
        leg_s = int(drive_s[here, call.place])
        spans.append(_Span(leg_s, call.window.start_s, call.window.end_s, call.service_s))
        here = call.place
    return spans


def _departure_s(cell: Cell, spans: Sequence[_Span]) -> int:
    """Earliest departure of all that wait least (Vidal et al., EJOR 234, 2014, eq. 12 to 16)."""
    lasts_s, from_s, to_s = 0, cell.shift.start_s, cell.shift.end_s
    for span in spans:
        reach_s = lasts_s + span.leg_s
        wait_s = max(span.from_s - reach_s - to_s, 0)
        from_s = max(span.from_s - reach_s, from_s) - wait_s
        to_s = min(span.to_s - reach_s, to_s)
        lasts_s = reach_s + wait_s + span.lasts_s
        if from_s > to_s:  # no departure within the shift is in time for this
            return cell.shift.start_s
    return from_s


def leg(problem: Problem, here: int, there: int) -> tuple[int, int]:
    """Seconds and metres from one place to another (rows of the matrices)."""
    return int(problem.drive_s[here, there]), int(problem.drive_m[here, there])
