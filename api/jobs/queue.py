"""Jobs that outlive the process.

Each job is a durable workflow of DBOS Transact on a SQLite file beside the database: a job that a
killed process left behind begins again when the service starts, with the same request and so with
the same outcome. One job runs at a time, whatever its kind: a plan is made on one map. What a job
says of itself is kept in memory only; after a restart it begins again with the job.
"""

from __future__ import annotations

import threading
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Protocol

import structlog
from dbos import DBOS, WorkflowStatus
from sqlalchemy import Engine

from api.jobs.compiling import SearchCompiler
from api.jobs.job import Job, JobKind, JobState, LevelJob, MapJob, PlanJob, Tell, Told
from api.jobs.levelling import LevellingUpkeep
from api.jobs.map_building import MapBuilding
from api.jobs.planning import Planning
from dispatch.clock import IsoWeek
from dispatch.errors import Cancelled, DispatchError, NotFound
from dispatch.planning.progress import ShouldStop
from dispatch.settings import Settings

log = structlog.get_logger(__name__)

QUEUE = "planning"
POLL_S = 0.2  # seconds between two looks into the queue
CLOSING_S = 10  # seconds a running job gets to end in good order
UNFINISHED = ["ENQUEUED", "PENDING"]  # states of DBOS Transact
# Jobs are resumed only by a service of the same version and name (DBOS Transact documentation).
VERSION = "1"
EXECUTOR = "dispatch"
_ONE_AT_A_TIME = threading.Lock()


class Work(Protocol):
    """One kind of work; `broken` is what is said when a job breaks as nobody foresaw."""

    kind: JobKind
    broken: str

    def run(self, request: Mapping[str, Any], tell: Tell, should_stop: ShouldStop) -> JobState:
        """Do the work; raises the errors of the action behind it."""

    def clear(self, request: Mapping[str, Any]) -> None:
        """Remove what a job that is over leaves behind; twice does no harm."""

    def as_job(self, request: Mapping[str, Any], **standing: Any) -> Job:
        """The job with what only this kind has."""


class Jobs:
    """The queue of jobs of one service; at work between `open` and `close`."""

    def __init__(self, settings: Settings, engine: Engine) -> None:
        self._settings = settings
        self._compiler = SearchCompiler()
        self._maps = MapBuilding(settings)
        works: tuple[Work, ...] = (
            Planning(settings, engine, self._compiler),
            self._maps,
            LevellingUpkeep(settings, engine),
        )
        self._works = {work.kind: work for work in works}
        self._workflows: dict[JobKind, Any] = {}
        self._lock = threading.Lock()
        self._told: dict[str, Told] = {}
        self._told_to_stop: set[str] = set()
        self._running: set[str] = set()
        self._closing = threading.Event()

    def open(self) -> None:
        """Begin to work on jobs, those left over from last time first.

        Raises
        ------
        RuntimeError
            When another service in this process is at work: DBOS allows one in a process.
        """
        if not _ONE_AT_A_TIME.acquire(blocking=False):
            raise RuntimeError("Another service in this process works on jobs: close it first.")
        self._settings.data_dir.mkdir(parents=True, exist_ok=True)
        DBOS(
            config={
                "name": "pool-dispatch",
                "system_database_url": f"sqlite:///{self._settings.data_dir / 'jobs.sqlite'}",
                "application_version": VERSION,
                "executor_id": EXECUTOR,
                "log_level": "ERROR",
                "notification_listener_polling_interval_sec": POLL_S,
            }
        )
        for kind, work in self._works.items():
            self._workflows[kind] = DBOS.workflow(name=kind)(self._workflow_of(work))
        self._compiler.begin()
        DBOS.launch()
        self._queue = DBOS.register_queue(
            QUEUE, worker_concurrency=1, global_concurrency=1, polling_interval_sec=POLL_S
        )
        unfinished = DBOS.list_workflows(name=JobKind.BUILD_MAP, status=UNFINISHED)
        self._maps.clear_all_but([_request(status) for status in unfinished])

    def close(self) -> None:
        """Stop a running job in good order (a search keeps its best plan), and work no more."""
        self._closing.set()
        patience_s = CLOSING_S if self._running else 0
        DBOS.destroy(destroy_registry=True, workflow_completion_timeout_sec=patience_s)
        self._compiler.end()
        _ONE_AT_A_TIME.release()

    def plan_week(self, week: IsoWeek, *, seed: int | None, iterations: int | None) -> PlanJob:
        """Put the planning of `week` into the queue; a job already under way is returned as is."""
        for job in self.plan_jobs():
            if job.week == week and not job.state.is_over:
                return job
        request = {
            "week": str(week),
            "seed": self._settings.seed if seed is None else seed,
            "iterations": iterations,
        }
        made = self._put(JobKind.PLAN_WEEK, request)
        assert isinstance(made, PlanJob)  # noqa: S101
        return made

    def build_map(self, upload: Path) -> MapJob:
        """Put the building of the street map from an upload into the queue."""
        made = self._put(JobKind.BUILD_MAP, self._maps.request(upload))
        assert isinstance(made, MapJob)  # noqa: S101
        return made

    def level_upkeep(self, weeks: int) -> LevelJob:
        """Put the spreading of upkeep into the queue; one already under way is returned as is."""
        for job in self.level_jobs():
            if not job.state.is_over:
                return job
        made = self._put(JobKind.LEVEL_UPKEEP, {"weeks": weeks})
        assert isinstance(made, LevelJob)  # noqa: S101
        return made

    def level_jobs(self) -> list[LevelJob]:
        """The latest spreadings of upkeep, newest first."""
        return [job for job in self.all() if isinstance(job, LevelJob)]

    def job(self, job_id: str) -> Job:
        """The job of this id.

        Raises
        ------
        NotFound
            When there is none.
        """
        return self._as_job(self._status(job_id))

    def all(self, limit: int = 50) -> list[Job]:
        """The latest jobs, newest first."""
        found = DBOS.list_workflows(name=[*JobKind], sort_desc=True, limit=limit)
        return [self._as_job(status) for status in found]

    def plan_jobs(self) -> list[PlanJob]:
        """The latest plannings of weeks, newest first."""
        return [job for job in self.all() if isinstance(job, PlanJob)]

    def map_jobs(self) -> list[MapJob]:
        """The latest buildings of the map, newest first."""
        return [job for job in self.all() if isinstance(job, MapJob)]

    def stop(self, job_id: str) -> Job:
        """Stop a job: one that waits is dropped, one that runs ends in good order."""
        status = self._status(job_id)
        state = self._as_job(status).state
        if state is JobState.WAITING:
            DBOS.cancel_workflow(job_id)
            self._works[JobKind(status.name)].clear(_request(status))
        if not state.is_over:
            with self._lock:
                self._told_to_stop.add(job_id)
        return self.job(job_id)

    def _workflow_of(self, work: Work) -> Any:
        def workflow(request: dict[str, Any]) -> dict[str, str]:
            job_id = str(DBOS.workflow_id)
            self._running.add(job_id)
            try:
                outcome = DBOS.run_step({"name": work.kind}, self._do, work, job_id, request)
                work.clear(request)  # after the outcome is stored, which a kill cannot undo
                return outcome
            finally:
                self._running.discard(job_id)

        return workflow

    def _do(self, work: Work, job_id: str, request: dict[str, Any]) -> dict[str, str]:
        def tell(told: Told) -> None:
            with self._lock:
                self._told[job_id] = told

        try:
            return {"state": work.run(request, tell, lambda: self._should_stop(job_id))}
        except Cancelled as error:
            return {"state": JobState.STOPPED, "code": error.code, "detail": str(error)}
        except DispatchError as error:
            return {"state": JobState.FAILED, "code": error.code, "detail": str(error)}
        except Exception:
            log.exception("a job broke", job=job_id, kind=work.kind, request=request)
            return {"state": JobState.FAILED, "code": "internal-error", "detail": work.broken}

    def _should_stop(self, job_id: str) -> bool:
        return self._closing.is_set() or job_id in self._told_to_stop

    def _put(self, kind: JobKind, request: dict[str, Any]) -> Job:
        handle = self._queue.enqueue(self._workflows[kind], request)
        return self.job(handle.workflow_id)

    def _status(self, job_id: str) -> WorkflowStatus:
        found = DBOS.list_workflows(workflow_ids=[job_id], name=[*JobKind])
        if not found:
            raise NotFound(f"There is no job '{job_id}'. Start a new one.")
        return found[0]

    def _as_job(self, status: WorkflowStatus) -> Job:
        outcome = status.output if isinstance(status.output, dict) else {}
        with self._lock:
            told = self._told.get(status.workflow_id, Told())
        return self._works[JobKind(status.name)].as_job(
            _request(status),
            id=status.workflow_id,
            state=self._state(status, outcome),
            attempt=max(1, status.recovery_attempts or 1),
            line=told.line,
            progress=told.progress,
            code=outcome.get("code", ""),
            detail=outcome.get("detail", ""),
        )

    def _state(self, status: WorkflowStatus, outcome: dict[str, str]) -> JobState:
        if status.status == "SUCCESS":
            return JobState(outcome["state"])
        if status.status == "ENQUEUED":
            return JobState.WAITING
        if status.status == "PENDING":
            stopping = self._should_stop(status.workflow_id)
            return JobState.STOPPING if stopping else JobState.RUNNING
        return JobState.STOPPED if status.status == "CANCELLED" else JobState.FAILED


def _request(status: WorkflowStatus) -> dict[str, Any]:
    """What the job was asked for."""
    return dict(status.input["args"][0]) if status.input else {}
