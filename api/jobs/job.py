"""A job as it stands: its kind, its state, what it says of itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar

from dispatch.clock import IsoWeek
from dispatch.planning.progress import Progress


class JobKind(StrEnum):
    """What is done in the background."""

    PLAN_WEEK = "plan-week"
    BUILD_MAP = "build-map"
    LEVEL_UPKEEP = "level-upkeep"
    STUDY = "study"


class JobState(StrEnum):
    """Where a job stands."""

    WAITING = "waiting"  # another job is running
    RUNNING = "running"
    STOPPING = "stopping"  # told to stop, and about to
    DONE = "done"
    STOPPED = "stopped"  # a plan keeps the best so far, if there was one; a map stays the old one
    FAILED = "failed"

    @property
    def is_over(self) -> bool:
        """Whether nothing more will happen."""
        return self in {JobState.DONE, JobState.STOPPED, JobState.FAILED}


@dataclass(frozen=True, slots=True)
class Told:
    """The latest that running work said: a few words, and for a search how far it is."""

    line: str = ""
    progress: Progress | None = None


Tell = Callable[[Told], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """What all kinds of job have.

    `attempt` counts the starts; above 1 the service was ended while the job ran. `line` says in a
    few words what is being done; `progress` is None until a search has begun, and always where
    there is none. `code` and `detail` say why a job failed.
    """

    kind: ClassVar[JobKind]

    id: str
    state: JobState
    attempt: int = 1
    line: str = ""
    progress: Progress | None = None
    code: str = ""
    detail: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanJob(Job):
    """The planning of a week."""

    kind: ClassVar[JobKind] = JobKind.PLAN_WEEK

    week: IsoWeek
    seed: int
    iterations: int | None
    even_min: int | None = None
    is_proposal: bool = False  # made from the present plan, and kept beside it


@dataclass(frozen=True, slots=True, kw_only=True)
class MapJob(Job):
    """The building of the street map from an uploaded extract called `file_name`."""

    kind: ClassVar[JobKind] = JobKind.BUILD_MAP

    file_name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelJob(Job):
    """The spreading of upkeep over the coming `weeks`."""

    kind: ClassVar[JobKind] = JobKind.LEVEL_UPKEEP

    weeks: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyJob(Job):
    """A long reckoning that changes no plan: `name` says which, `subject` what it is about."""

    kind: ClassVar[JobKind] = JobKind.STUDY

    name: str
    subject: str
