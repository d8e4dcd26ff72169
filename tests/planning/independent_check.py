"""A second judge of plans, written from the words of the rules, slow and plain.

It shares no code with `check` and `timetable`: times are found by trying every departure that could
matter and every place for the meal. What it finds is compared with `check.violations`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from dispatch.planning.plan import Route, Rule, Stop, WeekPlan
from dispatch.planning.problem import NO_DRIVE_S, Cell, Demand, Problem
from dispatch.upkeep import UpkeepDue

Finding = tuple[Rule, str, str | None, date | None, float]  # rule, subject, technician, day, amount


@dataclass(frozen=True, slots=True)
class Step:
    """A drive and what is done at its end: a service, the meal or the supply stop."""

    kind: str
    drive_s: int
    windows: tuple[tuple[int, int], ...]
    lasts_s: int


@dataclass(frozen=True, slots=True)
class Day:
    """A day as it runs: arrival, beginning and end of every service, and what is wrong with it.

    `supply` is the number of stops before the supply stop and when it begins, or twice None.
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

    @property
    def broken_s(self) -> int:
        return sum(self.late_s) + self.overfull_s + self.meal_late_s


def findings(problem: Problem, plan: WeekPlan) -> Counter[Finding]:
    """Every rule that a plan breaks, with its amount."""
    found = Counter(_counts(problem, plan))
    found.update(_strange_upkeep(problem, plan))
    found.update(_days(problem, plan))
    found.update(_kept(problem, plan))
    found.update(_hours(problem, plan))
    cells = {(cell.technician_id, cell.day): cell for cell in problem.cells}
    for route in plan.routes:
        cell = cells.pop((route.technician_id, route.day), None)
        if cell is None:  # no shift, or the truck is on another route already
            found[Rule.SHIFT, route.technician_id, route.technician_id, route.day, 0.0] += 1
        else:
            found.update(_route(problem, cell, route))
    return found


def _counts(problem: Problem, plan: WeekPlan) -> Iterator[Finding]:
    """Each visit and upkeep is in the plan once: on a route, or listed as left out."""
    stops = [stop for route in plan.routes for stop in route.stops]
    visits = [stop.visit_id for stop in stops] + [one.visit_id for one in plan.unplaced]
    owed = [name for demand in problem.demands for name in demand.visit_ids]
    owed += [one.visit_id for one in problem.undrivable]
    upkeep = [name for stop in stops for name in stop.upkeep_ids]
    upkeep += [one.upkeep_id for one in plan.put_off]
    due = [item.id for demand in problem.demands for item in demand.upkeep]
    due += [item.id for item, _ in problem.stranded_upkeep]
    for listed, wanted in ((visits, owed), (upkeep, due)):
        for name in {*listed, *wanted}:
            if listed.count(name) != 1 or name not in wanted:
                yield Rule.COUNT, name, None, None, float(listed.count(name))


def _strange_upkeep(problem: Problem, plan: WeekPlan) -> Iterator[Finding]:
    """Upkeep is done at the site whose equipment needs it."""
    home = {item.id: demand.site_id for demand in problem.demands for item in demand.upkeep}
    home |= {item.id: item.site_id for item, _ in problem.stranded_upkeep}
    for route in plan.routes:
        for stop in route.stops:
            for name in stop.upkeep_ids:
                if name in home and home[name] != stop.site_id:
                    yield Rule.COUNT, name, route.technician_id, route.day, 0.0


def _days(problem: Problem, plan: WeekPlan) -> Iterator[Finding]:
    """The placed visits of a site stand on the days of one agreed pattern."""
    for demand in problem.demands:
        day_of = {
            stop.visit_id: route.day
            for route in plan.routes
            for stop in route.stops
            if stop.visit_id in demand.visit_ids
        }
        patterns = [dict(zip(demand.visit_ids, days, strict=True)) for days in demand.patterns]
        if not any(day_of.items() <= pattern.items() for pattern in patterns):
            yield Rule.DAY, demand.visit_ids[0], None, None, 0.0


def _kept(problem: Problem, plan: WeekPlan) -> Iterator[Finding]:
    """A visit that must stay with a technician and day is there or nowhere."""
    where = {
        stop.visit_id: (route.technician_id, route.day)
        for route in plan.routes
        for stop in route.stops
    }
    for demand in problem.demands:
        for name, place in zip(demand.visit_ids, demand.kept, strict=False):
            if place is not None and where.get(name, place) != place:
                yield (Rule.KEPT, name, *where[name], 0.0)


def _hours(problem: Problem, plan: WeekPlan) -> Iterator[Finding]:
    """Paid work of a technician's week: all days from start to end, meals left out."""
    for rule in problem.hours:
        own = [route for route in plan.routes if route.technician_id == rule.technician_id]
        work_s = sum(route.end_s - route.start_s - route.break_s for route in own) + rule.spent_s
        if own and rule.most_s is not None and work_s > rule.most_s:
            over_s = float(work_s - rule.most_s)
            yield Rule.HOURS, rule.technician_id, rule.technician_id, None, over_s


def _route(problem: Problem, cell: Cell, route: Route) -> Iterator[Finding]:
    """Locks, skills, dates, loads and times of one route; unknown visits end the look at it."""
    known = {name: demand for demand in problem.demands for name in demand.visit_ids}
    items = {item.id: item for demand in problem.demands for item in demand.upkeep}
    load_kg, plain = 0.0, list[tuple[Demand, int]]()
    for stop in route.stops:
        if stop.visit_id not in known:
            return
        demand = known[stop.visit_id]
        riders = [items[name] for name in stop.upkeep_ids if name in items]
        load_kg += demand.load_kg + sum(item.mass_kg for item in riders)
        longer_s = dict(zip(demand.visit_ids, demand.extra_s, strict=False)).get(stop.visit_id, 0)
        lasts_s = demand.service_s + longer_s + sum(60 * item.minutes for item in riders)
        plain.append((demand, lasts_s))
        yield from _stop(cell, demand, stop, riders)
    if load_kg - cell.payload_kg > 1e-6:
        over_kg = load_kg - cell.payload_kg
        yield Rule.PAYLOAD, cell.technician_id, cell.technician_id, cell.day, over_kg
    yield from _times(problem, cell, route, plain)


def _stop(cell: Cell, demand: Demand, stop: Stop, riders: list[UpkeepDue]) -> Iterator[Finding]:
    where = (cell.technician_id, cell.day)
    if demand.technician_locked and cell.technician_id != demand.usual_technician_id:
        yield (Rule.TECHNICIAN_LOCK, stop.visit_id, *where, 0.0)
    if cell.technician_id in demand.unwanted_technician_ids:
        yield (Rule.UNWANTED, stop.visit_id, *where, 0.0)
    if cell.crew < demand.crew:
        yield (Rule.CREW, stop.visit_id, *where, float(demand.crew - cell.crew))
    for skill in demand.skills.union(item.skill for item in riders if item.skill):
        if skill not in cell.skills:
            yield (Rule.SKILL, stop.visit_id, *where, 0.0)
    for item in riders:
        if cell.day < item.earliest_on:
            yield (Rule.DAY, item.id, *where, 0.0)


def _times(
    problem: Problem, cell: Cell, route: Route, plain: list[tuple[Demand, int]]
) -> Iterator[Finding]:
    """Windows, shift, meal and chemicals, and whether the times written down are true."""
    who, where = cell.technician_id, (cell.technician_id, cell.day)
    day = day_of(problem, cell, plain)
    for stop, late_s in zip(route.stops, day.late_s, strict=True):
        if late_s:
            yield (Rule.WINDOW, stop.visit_id, *where, float(late_s))
    if day.overfull_s:
        yield (Rule.OVERFULL, who, *where, float(day.overfull_s))
    if day.meal_late_s:
        yield (Rule.BREAK, who, *where, float(day.meal_late_s))
    kg = [demand.chemicals_kg for demand, _ in plain]
    split = len(kg) if day.supply[0] is None else day.supply[0]
    over_kg = max(sum(kg[:split]), sum(kg[split:])) - cell.chemicals_most_kg
    if over_kg > 1e-6:
        yield (Rule.CHEMICALS, who, *where, over_kg)
    written = tuple((stop.arrive_s, stop.start_s, stop.leave_s) for stop in route.stops)
    ends = (route.start_s, route.end_s, route.overtime_s)
    supply = (route.supply_after, route.supply_start_s)
    true = (day.stops, (day.start_s, day.end_s, day.overtime_s), day.supply)
    if (written, ends, supply) != true:
        yield (Rule.COUNT, who, *where, 0.0)
    if any(problem.drive_s[cell.start][demand.place] >= NO_DRIVE_S for demand, _ in plain):
        yield (Rule.DRIVE, who, *where, 0.0)


def day_of(problem: Problem, cell: Cell, plain: list[tuple[Demand, int]]) -> Day:
    """The day of an order, with the meal and the supply stop where they hurt least.

    A supply stop is made where the chemicals of the day are more than may be aboard, at a boundary
    that leaves least above the limit. The meal is owed when the latest time at which it may begin
    lies in the shift and the day, without it, lasts beyond that time.
    """
    days = [_with_meal(problem, cell, plain, n) for n in _supply_places(cell, plain)]
    return min(days, key=lambda day: _pain(cell, day))


def _pain(cell: Cell, day: Day) -> tuple[int, float, int]:
    """Least broken first, then least waiting and overtime, then the earliest end."""
    return day.broken_s, day.wait_s + cell.pay_factor * day.overtime_s, day.end_s


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
            drive_s = int(problem.drive_s[here][cell.supply.place])
            steps.append(Step("supply", drive_s, ((0, 10**9),), cell.supply.service_s))
            here = cell.supply.place
        if n < len(plain):
            demand, lasts_s = plain[n]
            drive_s = int(problem.drive_s[here][demand.place])
            windows = tuple((one.start_s, one.end_s) for one in demand.windows)
            steps.append(Step("visit", drive_s, windows, lasts_s))
            here = demand.place
    home_s = int(problem.drive_s[here][cell.end]) if steps else 0
    without = _best_departure(cell, steps, home_s)
    meal = cell.meal
    if meal is None or not steps or not cell.shift.start_s <= meal.latest_s < cell.shift.end_s:
        return without
    if without.end_s <= meal.latest_s:
        return without
    eat = Step("meal", 0, ((meal.earliest_s, meal.latest_s),), 60 * meal.minutes)
    days = [
        _best_departure(cell, [*steps[:n], eat, *steps[n:]], home_s) for n in range(len(steps) + 1)
    ]
    return min(days, key=lambda day: _pain(cell, day))


def _best_departure(cell: Cell, steps: list[Step], home_s: int) -> Day:
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
        _run(cell, steps, home_s, moment)
        for moment in sorted(moments)
        if cell.shift.start_s <= moment <= last_s
    ]
    in_time = [day for day in tried if sum(day.late_s) + day.meal_late_s == 0]
    if sum(tried[0].late_s) + tried[0].meal_late_s:
        return tried[0]
    return min(in_time, key=lambda day: _pain(cell, day))


def _run(cell: Cell, steps: list[Step], home_s: int, start_s: int) -> Day:
    """Drive, wait, serve, step by step, in the first window that is still open."""
    now_s, wait_s, meal_late_s = start_s, 0, 0
    stops, late = list[tuple[int, int, int]](), list[int]()
    supply: tuple[int | None, int | None] = (None, None)
    for step in steps:
        arrive_s = now_s + step.drive_s
        open_yet = [window for window in step.windows if arrive_s <= window[1]]
        opens_s, closes_s = open_yet[0] if open_yet else step.windows[-1]
        begin_s = max(arrive_s, opens_s)
        now_s = begin_s + step.lasts_s
        wait_s += begin_s - arrive_s
        if step.kind == "meal":
            meal_late_s = max(0, begin_s - closes_s)
        elif step.kind == "supply":
            supply = (len(stops), begin_s)
        else:
            stops.append((arrive_s, begin_s, now_s))
            late.append(max(0, begin_s - closes_s))
    end_s = now_s + home_s
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
    )
