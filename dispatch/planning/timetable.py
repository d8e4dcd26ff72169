"""Arrival, start and departure of each stop of any given order.

The plan, hand edits, the day and the checks all read times from here. Times are seconds after
local midnight; every rule that an order breaks comes out as an amount, none is repaired.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from dispatch.planning.problem import Cell, Problem, Seconds, limit_g, load_g
from dispatch.planning.walk import (
    MEAL,
    NOT,
    SUPPLY,
    Frame,
    Orders,
    Walked,
    begin_times,
    best_insertion,
    best_walk,
)
from dispatch.sites import ANY_TIME, TimeWindow

ABOVE_ALL = 1e6  # price of a second of paid work where the day must be as short as it can be


@dataclass(frozen=True, slots=True)
class Call:
    """One stop to be timed: where (row of the drive-time matrix), how long, and when.

    Service begins in one of the `windows`, which rise; `chemicals_kg` are used up there.
    """

    place: int
    service_s: int
    windows: tuple[TimeWindow, ...] = (ANY_TIME,)
    chemicals_kg: float = 0.0


@dataclass(frozen=True, slots=True)
class Times:
    """Times of an order.

    `wait_s` is the waiting of the whole day, in front of gates or for the meal. `late_s` has for
    each stop the seconds by which service begins after its last window, `overfull_s` the seconds
    beyond the latest end of the day, `overtime_s` those beyond the regular end, `break_late_s`
    those by which the meal begins too late. The meal is taken after `break_after` stops, the
    supply stop made after `supply_after`; these and their times are None where there is none.
    `supply_leg_s` and `onward_leg_s` are the drives to the supply stop and on from it.
    """

    start_s: int
    arrive_s: tuple[int, ...]
    begin_s: tuple[int, ...]
    leave_s: tuple[int, ...]
    end_s: int
    wait_s: int
    late_s: tuple[int, ...]
    overfull_s: int
    overtime_s: int = 0
    break_after: int | None = None
    break_start_s: int | None = None
    break_s: int = 0
    break_late_s: int = 0
    supply_after: int | None = None
    supply_start_s: int | None = None

    @property
    def broken_s(self) -> int:
        """Seconds by which the order breaks windows, shift and meal together."""
        return sum(self.late_s) + self.overfull_s + self.break_late_s

    @property
    def work_s(self) -> int:
        """Paid time: from the start to the end of the day, the unpaid meal left out."""
        return self.end_s - self.start_s - self.break_s


def times_of(
    cell: Cell, calls: Sequence[Call], drive_s: Seconds, *, shortest: bool = False
) -> Times:
    """Times of `calls` in this order, with meal and supply stop where they hurt least.

    A meal is owed only when the day lasts beyond the latest time it may begin. It stands between
    two stops. A supply stop is made where the chemicals of the day are more than the truck may
    carry and the truck has a place to take them on. Of all positions those are taken that break
    least, then wait and exceed the regular end least, then end the day earliest, then come first.
    With `shortest` paid time comes before waiting and overtime: where windows make the two differ.
    The truck leaves as early as it can without waiting longer in all; an order that breaks a time
    rule starts with the shift.
    """
    orders, frame = orders_of(calls), frame_of(cell, shortest=shortest)
    chosen = best_walk(orders, frame, drive_s)
    return _times(cell, orders, frame, drive_s, chosen)


def chemicals_over_kg(cell: Cell, calls: Sequence[Call], times: Times) -> float:
    """By how much the chemicals aboard exceed the cell's limit at the worst moment, in kg.

    They are taken on before the first stop, and again at the supply stop; in the rest of a day a
    part of them has been used already.
    """
    split = len(calls) if times.supply_after is None else times.supply_after
    first_kg, second_kg = (
        sum(call.chemicals_kg for call in part) for part in (calls[:split], calls[split:])
    )
    return max(
        0.0, cell.used_kg + first_kg - cell.chemicals_most_kg, second_kg - cell.chemicals_most_kg
    )


def best_place(cell: Cell, calls: Sequence[Call], new: Call, drive_s: Seconds) -> tuple[int, Times]:
    """Where `new` breaks least among `calls` (stops before it), and the times of that order."""
    at = len(calls)
    orders, frame = orders_of([*calls, new]), frame_of(cell)
    position, chosen = best_insertion(orders, frame, drive_s, at)
    moved = orders_of([*calls[:position], new, *calls[position:]])
    return position, _times(cell, moved, frame, drive_s, chosen)


def orders_of(calls: Sequence[Call]) -> Orders:
    """The calls as the compiled walk reads them."""
    first = np.zeros(len(calls) + 1, dtype=np.int64)
    np.cumsum([len(call.windows) for call in calls], out=first[1:])
    return Orders(
        np.array([call.place for call in calls], dtype=np.int64),
        np.array([call.service_s for call in calls], dtype=np.int64),
        np.array([load_g(call.chemicals_kg) for call in calls], dtype=np.int64),
        first,
        np.array([one.start_s for call in calls for one in call.windows], dtype=np.int64),
        np.array([one.end_s for call in calls for one in call.windows], dtype=np.int64),
    )


def frame_of(cell: Cell, *, shortest: bool = False) -> Frame:
    """The truck-day as the compiled walk reads it."""
    meal, supply = cell.meal_in_shift, cell.supply
    return Frame(
        start=cell.start,
        end=cell.end,
        start_s=cell.shift.start_s,
        regular_end_s=cell.regular_end_s,
        last_end_s=cell.last_end_s,
        meal_s=meal.minutes * 60 if meal else 0,
        meal_from_s=meal.earliest_s if meal else 0,
        meal_to_s=meal.latest_s if meal else 0,
        supply=supply.place if supply else 0,
        supply_s=supply.service_s if supply else 0,
        chemicals_most_g=limit_g(cell.chemicals_most_kg),
        used_g=load_g(cell.used_kg),
        overtime=float(cell.pay_factor),
        paid=ABOVE_ALL if shortest else 0.0,
    )


def _times(cell: Cell, orders: Orders, frame: Frame, drive_s: Seconds, chosen: Walked) -> Times:
    spans = begin_times(orders, frame, drive_s, chosen)
    total = len(orders.place) + (chosen.meal_after != NOT) + (chosen.supply_after != NOT)
    arrive, begin, leave, late = list[int](), list[int](), list[int](), list[int]()
    now_s = chosen.start_s
    break_after = break_start_s = supply_after = supply_start_s = None
    break_late_s = 0
    for i in range(total):
        arrive_s, begin_s = now_s + int(spans.leg_s[i]), int(spans.begin_s[i])
        now_s = begin_s + int(spans.lasts_s[i])
        if spans.of[i] == MEAL:
            break_after, break_start_s = len(begin), begin_s
            break_late_s = max(0, begin_s - frame.meal_to_s)
        elif spans.of[i] == SUPPLY:
            supply_after, supply_start_s = len(begin), begin_s
        else:
            arrive.append(arrive_s)
            begin.append(begin_s)
            leave.append(now_s)
            late.append(max(0, begin_s - int(spans.to_s[i])))
    return Times(
        start_s=int(chosen.start_s),
        arrive_s=tuple(arrive),
        begin_s=tuple(begin),
        leave_s=tuple(leave),
        end_s=int(chosen.end_s),
        wait_s=int(chosen.wait_s),
        late_s=tuple(late),
        overfull_s=max(0, int(chosen.end_s) - cell.last_end_s),
        overtime_s=max(0, int(chosen.end_s) - cell.regular_end_s) if total else 0,
        break_after=break_after,
        break_start_s=break_start_s,
        break_s=frame.meal_s if break_after is not None else 0,
        break_late_s=break_late_s,
        supply_after=supply_after,
        supply_start_s=supply_start_s,
    )


def leg(problem: Problem, here: int, there: int) -> tuple[int, int]:
    """Seconds and metres from one place to another (rows of the matrices)."""
    return int(problem.drive_s[here, there]), int(problem.drive_m[here, there])
