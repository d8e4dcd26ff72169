"""Plan a week: lay out the problem, search, and write the plan down with its reasons."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import date

from dispatch.clock import IsoWeek
from dispatch.drive.matrix import DriveMatrix
from dispatch.planning.changes import changes
from dispatch.planning.check import violations
from dispatch.planning.explain import Filled, Wanted, broken_in, in_words, why_unplaced
from dispatch.planning.lay_out import build_problem
from dispatch.planning.placed import Placed
from dispatch.planning.plan import PutOff, Unplaced, WeekPlan
from dispatch.planning.problem import Cell, Demand, Problem
from dispatch.planning.progress import Report, ShouldStop, never, silent
from dispatch.planning.score import cost_s
from dispatch.planning.search import Assignment, iterations_for, search
from dispatch.planning.written import call_of, load_kg_of, routes_of
from dispatch.sites import Site
from dispatch.technicians import Technician
from dispatch.upkeep import UpkeepDue
from dispatch.visits import VisitsDue
from dispatch.words import _


def plan_week(
    week: IsoWeek,
    sites: Sequence[Site],
    technicians: Sequence[Technician],
    due: Sequence[VisitsDue],
    upkeep: Sequence[UpkeepDue],
    matrix: DriveMatrix,
    closed_days: Collection[date] = (),
    *,
    no_drive: Mapping[str, str] | None = None,
    seed: int = 1,
    iterations: int | None = None,
    runs: int = 1,
    progress: Report = silent,
    should_stop: ShouldStop = never,
) -> WeekPlan:
    """Plan one ISO week: who goes where, on which day, in what order, with which upkeep.

    Parameters
    ----------
    due
        What each site is owed; every visit comes out placed, or unplaced with a reason.
    upkeep
        Maintenance that may be done in the week; what falls due comes out on a visit or put off.
    matrix
        Drive times between `site:ID`, `start:TECHNICIAN` and `end:TECHNICIAN`.
    closed_days
        Days on which nobody works.
    no_drive
        A sentence for each place of the week that is missing from the matrix.
    iterations, runs
        Rounds of each search, by default a number that suits the size of the week, and searches
        side by side.
    progress, should_stop
        Called between chunks of rounds; a run that is stopped early gives the best plan so far.
    """
    problem = build_problem(
        week,
        sites,
        technicians,
        due,
        upkeep,
        matrix,
        closed_days=closed_days,
        no_drive=no_drive,
    )
    return plan_problem(
        problem,
        seed=seed,
        iterations=iterations,
        runs=runs,
        progress=progress,
        should_stop=should_stop,
    )


def plan_problem(
    problem: Problem,
    *,
    seed: int = 1,
    iterations: int | None = None,
    runs: int = 1,
    progress: Report = silent,
    should_stop: ShouldStop = never,
) -> WeekPlan:
    """The plan of a problem; the same problem, seed, iterations and runs give the same plan.

    Raises
    ------
    AssertionError
        When the plan that the search returned breaks a rule: a fault of this program.
    """
    rounds = iterations_for(problem) if iterations is None else iterations
    assignment = search(
        problem,
        seed=seed,
        iterations=rounds,
        runs=runs,
        report=progress,
        should_stop=should_stop,
    )
    plan = write_plan(problem, assignment, seed)
    broken = violations(problem, plan)
    if broken:
        raise AssertionError(f"The search broke the rules of the week: {broken[:5]}")
    return plan


def write_plan(problem: Problem, assignment: Assignment, seed: int) -> WeekPlan:
    """An assignment with its times, reasons and changes."""
    days = zip(problem.cells, assignment.routes, strict=True)
    routes = routes_of(problem, [(cell, order) for cell, order in days if order])
    filled = [
        filled_cell(problem, cell, order)
        for cell, order in zip(problem.cells, assignment.routes, strict=True)
    ]
    day_of = {stop.visit_id: route.day for route in routes for stop in route.stops}
    carried = {one for route in routes for stop in route.stops for one in stop.upkeep_ids}
    plan = WeekPlan(
        week=problem.week,
        routes=routes,
        unplaced=problem.undrivable + _unplaced(problem, filled, day_of),
        put_off=_stranded(problem) + _put_off(problem, assignment, filled, carried),
        changes=changes(problem, routes),
        cost_s=assignment.cost_s,
        seed=seed,
        iterations=assignment.iterations,
        problem_digest=problem.digest,
    )
    return replace(plan, cost_s=cost_s(problem, plan))


def filled_cell(problem: Problem, cell: Cell, order: Sequence[Placed]) -> Filled:
    """A cell with the stops of an order."""
    return Filled(
        cell,
        tuple(call_of(problem, placed) for placed in order),
        sum(load_kg_of(problem, placed) for placed in order),
    )


def _days_of(demand: Demand, visit: int, day_of: dict[str, date]) -> frozenset[date]:
    """Days that visit number `visit` may have, given where its site's other visits stand."""
    others = [
        (n, day_of[visit_id])
        for n, visit_id in enumerate(demand.visit_ids)
        if n != visit and visit_id in day_of
    ]
    return frozenset(
        pattern[visit]
        for pattern in demand.open_patterns
        if all(pattern[n] == day for n, day in others)
    )


def _unplaced(
    problem: Problem, filled: Sequence[Filled], day_of: dict[str, date]
) -> tuple[Unplaced, ...]:
    found = []
    for demand in problem.demands:
        for n, visit_id in enumerate(demand.visit_ids):
            if visit_id in day_of:
                continue
            taken = frozenset(day_of[one] for one in demand.visit_ids if one in day_of)
            wanted = Wanted(demand, _days_of(demand, n, day_of), taken, visit=n)
            reason, cells = why_unplaced(wanted, filled, problem)
            found.append(Unplaced(visit_id, demand.site_id, reason, cells))
    return tuple(found)


def _stranded(problem: Problem) -> tuple[PutOff, ...]:
    return tuple(
        PutOff(
            upkeep_id=item.id,
            site_id=item.site_id,
            title=item.title,
            by=item.latest_on,
            late=item.latest_on <= problem.week.sunday,
            reason=reason,
        )
        for item, reason in problem.stranded_upkeep
    )


def _put_off(
    problem: Problem, assignment: Assignment, filled: Sequence[Filled], carried: set[str]
) -> tuple[PutOff, ...]:
    found = []
    for number, demand in enumerate(problem.demands):
        for item in demand.upkeep:
            if item.id in carried:
                continue
            late = item.latest_on < demand.next_visit_on
            found.append(
                PutOff(
                    upkeep_id=item.id,
                    site_id=demand.site_id,
                    title=item.title,
                    by=item.latest_on,
                    late=late,
                    reason=_why_put_off(problem, assignment, filled, number, item),
                )
            )
    return tuple(found)


def _why_put_off(
    problem: Problem,
    assignment: Assignment,
    filled: Sequence[Filled],
    number: int,
    item: UpkeepDue,
) -> str:
    """Words for upkeep that rides on no visit: what a visit that carried it would have broken."""
    demand = problem.demands[number]
    without = [
        filled_cell(problem, cell, [placed for placed in order if placed.demand != number])
        if any(placed.demand == number for placed in order)
        else one
        for one, cell, order in zip(filled, problem.cells, assignment.routes, strict=True)
    ]
    days = frozenset(
        day for pattern in demand.patterns for day in pattern if day >= item.earliest_on
    )
    wanted = Wanted(demand, days, frozenset(), (item,))
    tried = []
    for one in without:
        broken = broken_in(wanted, one, without, problem)
        if not broken:
            return _("It would have cost more driving or changes this week than waiting does.")
        tried.append((one, broken))
    return in_words(wanted, tried, problem)
