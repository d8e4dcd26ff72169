"""Spreading upkeep over the coming weeks as a job."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Engine

from api.jobs.job import JobState, LevelJob, Tell, Told
from dispatch.actions.level_upkeep import level_upkeep
from dispatch.levelling.values import Progress
from dispatch.planning.progress import ShouldStop
from dispatch.settings import Settings

READING = "Reading equipment and readings"


class LevellingUpkeep:
    """Spreads upkeep; a job that is stopped or fails leaves the weeks set before."""

    kind = LevelJob.kind
    broken = (
        "Something unexpected went wrong while spreading the upkeep; the weeks set before stay. "
        "The log of the service says why."
    )

    def __init__(self, settings: Settings, engine: Engine) -> None:
        self._settings = settings
        self._engine = engine

    def run(self, request: Mapping[str, Any], tell: Tell, should_stop: ShouldStop) -> JobState:
        """Spread the upkeep and keep it; raises as the action `level_upkeep` does."""
        tell(Told(READING))

        def note(progress: Progress) -> None:
            tell(Told(f"{progress.solved} of {progress.technicians} technicians' weeks filled"))

        level_upkeep(
            self._engine,
            self._settings,
            today=self._settings.today(),
            weeks=int(request["weeks"]),
            say=note,
            should_stop=should_stop,
        )
        return JobState.DONE

    def clear(self, request: Mapping[str, Any]) -> None:
        """Nothing is left behind."""

    def as_job(self, request: Mapping[str, Any], **standing: Any) -> LevelJob:
        """The job with what only the spreading of upkeep has."""
        return LevelJob(weeks=int(request["weeks"]), **standing)
