"""Planning a week: a short read, a long search with the database closed, a short write."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import Engine

from dispatch.actions.plan_again import plan_beside_kept
from dispatch.actions.plan_versions import FIRST_WORDS, keep_plan
from dispatch.actions.standing_changes import carry_out
from dispatch.actions.week_inputs import (
    check_not_over,
    check_not_stopped,
    check_unmoved,
    evening_of,
    laid_out,
    read_inputs,
)
from dispatch.clock import IsoWeek
from dispatch.planning.plan import WeekPlan
from dispatch.planning.progress import Report, ShouldStop, never, silent
from dispatch.settings import Settings
from dispatch.standing.changes import announced
from dispatch.store.db import transaction
from dispatch.store.job_reports import Claim, unclaimed
from dispatch.store.plan_versions import KeptPlan, keeps_something


def plan_week(
    engine: Engine,
    settings: Settings,
    week: IsoWeek,
    *,
    today: date,
    seed: int | None = None,
    iterations: int | None = None,
    even_min: int | None = None,
    progress: Report = silent,
    should_stop: ShouldStop = never,
    claim: Claim = unclaimed,
) -> WeekPlan:
    """Plan `week` and store the plan; an older plan of the week stays until the new one is there.

    Where locks, published routes or days that are over keep a part of the plan there is, the search
    begins with that plan and leaves them alone; else it begins from nothing.

    Parameters
    ----------
    today
        The day it is, from which a week is over or not and a visit is overdue or not.
    seed, iterations
        Those of the settings when not given; the same inputs, seed and iterations give the same
        plan.
    even_min
        Minutes that a technician's week may lie from the fair share before that has a price; the
        setting when not given.
    should_stop
        Asked now and then; once it says yes, the best plan so far is stored.
    claim
        Called in the transaction that stores the plan, before it does; what it raises keeps the
        plan from being stored.

    Raises
    ------
    WeekInPast
        When the week ended before `today`.
    NothingToPlan
        Without any site or technician.
    NoMap, OffStreet
        Without a street map, or with a technician whose depot lies off the streets.
    Cancelled
        When `should_stop` says yes before the search has begun.
    InputsChanged
        When sites, technicians, holds or the map changed meanwhile; nothing is stored.
    """
    from dispatch.planning.balance import plan_evenly
    from dispatch.planning.week import plan_problem

    check_not_over(week, today)
    with transaction(engine, read_only=True) as session:
        inputs = read_inputs(session, settings, week, today)
        is_kept = keeps_something(session, week, today)
    if is_kept:
        return plan_beside_kept(
            engine, settings, week, today=today, seed=seed, iterations=iterations,
            even_min=even_min, progress=progress, should_stop=should_stop, claim=claim,
        )  # fmt: skip
    problem = laid_out(settings, week, today, inputs)
    check_not_stopped(week, should_stop)
    how: dict[str, Any] = {
        "seed": settings.seed if seed is None else seed,
        "iterations": settings.default_iterations if iterations is None else iterations,
        "runs": settings.search_runs,
        "progress": progress,
        "should_stop": should_stop,
    }
    evening = evening_of(settings, even_min)
    plan = plan_evenly(problem, evening, **how) if evening else plan_problem(problem, **how)
    names = {one.id: one.name for one in inputs.technicians}
    plan = announced(plan, inputs.standing, inputs.sites, names)
    with transaction(engine) as session:
        claim(session)
        check_unmoved(inputs, read_inputs(session, settings, week, today))
        carry_out(session, today)
        keep_plan(
            session,
            KeptPlan(plan, inputs.undone, inputs.digest, (), FIRST_WORDS, "", settings.now()),
        )
    return plan
