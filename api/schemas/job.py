"""JSON of jobs."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field

from api.jobs.job import Job, JobKind, JobState, LevelJob, MapJob, PlanJob, StudyJob
from dispatch.planning.progress import Progress


class PlanIn(BaseModel):
    """How to plan a week; what is left out comes from the settings."""

    seed: int | None = Field(default=None, ge=0, le=2**31 - 1)
    iterations: int | None = Field(default=None, ge=1, le=100_000_000)
    even_min: int | None = Field(
        default=None,
        ge=0,
        le=2400,
        description="minutes a technician's week may lie from the fair share without a price",
    )


class ProgressOut(BaseModel):
    """How far a search is."""

    iteration: int
    iterations: int
    share: float = Field(description="done, 0 to 1")
    best_cost_s: int = Field(description="price of the best plan so far, in seconds of driving")
    unplaced: int = Field(description="visits without a place in the best plan so far")

    @classmethod
    def of(cls, progress: Progress) -> ProgressOut:
        """The JSON of a search's progress."""
        return cls(
            iteration=progress.iteration,
            iterations=progress.iterations,
            share=min(1.0, progress.iteration / max(1, progress.iterations)),
            best_cost_s=int(progress.best_cost_s),
            unplaced=progress.unplaced,
        )


class OneJobOut(BaseModel):
    """What every job tells of itself."""

    id: str
    state: JobState
    is_over: bool
    attempt: int = Field(description="above 1, the service was ended while the job ran")
    line: str = Field(description="what is being done, in words; may be empty")
    code: str
    detail: str


def _told(job: Job) -> dict[str, Any]:
    """The fields of `OneJobOut`."""
    own = ("id", "state", "attempt", "line", "code", "detail")
    return {"is_over": job.state.is_over} | {name: getattr(job, name) for name in own}


class PlanJobOut(OneJobOut):
    """The planning of a week as it stands now."""

    kind: Literal[JobKind.PLAN_WEEK] = JobKind.PLAN_WEEK
    week: str
    seed: int
    iterations: int | None
    even_min: int | None
    progress: ProgressOut | None

    @classmethod
    def of(cls, job: PlanJob) -> PlanJobOut:
        """The JSON of the job."""
        return cls(
            week=str(job.week),
            seed=job.seed,
            iterations=job.iterations,
            even_min=job.even_min,
            progress=None if job.progress is None else ProgressOut.of(job.progress),
            **_told(job),
        )


class MapJobOut(OneJobOut):
    """The building of the street map as it stands now."""

    kind: Literal[JobKind.BUILD_MAP] = JobKind.BUILD_MAP
    file_name: str = Field(description="the uploaded extract")

    @classmethod
    def of(cls, job: MapJob) -> MapJobOut:
        """The JSON of the job."""
        return cls(
            file_name=job.file_name,
            **_told(job),
        )


class LevelJobOut(OneJobOut):
    """The spreading of upkeep over weeks as it stands now."""

    kind: Literal[JobKind.LEVEL_UPKEEP] = JobKind.LEVEL_UPKEEP
    weeks: int

    @classmethod
    def of(cls, job: LevelJob) -> LevelJobOut:
        """The JSON of the job."""
        return cls(
            weeks=job.weeks,
            **_told(job),
        )


class StudyJobOut(OneJobOut):
    """A long reckoning that changes no plan, as it stands now."""

    kind: Literal[JobKind.STUDY] = JobKind.STUDY
    name: str
    subject: str = Field(description="what it is about, as a week; may be empty")
    progress: ProgressOut | None

    @classmethod
    def of(cls, job: StudyJob) -> StudyJobOut:
        """The JSON of the job."""
        return cls(
            name=job.name,
            subject=job.subject,
            progress=None if job.progress is None else ProgressOut.of(job.progress),
            **_told(job),
        )


AnyJobOut = PlanJobOut | MapJobOut | LevelJobOut | StudyJobOut
JobOut = Annotated[AnyJobOut, Field(discriminator="kind")]


def job_out(job: Job) -> AnyJobOut:
    """The JSON of a job of any kind."""
    if isinstance(job, StudyJob):
        return StudyJobOut.of(job)
    if isinstance(job, MapJob):
        return MapJobOut.of(job)
    if isinstance(job, LevelJob):
        return LevelJobOut.of(job)
    assert isinstance(job, PlanJob)  # noqa: S101 - there are four kinds
    return PlanJobOut.of(job)
