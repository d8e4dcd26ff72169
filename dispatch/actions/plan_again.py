"""Planning a week again from the plan at hand: a proposal beside it, taken or thrown away."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import TYPE_CHECKING

from sqlalchemy import Engine
from sqlmodel import Session

from dispatch.actions.plan_versions import check_version, keep_plan
from dispatch.actions.week_desk import (
    Desk,
    as_it_stands,
    open_desk,
    open_problem,
    whole_week,
    written,
)
from dispatch.actions.week_inputs import check_not_stopped, check_unmoved, evening_of, read_inputs
from dispatch.clock import IsoWeek
from dispatch.edits.compare import Difference, compare
from dispatch.errors import ChangedMeanwhile, NotFound
from dispatch.planning.plan import WeekPlan
from dispatch.planning.progress import Report, ShouldStop, never, silent
from dispatch.settings import Settings
from dispatch.store import plan_versions as store
from dispatch.store.db import transaction
from dispatch.store.desk_tables import PlanProposalRow
from dispatch.store.job_reports import Claim, unclaimed
from dispatch.store.plan_versions import KeptPlan
from dispatch.store.plans import read_plan
from dispatch.store.versions import read_version
from dispatch.words import N_, _

if TYPE_CHECKING:  # compiled code, slow to import
    from dispatch.edits.draft import Draft
    from dispatch.planning.balance import Evening
    from dispatch.planning.problem import Problem

WORDS = N_("Planned again")


@dataclass(frozen=True, slots=True)
class Proposal:
    """A plan beside the present one, and what it does differently.

    `base` is the version it was made from; it can be taken only while that is the present one.
    """

    plan: WeekPlan
    base: int
    is_current: bool
    difference: Difference
    at: datetime


def plan_again(
    engine: Engine,
    settings: Settings,
    week: IsoWeek,
    *,
    today: date,
    at: datetime,
    who: str = "",
    seed: int | None = None,
    iterations: int | None = None,
    even_min: int | None = None,
    progress: Report = silent,
    should_stop: ShouldStop = never,
    claim: Claim = unclaimed,
) -> Proposal:
    """Search on from the present plan and keep the result as a proposal beside it.

    Days that are over or under way, published routes and what is locked stay as they are. The plan
    itself is not touched. `claim` is called in the transaction that keeps the proposal.

    Raises
    ------
    WeekInPast, NotFound, NoMap, NothingToPlan
        When the week is over, has no plan, or there is nothing to plan with.
    Cancelled
        When `should_stop` says yes before the search has begun.
    InputsChanged, ChangedMeanwhile
        When the book or the plan changed meanwhile; no proposal is kept.
    """
    with transaction(engine, read_only=True) as session:
        desk = open_desk(session, settings, week, today)
    problem = open_problem(settings, desk)
    check_not_stopped(week, should_stop)
    draft, rounds = _searched(
        settings,
        desk,
        problem,
        seed=seed,
        iterations=iterations,
        evening=evening_of(settings, even_min),
        progress=progress,
        should_stop=should_stop,
    )
    before = replace(desk.plan, seed=settings.seed if seed is None else seed, iterations=rounds)
    done = written(replace(desk, plan=before), problem, draft)
    kept = KeptPlan(
        plan=done.plan,
        upkeep=tuple(desk.upkeep.values()),
        inputs_digest=desk.inputs.digest,
        broken=done.broken,
        what=_(WORDS),
        who=who,
        at=at,
    )
    with transaction(engine) as session:
        claim(session)
        check_unmoved(desk.inputs, read_inputs(session, settings, week, today))
        check_version(session, week, desk.version)
        store.write_proposal(session, kept, desk.version)
    return Proposal(done.plan, desk.version, True, compare(desk.plan, done.plan), at)


def _searched(
    settings: Settings,
    desk: Desk,
    problem: Problem,
    *,
    seed: int | None,
    iterations: int | None,
    evening: Evening | None,
    progress: Report,
    should_stop: ShouldStop,
) -> tuple[Draft, int]:
    """The draft that the search finds, and its rounds; with even hours where that is set."""
    from dispatch.edits.again import draft_again

    draft, present, kept = as_it_stands(desk, problem)
    return draft_again(
        problem,
        draft,
        present,
        kept,
        seed=settings.seed if seed is None else seed,
        evening=evening,
        whole=whole_week(settings, desk) if evening is not None else None,
        iterations=settings.default_iterations if iterations is None else iterations,
        runs=settings.search_runs,
        progress=progress,
        should_stop=should_stop,
    )


def plan_beside_kept(
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
    """Plan again and make the result the plan at once; raises as `plan_again` does."""
    at = settings.now()
    made = plan_again(
        engine, settings, week, today=today, at=at, seed=seed, iterations=iterations,
        even_min=even_min, progress=progress, should_stop=should_stop,
    )  # fmt: skip
    with transaction(engine) as session:
        claim(session)
        take_proposal(session, week, version=made.base, who="", at=at)
    return made.plan


def proposal(session: Session, week: IsoWeek) -> Proposal:
    """The proposal for `week`, beside its plan; raises NotFound where there is none."""
    kept, base = store.read_proposal(session, week)
    now = store.present_version(session, week)
    difference = compare(read_plan(session, week), kept.plan)
    return Proposal(kept.plan, base, base == now, difference, kept.at)


def has_proposal(session: Session, week: IsoWeek) -> bool:
    """Whether a proposal stands beside the plan of `week`."""
    try:
        store.read_proposal(session, week)
    except NotFound:
        return False
    return True


def proposal_mark(session: Session, week: IsoWeek) -> str:
    """What tells the proposal for `week` from any other one that stood there or will."""
    return read_version(session, PlanProposalRow, {"week": str(week)})


def take_proposal(
    session: Session, week: IsoWeek, *, version: int, who: str, at: datetime, mark: str = ""
) -> int:
    """Make the proposal the plan of `week`, as a new version; undo brings the old plan back.

    `mark` is that of the proposal which was looked at, where somebody looked.

    Raises
    ------
    NotFound
        When there is no proposal.
    ChangedMeanwhile
        When the plan has changed since the proposal was made, or since `version`, or when
        another proposal stands there.
    """
    kept, base = store.read_proposal(session, week)
    _check_mark(session, week, kept, mark)
    check_version(session, week, version)
    if base != store.present_version(session, week):
        raise ChangedMeanwhile(
            _(
                "The plan of week {week} has changed since the proposal was made from version "
                "{base}: throw the proposal away and plan again."
            ).format(week=week, base=base)
        )
    number = keep_plan(session, replace(kept, who=who, at=at))
    store.delete_proposal(session, week)
    return number


def drop_proposal(session: Session, week: IsoWeek, *, mark: str = "") -> None:
    """Throw the proposal for `week` away; nothing happens where there is none.

    Raises ChangedMeanwhile when another one stands there than that of `mark`.
    """
    if mark and has_proposal(session, week):
        _check_mark(session, week, store.read_proposal(session, week)[0], mark)
    store.delete_proposal(session, week)


def _check_mark(session: Session, week: IsoWeek, kept: KeptPlan, mark: str) -> None:
    if mark and mark != proposal_mark(session, week):
        raise ChangedMeanwhile(
            _(
                "Week {week} was planned again by {who} meanwhile, and another proposal stands "
                "beside the plan than the one you compared. Nothing was changed: look at the new "
                "one, then decide."
            ).format(week=week, who=kept.who or _("somebody"))
        )
