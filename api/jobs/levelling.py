"""Spreading upkeep over the coming weeks as a job."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Engine

from api.jobs.apart import do_apart
from api.jobs.job import JobState, LevelJob, Tell, Told
from dispatch.levelling.values import Progress
from dispatch.planning.progress import ShouldStop
from dispatch.settings import Settings
from dispatch.store.job_reports import Claim
from dispatch.words import N_, _

READING = N_("Reading equipment and readings")


class LevellingUpkeep:
    """Spreads upkeep; a job that is stopped or fails leaves the weeks set before."""

    kind = LevelJob.kind
    broken = N_(
        "Something unexpected went wrong while spreading the upkeep; the weeks set before "
        "stay. The log of the service says why."
    )

    def __init__(self, settings: Settings) -> None:
        self._settings = settings

    def run(
        self, job_id: str, request: Mapping[str, Any], tell: Tell, should_stop: ShouldStop
    ) -> JobState:
        """Spread the upkeep and keep it; raises as the action `level_upkeep` does."""
        tell(Told(_(READING)))
        return do_apart(spread, self._settings, job_id, request, tell, should_stop)

    def clear(self, request: Mapping[str, Any]) -> None:
        """Nothing is left behind."""

    def as_job(self, request: Mapping[str, Any], **standing: Any) -> LevelJob:
        """The job with what only the spreading of upkeep has."""
        return LevelJob(weeks=int(request["weeks"]), **standing)


def spread(
    engine: Engine,
    settings: Settings,
    request: Mapping[str, Any],
    tell: Tell,
    should_stop: ShouldStop,
    claim: Claim,
) -> None:
    """Spread the upkeep over the weeks that are asked for."""
    from dispatch.actions.level_upkeep import level_upkeep

    def note(progress: Progress) -> None:
        tell(
            Told(
                _("{solved} of {technicians} technicians' weeks filled").format(
                    solved=progress.solved, technicians=progress.technicians
                )
            )
        )

    level_upkeep(
        engine,
        settings,
        today=settings.today(),
        weeks=int(request["weeks"]),
        say=note,
        should_stop=should_stop,
        claim=claim,
    )
