"""Planning a week as a job."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Engine

from api.jobs.apart import do_apart
from api.jobs.compiling import READING, SearchCompiler
from api.jobs.job import JobState, PlanJob, Tell, Told
from dispatch.clock import IsoWeek
from dispatch.errors import Cancelled
from dispatch.planning.progress import Progress, ShouldStop
from dispatch.settings import Settings
from dispatch.store.job_reports import Claim
from dispatch.words import N_, _


class Planning:
    """Plans weeks; a job that is stopped keeps its best plan so far."""

    kind = PlanJob.kind
    broken = N_(
        "Something unexpected went wrong while planning; the plan before it is untouched. "
        "The log of the service says why."
    )

    def __init__(self, settings: Settings, compiler: SearchCompiler) -> None:
        self._settings = settings
        self._compiler = compiler

    def run(
        self, job_id: str, request: Mapping[str, Any], tell: Tell, should_stop: ShouldStop
    ) -> JobState:
        """Plan the week and store the plan; raises as the action `plan_week` does."""
        self._wait_for_compiler(IsoWeek.parse(request["week"]), tell, should_stop)
        tell(Told(_(READING)))
        return do_apart(plan, self._settings, job_id, request, tell, should_stop)

    def clear(self, request: Mapping[str, Any]) -> None:
        """Nothing is left behind."""

    def as_job(self, request: Mapping[str, Any], **standing: Any) -> PlanJob:
        """The job with what only the planning of a week has."""
        return PlanJob(
            week=IsoWeek.parse(request["week"]),
            seed=request["seed"],
            iterations=request["iterations"],
            even_min=request.get("even_min"),
            is_proposal=request.get("is_proposal", False),
            **standing,
        )

    def _wait_for_compiler(self, week: IsoWeek, tell: Tell, should_stop: ShouldStop) -> None:
        """Let the compiler finish; raises Cancelled when the job is stopped meanwhile."""
        if not self._compiler.wait(tell, should_stop):
            raise Cancelled(
                _(
                    "Planning week {week} was stopped while the search was still being "
                    "compiled; nothing was changed."
                ).format(week=week)
            )


def plan(
    engine: Engine,
    settings: Settings,
    request: Mapping[str, Any],
    tell: Tell,
    should_stop: ShouldStop,
    claim: Claim,
) -> None:
    """Plan the week that is asked for, or a proposal beside its plan."""
    from dispatch.actions.plan_again import plan_again
    from dispatch.actions.plan_week import plan_week

    def note(progress: Progress) -> None:
        tell(Told(progress=progress))

    week = IsoWeek.parse(request["week"])
    how: dict[str, Any] = {
        "seed": request["seed"],
        "iterations": request["iterations"],
        "even_min": request.get("even_min"),
        "today": settings.today(),
        "progress": note,
        "should_stop": should_stop,
    }
    if request.get("is_proposal"):
        who, at = request.get("who", ""), settings.now()
        plan_again(engine, settings, week, who=who, at=at, claim=claim, **how)
    else:
        plan_week(engine, settings, week, claim=claim, **how)
