"""Fields of a plan that say something else than what follows from the problem and its orders.

Who comes on which day, in which order and with which upkeep is the plan's own choice. Sites, legs,
times, minutes, loads, meal, supply stop, totals, changes, cost and digest follow from it.

What nothing here can tell: the seed and the rounds of a search, whether the sentence of a reason is
well put (that there is one is looked at), and by how much an unplaced visit would break times and
loads in a cell: that would take as long as finding the reasons did.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from datetime import date

from dispatch.planning.changes import changes
from dispatch.planning.plan import Broken, Change, PutOff, Route, Rule, Stop, Unplaced, WeekPlan
from dispatch.planning.problem import Cell, Demand, Problem
from dispatch.planning.score import cost_s

CHOSEN = frozenset({"technician_id", "day", "stops", "visit_id", "upkeep_ids"})  # other rules'
REASONS = frozenset({"reason", "cells"})
PEOPLE = frozenset({Rule.TECHNICIAN_LOCK, Rule.UNWANTED, Rule.CREW, Rule.SKILL})
MEASURED = frozenset({Rule.WINDOW, Rule.OVERFULL, Rule.BREAK, Rule.HOURS})
MEASURED |= {Rule.PAYLOAD, Rule.CHEMICALS}


@dataclass(frozen=True, slots=True)
class FalseField:
    """A field, what it says of whom, and what it ought to say.

    `subject` is the id of a visit, of upkeep or of a technician, or the week.
    """

    subject: str
    name: str
    written: object
    true: object
    technician_id: str | None = None
    day: date | None = None

    @property
    def amount(self) -> float:
        """How far a number is off, in the unit that ends the field's name; 0 for other fields."""
        if isinstance(self.written, int | float) and isinstance(self.true, int | float):
            return float(abs(self.written - self.true))
        return 0.0


def false_in_route(route: Route, true: Route) -> Iterator[FalseField]:
    """Fields of a route and its stops that differ from those of the route with the same order."""
    where = (route.technician_id, route.day)
    for stop, own in zip(route.stops, true.stops, strict=True):
        yield from _differing(stop, own, stop.visit_id, *where)
    yield from _differing(route, true, route.technician_id, *where)


def false_in_lists(problem: Problem, plan: WeekPlan) -> Iterator[FalseField]:
    """Sites, titles and dates of what is unplaced or put off, and missing reasons.

    Entries that are not due are left to the count.
    """
    undrivable = {one.visit_id: one for one in problem.undrivable}
    for one in plan.unplaced:
        if one.visit_id in undrivable:
            true = undrivable[one.visit_id]
            yield from _differing(one, true, one.visit_id, but=frozenset({"reason"}))
        elif demand := problem.demand_of.get(one.visit_id):
            true = Unplaced(one.visit_id, demand.site_id, one.reason, one.cells)
            yield from _differing(one, true, one.visit_id)
            yield from _false_cells(problem, demand, one)
        yield from _without_reason(one.visit_id, one.reason)
    put_off = _put_off_truly(problem)
    for item in plan.put_off:
        if item.upkeep_id in put_off:
            yield from _differing(item, put_off[item.upkeep_id], item.upkeep_id, but=REASONS)
        yield from _without_reason(item.upkeep_id, item.reason)


def false_in_head(problem: Problem, plan: WeekPlan) -> Iterator[FalseField]:
    """Week, digest, changes and cost of a plan all of whose stops are due."""
    week = str(problem.week)
    for name, written, true in (
        ("week", plan.week, problem.week),
        ("problem_digest", plan.problem_digest, problem.digest),
        ("cost_s", plan.cost_s, cost_s(problem, plan)),
    ):
        if written != true:
            yield FalseField(week, name, written, true)
    for name, value in (("seed", plan.seed), ("iterations", plan.iterations)):
        if value < 0:
            yield FalseField(week, name, value, 0)
    yield from _false_changes(problem, plan)


def _false_changes(problem: Problem, plan: WeekPlan) -> Iterator[FalseField]:
    """Visits that moved and are not told of, that are told of and did not move, or told wrongly."""
    true = {one.visit_id: one for one in changes(problem, plan.routes)}
    written = dict[str, Change]()
    for one in plan.changes:
        if one.visit_id not in true or one.visit_id in written:
            yield FalseField(one.visit_id, "changes", one.planned, None)
        else:
            yield from _differing(one, true[one.visit_id], one.visit_id, but=REASONS)
            yield from _without_reason(one.visit_id, one.reason)
        written[one.visit_id] = one
    for visit_id in true.keys() - written.keys():
        yield FalseField(visit_id, "changes", None, true[visit_id].planned)


def _false_cells(problem: Problem, demand: Demand, one: Unplaced) -> Iterator[FalseField]:
    """Cells that are none, rules without their measure, and people who are ruled out or not."""
    written, off = set[Broken](), set(problem.technicians_off)
    for broken in one.cells:
        where = (broken.technician_id, broken.day)
        known = where in off if broken.rule is Rule.SHIFT else where in problem.cell_of
        if not known or (broken.amount > 0) != (broken.rule in MEASURED | {Rule.CREW}):
            yield FalseField(one.visit_id, "cells", broken, None)
        if broken.rule in PEOPLE:
            written.add(broken)
    true = {broken for cell in problem.cells for broken in _people_broken(demand, cell)}
    for broken in written - true:
        yield FalseField(one.visit_id, "cells", broken, None)
    for broken in true - written:
        yield FalseField(one.visit_id, "cells", None, broken)


def _people_broken(demand: Demand, cell: Cell) -> Iterator[Broken]:
    """Who may not come to a visit whatever else stands in a cell."""
    where = (cell.technician_id, cell.day)
    usual = demand.usual_technician_id
    if demand.technician_locked and usual != cell.technician_id:
        yield Broken(Rule.TECHNICIAN_LOCK, *where, detail=usual or "")
    if cell.technician_id in demand.unwanted_technician_ids:
        yield Broken(Rule.UNWANTED, *where)
    if demand.crew > cell.crew:
        yield Broken(Rule.CREW, *where, demand.crew - cell.crew)
    for skill in demand.skills - cell.skills:
        yield Broken(Rule.SKILL, *where, detail=skill)


def _put_off_truly(problem: Problem) -> Mapping[str, PutOff]:
    """All upkeep of the problem as it is put off, by id, without the reasons."""
    sunday = problem.week.sunday
    found = {
        item.id: PutOff(
            item.id, item.site_id, item.title, item.latest_on, item.latest_on <= sunday, why
        )
        for item, why in problem.stranded_upkeep
    }
    for demand in problem.demands:
        for item in demand.upkeep:
            late = item.latest_on < demand.next_visit_on
            found[item.id] = PutOff(
                item.id, demand.site_id, item.title, item.latest_on, late, reason=""
            )
    return found


def _without_reason(subject: str, reason: str) -> Iterator[FalseField]:
    if not reason.strip():
        yield FalseField(subject, "reason", reason, None)


def _differing(
    written: Stop | Route | Unplaced | PutOff | Change,
    true: object,
    subject: str,
    technician_id: str | None = None,
    day: date | None = None,
    *,
    but: frozenset[str] = frozenset(),
) -> Iterator[FalseField]:
    for one in fields(written):
        says, ought = getattr(written, one.name), getattr(true, one.name)
        if one.name not in CHOSEN | but and says != ought:
            yield FalseField(subject, one.name, says, ought, technician_id, day)
