"""Plan a week again from the plan at hand, with what is kept left alone."""

from __future__ import annotations

from dispatch.edits.draft import CellKey, Draft, draft_of, draft_of_orders, orders_of
from dispatch.edits.fixed import without_routes
from dispatch.edits.locks import Kept, with_kept
from dispatch.planning.balance import Evening, plan_evenly
from dispatch.planning.check import violations
from dispatch.planning.plan import Route, WeekPlan
from dispatch.planning.problem import Problem
from dispatch.planning.progress import Report, ShouldStop, never, silent
from dispatch.planning.search import iterations_for, search
from dispatch.planning.week import write_plan


def set_apart(
    problem: Problem, before: WeekPlan, kept: Kept
) -> tuple[Problem, list[Route], frozenset[CellKey]]:
    """What is left to plan of a problem, the routes that stay as they are, and their cells.

    Parameters
    ----------
    problem
        What is to be planned.
    before
        The plan there is, for the hours and days of the routes kept.
    kept
        Cells left exactly as they are, and visits that keep technician and day; those on days on
        which the technician no longer works are planned anew.
    """
    kept = kept.within(problem.cell_of.keys())
    fixed = [one for one in before.routes if (one.technician_id, one.day) in kept.cells]
    free = with_kept(without_routes(problem, kept.cells, fixed), kept.visits)
    return free, fixed, kept.cells


def draft_again(
    problem: Problem,
    draft: Draft,
    before: WeekPlan,
    kept: Kept,
    *,
    seed: int,
    evening: Evening | None = None,
    whole: Problem | None = None,
    iterations: int | None = None,
    runs: int = 1,
    progress: Report = silent,
    should_stop: ShouldStop = never,
) -> tuple[Draft, int]:
    """A better draft that begins with the one at hand, and the rounds it took.

    Parameters
    ----------
    problem
        What is to be planned.
    before
        The plan that says the same as `draft`.
    kept
        As for `set_apart`.
    evening, whole
        How to even the hours, and the week with all its shifts, by which shares are fair.

    Raises
    ------
    AssertionError
        When the draft that the search returned breaks a rule where it was free to choose: a fault
        of this program.
    """
    free, _, cells = set_apart(problem, before, kept)
    held = {key: items for key, items in draft.items() if key in cells}
    rounds = iterations_for(free) if iterations is None else iterations
    if evening is not None:
        plan = plan_evenly(
            free,
            evening,
            seed=seed,
            iterations=rounds,
            runs=runs,
            start=orders_of(free, draft),
            whole=whole,
            progress=progress,
            should_stop=should_stop,
        )
        return {**draft_of(plan.routes), **held}, plan.iterations
    found = search(
        free,
        seed=seed,
        iterations=rounds,
        runs=runs,
        start=orders_of(free, draft),
        report=progress,
        should_stop=should_stop,
    )
    broken = violations(free, write_plan(free, found, seed))
    if broken:
        raise AssertionError(f"The search broke the rules of the week: {broken[:5]}")
    return {**draft_of_orders(free, found.routes), **held}, found.iterations
