"""A day as it runs when its stops and their order are given, found by trying everything.

Written from the words of the rules; nothing of `timetable` and `walk` is used.
"""

from __future__ import annotations

from dataclasses import dataclass

from dispatch.planning.problem import Cell, Demand, Problem


@dataclass(frozen=True, slots=True)
class Step:
    """A drive and what is done at its end: a service, the meal or the supply stop."""

    kind: str
    drive_s: int
    drive_m: int
    windows: tuple[tuple[int, int], ...]
    lasts_s: int


@dataclass(frozen=True, slots=True)
class Day:
    """A day as it runs: arrival, beginning and end of every service, and what is wrong with it.

    `supply` is the number of stops before the supply stop and when it begins, or twice None;
    `meal` the same of the meal, which lasts `meal_s`. `home_s` and `home_m` are the last drive.
    """

    start_s: int
    end_s: int
    stops: tuple[tuple[int, int, int], ...]
    late_s: tuple[int, ...]
    wait_s: int
    overfull_s: int
    overtime_s: int
    meal_late_s: int
    supply: tuple[int | None, int | None]
    meal: tuple[int | None, int | None]
    meal_s: int
    steps: tuple[Step, ...]
    home_s: int
    home_m: int

    @property
    def broken_s(self) -> int:
        return sum(self.late_s) + self.overfull_s + self.meal_late_s


def day_of(problem: Problem, cell: Cell, plain: list[tuple[Demand, int]]) -> Day:
    """The day of an order, with the meal and the supply stop where they hurt least.

    A supply stop is made where the chemicals of the day are more than may be aboard, at a boundary
    that leaves least above the limit. The meal is owed when the latest time at which it may begin
    lies in the shift and the day, without it, lasts beyond that time.
    """
    days = [_with_meal(problem, cell, plain, n) for n in _supply_places(cell, plain)]
    return min(days, key=lambda day: _pain(cell, day))


def _pain(cell: Cell, day: Day) -> tuple[int, float, int]:
    """Least broken first, then least driving, waiting and overtime, then the earliest end."""
    driven_s = sum(step.drive_s for step in day.steps) + day.home_s
    return day.broken_s, driven_s + day.wait_s + cell.pay_factor * day.overtime_s, day.end_s


def _supply_places(cell: Cell, plain: list[tuple[Demand, int]]) -> list[int | None]:
    kg = [demand.chemicals_kg for demand, _ in plain]
    most_kg = cell.chemicals_most_kg
    if cell.supply is None or sum(kg) <= most_kg:
        return [None]
    over = [
        round(max(sum(kg[:n]) - most_kg, 0) + max(sum(kg[n:]) - most_kg, 0), 6)
        for n in range(len(kg) + 1)
    ]
    return [n for n, one in enumerate(over) if one == min(over)]


def _with_meal(
    problem: Problem, cell: Cell, plain: list[tuple[Demand, int]], supply: int | None
) -> Day:
    steps, here = list[Step](), cell.start
    for n in range(len(plain) + 1):
        if n == supply and cell.supply is not None:
            way = _way(problem, here, cell.supply.place)
            steps.append(Step("supply", *way, ((0, 10**9),), cell.supply.service_s))
            here = cell.supply.place
        if n < len(plain):
            demand, lasts_s = plain[n]
            windows = tuple((one.start_s, one.end_s) for one in demand.windows)
            steps.append(Step("visit", *_way(problem, here, demand.place), windows, lasts_s))
            here = demand.place
    home = _way(problem, here, cell.end) if steps else (0, 0)
    without = _best_departure(cell, steps, home)
    meal = cell.meal
    if meal is None or not steps or not cell.shift.start_s <= meal.latest_s < cell.shift.end_s:
        return without
    if without.end_s <= meal.latest_s:
        return without
    eat = Step("meal", 0, 0, ((meal.earliest_s, meal.latest_s),), 60 * meal.minutes)
    days = [
        _best_departure(cell, [*steps[:n], eat, *steps[n:]], home) for n in range(len(steps) + 1)
    ]
    return min(days, key=lambda day: _pain(cell, day))


def _way(problem: Problem, here: int, there: int) -> tuple[int, int]:
    return int(problem.drive_s[here][there]), int(problem.drive_m[here][there])


def _best_departure(cell: Cell, steps: list[Step], home: tuple[int, int]) -> Day:
    """As early as it can leave without waiting longer in all; with the shift when that is late.

    The course of a day changes only where a departure arrives just as something opens, closes or
    has closed.
    """
    last_s = cell.shift.end_s - cell.slack_s + cell.overtime_s
    moments, elapsed_s = {cell.shift.start_s, last_s}, 0
    for step in steps:
        elapsed_s += step.drive_s
        for opens_s, closes_s in step.windows:
            moments |= {one - elapsed_s for one in (opens_s, closes_s, closes_s + 1)}
        elapsed_s += step.lasts_s
    tried = [
        _run(cell, steps, home, moment)
        for moment in sorted(moments)
        if cell.shift.start_s <= moment <= last_s
    ]
    in_time = [day for day in tried if sum(day.late_s) + day.meal_late_s == 0]
    if sum(tried[0].late_s) + tried[0].meal_late_s:
        return tried[0]
    return min(in_time, key=lambda day: _pain(cell, day))


def _run(cell: Cell, steps: list[Step], home: tuple[int, int], start_s: int) -> Day:
    """Drive, wait, serve, step by step, in the first window that is still open."""
    now_s, wait_s, meal_late_s, meal_s = start_s, 0, 0, 0
    stops, late = list[tuple[int, int, int]](), list[int]()
    supply: tuple[int | None, int | None] = (None, None)
    meal: tuple[int | None, int | None] = (None, None)
    for step in steps:
        arrive_s = now_s + step.drive_s
        open_yet = [window for window in step.windows if arrive_s <= window[1]]
        opens_s, closes_s = open_yet[0] if open_yet else step.windows[-1]
        begin_s = max(arrive_s, opens_s)
        now_s = begin_s + step.lasts_s
        wait_s += begin_s - arrive_s
        if step.kind == "meal":
            meal, meal_s = (len(stops), begin_s), step.lasts_s
            meal_late_s = max(0, begin_s - closes_s)
        elif step.kind == "supply":
            supply = (len(stops), begin_s)
        else:
            stops.append((arrive_s, begin_s, now_s))
            late.append(max(0, begin_s - closes_s))
    end_s = now_s + home[0]
    regular_s = cell.shift.end_s - cell.slack_s
    return Day(
        start_s=start_s,
        end_s=end_s,
        stops=tuple(stops),
        late_s=tuple(late),
        wait_s=wait_s,
        overfull_s=max(0, end_s - regular_s - cell.overtime_s),
        overtime_s=max(0, end_s - regular_s) if steps else 0,
        meal_late_s=meal_late_s,
        supply=supply,
        meal=meal,
        meal_s=meal_s,
        steps=tuple(steps),
        home_s=home[0],
        home_m=home[1],
    )
