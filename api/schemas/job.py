"""JSON of planning jobs."""

from __future__ import annotations

from pydantic import BaseModel, Field

from api.jobs import Job, JobState


class PlanIn(BaseModel):
    """How to plan a week; what is left out comes from the settings."""

    seed: int | None = Field(default=None, ge=0, le=2**31 - 1)
    iterations: int | None = Field(default=None, ge=1, le=100_000_000)


class ProgressOut(BaseModel):
    """How far a search is."""

    iteration: int
    iterations: int
    share: float = Field(description="done, 0 to 1")
    best_cost_s: int = Field(description="price of the best plan so far, in seconds of driving")
    unplaced: int = Field(description="visits without a place in the best plan so far")


class JobOut(BaseModel):
    """A planning job as it stands now."""

    id: str
    week: str
    seed: int
    iterations: int | None
    state: JobState
    is_over: bool
    attempt: int = Field(description="above 1, the service was ended while the job ran")
    progress: ProgressOut | None
    code: str
    detail: str

    @classmethod
    def of(cls, job: Job) -> JobOut:
        """The JSON of a job."""
        progress = job.progress
        return cls(
            id=job.id,
            week=str(job.week),
            seed=job.seed,
            iterations=job.iterations,
            state=job.state,
            is_over=job.state.is_over,
            attempt=job.attempt,
            progress=None
            if progress is None
            else ProgressOut(
                iteration=progress.iteration,
                iterations=progress.iterations,
                share=min(1.0, progress.iteration / max(1, progress.iterations)),
                best_cost_s=int(progress.best_cost_s),
                unplaced=progress.unplaced,
            ),
            code=job.code,
            detail=job.detail,
        )
