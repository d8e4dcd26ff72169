"""A second judge of plans, written from the words of the rules, slow and plain.

It shares no code with `check`, `written` and `timetable`: times are found by trying every departure
that could matter and every place for the meal (`independent_day`); what a plan writes down beside
its orders is looked at in `independent_fields`. What both find is compared with `check.violations`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date

from dispatch.planning.plan import Route, Rule, Stop, WeekPlan
from dispatch.planning.problem import NO_DRIVE_S, Cell, Demand, Problem
from dispatch.upkeep import UpkeepDue
from tests.planning.independent_day import Day, day_of
from tests.planning.independent_fields import false_head, false_lists, false_route

Finding = tuple[Rule, str, str | None, date | None, float]  # rule, subject, technician, day, amount


def findings(problem: Problem, plan: WeekPlan) -> Counter[Finding]:
    """Every rule that a plan breaks, with its amount; a false field as `subject: field`."""
    found = Counter(_counts(problem, plan))
    found.update(_strange_upkeep(problem, plan))
    found.update(_unreached(problem, plan))
    found.update(_days(problem, plan))
    found.update(_kept(problem, plan))
    found.update(false_lists(problem, plan))
    cells = {(cell.technician_id, cell.day): cell for cell in problem.cells}
    free, works, whole = dict(cells), list[tuple[str, int]](), True
    for route in plan.routes:
        where = (route.technician_id, route.day)
        cell, plain = free.pop(where, None), _plain(problem, route)
        whole = whole and where in cells and plain is not None
        if cell is None:  # no shift, or the truck is on another route already
            found[Rule.SHIFT, route.technician_id, *where, 0.0] += 1
        elif plain is not None:
            day = day_of(problem, cell, plain)
            works.append((route.technician_id, day.end_s - day.start_s - day.meal_s))
            found.update(_route(problem, cell, route, plain, day))
            found.update(false_route(problem, cell, route, plain, day))
    found.update(_hours(problem, works))
    if whole:
        found.update(false_head(problem, plan))
    return found


def _plain(problem: Problem, route: Route) -> list[tuple[Demand, int]] | None:
    """The sites of a route and how long the truck stays; None where a visit is not due."""
    known = {name: demand for demand in problem.demands for name in demand.visit_ids}
    plain = list[tuple[Demand, int]]()
    for stop in route.stops:
        if stop.visit_id not in known:
            return None
        demand = known[stop.visit_id]
        longer_s = dict(zip(demand.visit_ids, demand.extra_s, strict=False)).get(stop.visit_id, 0)
        riding_s = sum(60 * item.minutes for item in _riders(demand, stop))
        plain.append((demand, demand.service_s + longer_s + riding_s))
    return plain


def _riders(demand: Demand, stop: Stop) -> list[UpkeepDue]:
    """Upkeep of the visit's own demand that rides on it."""
    return [item for name in stop.upkeep_ids for item in demand.upkeep if item.id == name]


def _unreached(problem: Problem, plan: WeekPlan) -> Iterator[Finding]:
    """Nobody is sent where no truck can go."""
    names = [one.visit_id for one in problem.undrivable]
    for route in plan.routes:
        for stop in route.stops:
            if stop.visit_id in names:
                yield Rule.DRIVE, stop.visit_id, route.technician_id, route.day, 0.0


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
    """Upkeep is done on a visit that it may ride on: one of the demand it belongs to."""
    ways = {item.id: demand.visit_ids for demand in problem.demands for item in demand.upkeep}
    ways |= {item.id: () for item, _ in problem.stranded_upkeep}
    for route in plan.routes:
        for stop in route.stops:
            for name in stop.upkeep_ids:
                if name in ways and stop.visit_id not in ways[name]:
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


def _hours(problem: Problem, works: list[tuple[str, int]]) -> Iterator[Finding]:
    """Paid work of a technician's week: all days from start to end, meals left out."""
    for rule in problem.hours:
        own = [work_s for name, work_s in works if name == rule.technician_id]
        work_s = sum(own) + rule.spent_s
        if own and rule.most_s is not None and work_s > rule.most_s:
            over_s = float(work_s - rule.most_s)
            yield Rule.HOURS, rule.technician_id, rule.technician_id, None, over_s


def _route(
    problem: Problem, cell: Cell, route: Route, plain: list[tuple[Demand, int]], day: Day
) -> Iterator[Finding]:
    """Locks, skills, dates, loads and times of one route."""
    load_kg = 0.0
    for stop, (demand, _) in zip(route.stops, plain, strict=True):
        riders = _riders(demand, stop)
        load_kg += demand.load_kg + sum(item.mass_kg for item in riders)
        yield from _stop(cell, demand, stop, riders)
    if load_kg - cell.payload_kg > 1e-6:
        over_kg = load_kg - cell.payload_kg
        yield Rule.PAYLOAD, cell.technician_id, cell.technician_id, cell.day, over_kg
    yield from _times(cell, route, plain, day)


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
    cell: Cell, route: Route, plain: list[tuple[Demand, int]], day: Day
) -> Iterator[Finding]:
    """Windows, shift, meal and chemicals, and a way to drive."""
    who, where = cell.technician_id, (cell.technician_id, cell.day)
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
    if any(step.drive_s >= NO_DRIVE_S for step in day.steps) or day.home_s >= NO_DRIVE_S:
        yield (Rule.DRIVE, who, *where, 0.0)
