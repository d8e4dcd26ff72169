"""Violations of any plan, as data, recomputed from the problem alone.

The search is never its own judge: nothing here reads what the search believed. A plan without
violations has every visit that is due exactly once, in a route or listed as unplaced with a
reason, every route keeps shift, meal, windows, days, locks, skills and payload, and every field
says what follows from the problem and the orders.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from dispatch.planning.false_fields import (
    FalseField,
    false_in_head,
    false_in_lists,
    false_in_route,
)
from dispatch.planning.placed import Placed
from dispatch.planning.plan import Route, Rule, WeekPlan
from dispatch.planning.problem import NO_DRIVE_S, TRIFLE_KG, Cell, Problem
from dispatch.planning.timetable import Call, Times, chemicals_over_kg, times_of
from dispatch.planning.written import call_of, load_kg_of, riders_of, routes_of
from dispatch.upkeep import UpkeepDue
from dispatch.words import _


@dataclass(frozen=True, slots=True)
class Violation:
    """A rule that a plan breaks: which, where, for which visit or upkeep, and by how much.

    `amount` is in seconds for times and kg for payload; 0 where the rule has no measure. For a
    false field `detail` begins with its name, and `amount` is how far a number is off.
    """

    rule: Rule
    subject: str  # id of the visit, of the upkeep, or of the technician; the week
    technician_id: str | None = None
    day: date | None = None
    amount: float = 0.0
    detail: str = ""


def violations(problem: Problem, plan: WeekPlan, *, is_part: bool = False) -> tuple[Violation, ...]:
    """Everything that is wrong with a plan, in no particular order; empty for a good one.

    A plan for a part of a week (`is_part`), as for the rest of a day, has no cost, changes and
    digest of its own, and its upkeep is settled with the visits: those are not looked at.
    """
    found = list(_visit_counts(problem, plan))
    found += () if is_part else _upkeep_counts(problem, plan)
    found += _patterns(problem, plan)
    found += _kept(problem, plan)
    found += map(_false, false_in_lists(problem, plan))
    known = {
        visit_id: Placed(n, k, ())
        for n, demand in enumerate(problem.demands)
        for k, visit_id in enumerate(demand.visit_ids)
    }
    seen: set[tuple[str, date]] = set()
    whole, is_whole = list[tuple[Route, Cell, tuple[Placed, ...]]](), True
    for route in plan.routes:
        key = (route.technician_id, route.day)
        cell, order = problem.cell_of.get(key), _order(problem, known, route)
        is_whole &= cell is not None and order is not None
        if cell is None or key in seen:
            why = _("has no shift that day") if cell is None else _("has two routes that day")
            found.append(_of(Rule.SHIFT, route, route.technician_id, detail=why))
        elif order is not None:
            whole.append((route, cell, order))
            found += _route_rules(problem, cell, route, order)
        seen.add(key)
    true = routes_of(problem, [(cell, order) for _route, cell, order in whole])
    for (route, *_rest), own in zip(whole, true, strict=True):
        found += map(_false, false_in_route(route, own))
    found += _week_hours(problem, true)
    if is_whole and not is_part:
        found += map(_false, false_in_head(problem, plan))
    return tuple(found)


def _of(rule: Rule, route: Route, subject: str, amount: float = 0.0, detail: str = "") -> Violation:
    return Violation(rule, subject, route.technician_id, route.day, amount, detail)


def _false(one: FalseField) -> Violation:
    says = _("{name} is {written} and must be {true}").format(
        name=one.name, written=one.written, true=one.true
    )
    return Violation(Rule.FALSE, one.subject, one.technician_id, one.day, one.amount, says)


def _order(
    problem: Problem, known: Mapping[str, Placed], route: Route
) -> tuple[Placed, ...] | None:
    """The visits of a route in their order; None where one is not due or cannot be driven to.

    Upkeep of other sites rides nowhere; the count tells of it.
    """
    order = []
    for stop in route.stops:
        if (at := known.get(stop.visit_id)) is None:
            return None
        own = [item.id for item in problem.demands[at.demand].upkeep]
        riders = tuple(own.index(one) for one in stop.upkeep_ids if one in own)
        order.append(Placed(at.demand, at.visit, riders))
    return tuple(order)


def _visit_counts(problem: Problem, plan: WeekPlan) -> Iterator[Violation]:
    """Every visit that is due stands in exactly one place; nothing else stands anywhere."""
    unreached = {one.visit_id for one in problem.undrivable}
    yield from _counts(
        set(problem.demand_of) | unreached,
        [stop.visit_id for route in plan.routes for stop in route.stops],
        [one.visit_id for one in plan.unplaced],
    )
    for route in plan.routes:
        for stop in route.stops:
            if stop.visit_id in unreached:
                yield _of(Rule.DRIVE, route, stop.visit_id)


def _upkeep_counts(problem: Problem, plan: WeekPlan) -> Iterator[Violation]:
    """All upkeep of the problem rides on one visit of its own demand or is put off, once."""
    owner = {item.id: demand.visit_ids for demand in problem.demands for item in demand.upkeep}
    owner |= {item.id: () for item, _ in problem.stranded_upkeep}
    yield from _counts(
        set(owner),
        [one for route in plan.routes for stop in route.stops for one in stop.upkeep_ids],
        [one.upkeep_id for one in plan.put_off],
    )
    for route in plan.routes:
        for stop in route.stops:
            for upkeep_id in stop.upkeep_ids:
                if stop.visit_id not in owner.get(upkeep_id, (stop.visit_id,)):
                    yield _of(
                        Rule.COUNT,
                        route,
                        upkeep_id,
                        detail=_("rides on {visit}").format(visit=stop.visit_id),
                    )


def _counts(owed: set[str], placed: Iterable[str], listed: Iterable[str]) -> Iterator[Violation]:
    times = Counter(placed)
    times.update(listed)
    for subject in sorted(owed | set(times)):
        count = times[subject]
        if subject not in owed:
            yield Violation(Rule.COUNT, subject, amount=count, detail=_("is not due this week"))
        elif count != 1:
            yield Violation(
                Rule.COUNT,
                subject,
                amount=count,
                detail=_("is listed {count} times").format(count=count),
            )


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
            yield Violation(
                Rule.DAY,
                demand.visit_ids[0],
                detail=_("of site {site}").format(site=demand.site_id),
            )


def _kept(problem: Problem, plan: WeekPlan) -> Iterator[Violation]:
    """Visits that must stay with a technician and day stand nowhere else.

    One that is left out is listed with its reasons like any other: a shift may have been cut.
    """
    where = {
        stop.visit_id: (route.technician_id, route.day)
        for route in plan.routes
        for stop in route.stops
    }
    for demand in problem.demands:
        for visit_id, kept in zip(demand.visit_ids, demand.kept, strict=False):
            if kept is not None and visit_id in where and where[visit_id] != kept:
                yield Violation(Rule.KEPT, visit_id, *where[visit_id])


def _week_hours(problem: Problem, routes: Sequence[Route]) -> Iterator[Violation]:
    """Nobody works more in the week than it may hold."""
    for rule in problem.hours:
        own_s = [one.work_s for one in routes if one.technician_id == rule.technician_id]
        if rule.most_s is not None and own_s:
            over_s = rule.spent_s + sum(own_s) - rule.most_s
            if over_s > 0:
                yield Violation(Rule.HOURS, rule.technician_id, rule.technician_id, amount=over_s)


def _route_rules(
    problem: Problem, cell: Cell, route: Route, order: Sequence[Placed]
) -> Iterator[Violation]:
    """Skills, locks, crew, loads and times of one route."""
    for stop, placed in zip(route.stops, order, strict=True):
        demand, riders = problem.demands[placed.demand], riders_of(problem, placed)
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
    over_kg = sum(load_kg_of(problem, placed) for placed in order) - cell.payload_kg
    if over_kg > TRIFLE_KG:
        yield _of(Rule.PAYLOAD, route, cell.technician_id, over_kg)
    yield from _time_rules(problem, cell, route, [call_of(problem, placed) for placed in order])


def _too_early(route: Route, riders: list[UpkeepDue]) -> Iterator[Violation]:
    for item in riders:
        if route.day < item.earliest_on:
            yield _of(
                Rule.DAY,
                route,
                item.id,
                detail=_("not before {earliest}").format(earliest=item.earliest_on),
            )


def _time_rules(
    problem: Problem, cell: Cell, route: Route, calls: list[Call]
) -> Iterator[Violation]:
    """Windows, shift, meal and chemicals, and that there is a way to drive."""
    times = times_of(cell, calls, problem.drive_s)
    for stop, late_s in zip(route.stops, times.late_s, strict=True):
        if late_s > 0:
            yield _of(Rule.WINDOW, route, stop.visit_id, late_s)
    if times.overfull_s > 0:
        yield _of(Rule.OVERFULL, route, cell.technician_id, times.overfull_s)
    if times.break_late_s > 0:
        yield _of(Rule.BREAK, route, cell.technician_id, times.break_late_s)
    over_kg = chemicals_over_kg(cell, calls, times)
    if over_kg > TRIFLE_KG:
        yield _of(Rule.CHEMICALS, route, cell.technician_id, over_kg)
    if any(leg_s >= NO_DRIVE_S for leg_s in _legs_s(problem, cell, calls, times)):
        yield _of(Rule.DRIVE, route, cell.technician_id)


def _legs_s(problem: Problem, cell: Cell, calls: list[Call], times: Times) -> list[int]:
    """Every drive of a day that visits somebody, in seconds."""
    places = [call.place for call in calls]
    if cell.supply is not None and times.supply_after is not None:
        places.insert(times.supply_after, cell.supply.place)
    way = pairwise([cell.start, *places, cell.end]) if places else ()
    return [int(problem.drive_s[here, there]) for here, there in way]
