"""Planning a week as a job."""

from __future__ import annotations

import time
from collections.abc import Mapping
from typing import Any

from sqlalchemy import Engine

from api.jobs.compiling import SearchCompiler
from api.jobs.job import JobState, PlanJob, Tell, Told
from dispatch.actions.plan_week import plan_week
from dispatch.clock import IsoWeek
from dispatch.errors import Cancelled
from dispatch.planning.progress import Progress, ShouldStop
from dispatch.settings import Settings

COMPILING = "Compiling the search, once on this machine"
READING = "Reading streets and customers"
LOOK_S = 0.1  # seconds between two looks at the compiler


class Planning:
    """Plans weeks; a job that is stopped keeps its best plan so far."""

    kind = PlanJob.kind
    broken = (
        "Something unexpected went wrong while planning; the plan before it is untouched. The log "
        "of the service says why."
    )

    def __init__(self, settings: Settings, engine: Engine, compiler: SearchCompiler) -> None:
        self._settings = settings
        self._engine = engine
        self._compiler = compiler

    def run(self, request: Mapping[str, Any], tell: Tell, should_stop: ShouldStop) -> JobState:
        """Plan the week and store the plan; raises as the action `plan_week` does."""
        week = IsoWeek.parse(request["week"])
        self._wait_for_compiler(week, tell, should_stop)

        def note(progress: Progress) -> None:
            tell(Told(progress=progress))

        tell(Told(READING))
        plan_week(
            self._engine,
            self._settings,
            week,
            seed=request["seed"],
            iterations=request["iterations"],
            today=self._settings.today(),
            progress=note,
            should_stop=should_stop,
        )
        return JobState.STOPPED if should_stop() else JobState.DONE

    def clear(self, request: Mapping[str, Any]) -> None:
        """Nothing is left behind."""

    def as_job(self, request: Mapping[str, Any], **standing: Any) -> PlanJob:
        """The job with what only the planning of a week has."""
        return PlanJob(
            week=IsoWeek.parse(request["week"]),
            seed=request["seed"],
            iterations=request["iterations"],
            **standing,
        )

    def _wait_for_compiler(self, week: IsoWeek, tell: Tell, should_stop: ShouldStop) -> None:
        """Let the compiler finish; compiling the same beside it would take twice as long."""
        while not self._compiler.is_done:
            if should_stop():
                raise Cancelled(
                    f"Planning week {week} was stopped while the search was still being compiled; "
                    "nothing was changed."
                )
            tell(Told(COMPILING if self._compiler.is_compiling else READING))
            time.sleep(LOOK_S)
