"""Violations of any plan, as data, recomputed from the problem alone.

The search is never its own judge: nothing here reads what the search believed. A plan without
violations has every visit that is due exactly once, in a route or listed as unplaced with a
reason, and every route keeps shift, meal, windows, days, locks, skills and payload.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from dispatch.planning.plan import Route, Rule, WeekPlan
from dispatch.planning.problem import NO_DRIVE_S, Cell, Problem
from dispatch.planning.timetable import Call, chemicals_over_kg, times_of
from dispatch.upkeep import UpkeepDue


@dataclass(frozen=True, slots=True)
class Violation:
    """A rule that a plan breaks: which, where, for which visit or upkeep, and by how much.

    `amount` is in seconds for times and kg for payload; 0 where the rule has no measure.
    """

    rule: Rule
    subject: str  # id of the visit, of the upkeep, or of the technician
    technician_id: str | None = None
    day: date | None = None
    amount: float = 0.0
    detail: str = ""


def violations(problem: Problem, plan: WeekPlan) -> tuple[Violation, ...]:
    """Everything that is wrong with a plan, in no particular order; empty for a good one."""
    found = list(_visit_counts(problem, plan))
    found += _upkeep_counts(problem, plan)
    found += _patterns(problem, plan)
    found += _kept(problem, plan)
    found += _week_hours(problem, plan)
    seen: set[tuple[str, date]] = set()
    for route in plan.routes:
        key = (route.technician_id, route.day)
        cell = problem.cell_of.get(key)
        if cell is None or key in seen:
            why = "has no shift that day" if cell is None else "has two routes that day"
            found.append(_of(Rule.SHIFT, route, route.technician_id, detail=why))
        else:
            found += _route_rules(problem, cell, route)
        seen.add(key)
    return tuple(found)


def _of(rule: Rule, route: Route, subject: str, amount: float = 0.0, detail: str = "") -> Violation:
    return Violation(rule, subject, route.technician_id, route.day, amount, detail)


def _visit_counts(problem: Problem, plan: WeekPlan) -> Iterator[Violation]:
    """Every visit that is due stands in exactly one place; nothing else stands anywhere."""
    owed = set(problem.demand_of) | {one.visit_id for one in problem.undrivable}
    yield from _counts(
        owed,
        [stop.visit_id for route in plan.routes for stop in route.stops],
        [one.visit_id for one in plan.unplaced],
    )


def _upkeep_counts(problem: Problem, plan: WeekPlan) -> Iterator[Violation]:
    """All upkeep of the problem rides on one visit of its own site or is put off, once."""
    owner = {item.id: demand.site_id for demand in problem.demands for item in demand.upkeep}
    owner |= {item.id: item.site_id for item, _ in problem.stranded_upkeep}
    yield from _counts(
        set(owner),
        [one for route in plan.routes for stop in route.stops for one in stop.upkeep_ids],
        [one.upkeep_id for one in plan.put_off],
    )
    for route in plan.routes:
        for stop in route.stops:
            for upkeep_id in stop.upkeep_ids:
                if owner.get(upkeep_id, stop.site_id) != stop.site_id:
                    yield _of(Rule.COUNT, route, upkeep_id, detail=f"at site {stop.site_id}")


def _counts(owed: set[str], placed: Iterable[str], listed: Iterable[str]) -> Iterator[Violation]:
    times = Counter(placed)
    times.update(listed)
    for subject in sorted(owed | set(times)):
        count = times[subject]
        if subject not in owed:
            yield Violation(Rule.COUNT, subject, amount=count, detail="is not due this week")
        elif count != 1:
            yield Violation(Rule.COUNT, subject, amount=count, detail=f"is listed {count} times")


def _patterns(problem: Problem, plan: WeekPlan) -> Iterator[Violation]:
    """The days of a site's placed visits belong to one of the patterns agreed."""
    day_of = {stop.visit_id: route.day for route in plan.routes for stop in route.stops}
    for demand in problem.demands:
        days = [day_of.get(visit_id) for visit_id in demand.visit_ids]
        fits = any(
            all(day is None or day == agreed for day, agreed in zip(days, pattern, strict=True))
            for pattern in demand.patterns
        )
        if not fits:
            yield Violation(Rule.DAY, demand.visit_ids[0], detail=f"of site {demand.site_id}")


def _kept(problem: Problem, plan: WeekPlan) -> Iterator[Violation]:
    """Visits that must stay with a technician and day stand there."""
    where = {
        stop.visit_id: (route.technician_id, route.day)
        for route in plan.routes
        for stop in route.stops
    }
    for demand in problem.demands:
        for visit_id, kept in zip(demand.visit_ids, demand.kept, strict=False):
            if kept is not None and visit_id in where and where[visit_id] != kept:
                yield Violation(Rule.KEPT, visit_id, *where[visit_id])


def _week_hours(problem: Problem, plan: WeekPlan) -> Iterator[Violation]:
    """Nobody works more in the week than it may hold."""
    for rule in problem.hours:
        own = [route for route in plan.routes if route.technician_id == rule.technician_id]
        over_s = rule.spent_s + sum(route.work_s for route in own) - (rule.most_s or 0)
        if rule.most_s is not None and own and over_s > 0:
            yield Violation(Rule.HOURS, rule.technician_id, rule.technician_id, amount=over_s)


def _route_rules(problem: Problem, cell: Cell, route: Route) -> Iterator[Violation]:
    """Skills, locks, crew, loads and times of one route."""
    upkeep = {item.id: item for demand in problem.demands for item in demand.upkeep}
    calls, load_kg = list[Call](), 0.0
    for stop in route.stops:
        demand = problem.demand_of.get(stop.visit_id)
        if demand is None:
            return  # reported as a visit that is not due
        riders = [upkeep[one] for one in stop.upkeep_ids if one in upkeep]
        seconds = demand.seconds_of(demand.visit_ids.index(stop.visit_id))
        seconds += 60 * sum(item.minutes for item in riders)
        calls.append(Call(demand.place, seconds, demand.windows, demand.chemicals_kg))
        load_kg += demand.load_kg + sum(item.mass_kg for item in riders)
        if demand.technician_locked and demand.usual_technician_id != cell.technician_id:
            yield _of(Rule.TECHNICIAN_LOCK, route, stop.visit_id)
        if cell.technician_id in demand.unwanted_technician_ids:
            yield _of(Rule.UNWANTED, route, stop.visit_id)
        if demand.crew > cell.crew:
            yield _of(Rule.CREW, route, stop.visit_id, demand.crew - cell.crew)
        needed = demand.skills | {item.skill for item in riders if item.skill}
        for skill in sorted(needed - cell.skills):
            yield _of(Rule.SKILL, route, stop.visit_id, detail=skill)
        yield from _too_early(route, riders)
    if load_kg > cell.payload_kg + 1e-6:
        yield _of(Rule.PAYLOAD, route, cell.technician_id, load_kg - cell.payload_kg)
    yield from _time_rules(problem, cell, route, calls)


def _too_early(route: Route, riders: list[UpkeepDue]) -> Iterator[Violation]:
    for item in riders:
        if route.day < item.earliest_on:
            yield _of(Rule.DAY, route, item.id, detail=f"not before {item.earliest_on}")


def _time_rules(
    problem: Problem, cell: Cell, route: Route, calls: list[Call]
) -> Iterator[Violation]:
    """Windows, shift and meal, and that the times written down are the true ones."""
    times = times_of(cell, calls, problem.drive_s)
    for stop, late_s in zip(route.stops, times.late_s, strict=True):
        if late_s > 0:
            yield _of(Rule.WINDOW, route, stop.visit_id, late_s)
    if times.overfull_s > 0:
        yield _of(Rule.OVERFULL, route, cell.technician_id, times.overfull_s)
    if times.break_late_s > 0:
        yield _of(Rule.BREAK, route, cell.technician_id, times.break_late_s)
    over_kg = chemicals_over_kg(cell, calls, times)
    if over_kg > 1e-6:
        yield _of(Rule.CHEMICALS, route, cell.technician_id, over_kg)
    written = tuple((stop.arrive_s, stop.start_s, stop.leave_s) for stop in route.stops)
    true = tuple(zip(times.arrive_s, times.begin_s, times.leave_s, strict=True))
    supply = (route.supply_after, route.supply_start_s, route.overtime_s)
    true_supply = (times.supply_after, times.supply_start_s, times.overtime_s)
    if (written, route.start_s, route.end_s, supply) != (
        *(true, times.start_s, times.end_s),
        true_supply,
    ):
        yield _of(Rule.COUNT, route, cell.technician_id, detail="has times that are not its own")
    drives = [problem.drive_s[cell.start, call.place] for call in calls]
    if any(drive >= NO_DRIVE_S for drive in drives):
        yield _of(Rule.DRIVE, route, cell.technician_id)
