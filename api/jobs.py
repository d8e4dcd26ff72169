"""Planning as background jobs that outlive the process.

Each job is a durable workflow of DBOS Transact on a SQLite file beside the database: a job that a
killed process left behind begins again when the service starts, with the same seed and so with
the same plan. One job runs at a time. Progress is kept in memory only; after a restart it begins
again with the job.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import structlog
from dbos import DBOS, WorkflowStatus
from sqlalchemy import Engine

from dispatch.actions.plan_week import plan_week
from dispatch.clock import IsoWeek
from dispatch.errors import Cancelled, DispatchError, NotFound
from dispatch.planning.progress import Progress
from dispatch.settings import Settings

log = structlog.get_logger(__name__)

WORKFLOW = "plan-week"
QUEUE = "planning"
POLL_S = 0.2  # seconds between two looks into the queue
CLOSING_S = 10  # seconds a running search gets to keep its best plan
# Jobs are resumed only by a service of the same version and name (DBOS Transact documentation).
VERSION = "1"
EXECUTOR = "dispatch"
_ONE_AT_A_TIME = threading.Lock()


class JobState(StrEnum):
    """Where a planning job stands."""

    WAITING = "waiting"  # another job is running
    RUNNING = "running"
    STOPPING = "stopping"  # told to stop; the best plan so far is being kept
    DONE = "done"
    STOPPED = "stopped"  # stopped early; the best plan so far was kept, if there was one
    FAILED = "failed"

    @property
    def is_over(self) -> bool:
        """Whether nothing more will happen."""
        return self in {JobState.DONE, JobState.STOPPED, JobState.FAILED}


@dataclass(frozen=True, slots=True)
class Job:
    """A planning job as it stands now.

    `progress` is None until the search has begun. `attempt` counts the starts; above 1 the
    service was ended while the job ran. `code` and `detail` say why a job failed.
    """

    id: str
    week: IsoWeek
    seed: int
    iterations: int | None
    state: JobState
    attempt: int = 1
    progress: Progress | None = None
    code: str = ""
    detail: str = ""


class Jobs:
    """The queue of planning jobs of one service; at work between `open` and `close`."""

    def __init__(self, settings: Settings, engine: Engine) -> None:
        self._settings = settings
        self._engine = engine
        self._lock = threading.Lock()
        self._progress: dict[str, Progress] = {}
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

        def plan(request: dict[str, Any]) -> dict[str, str]:
            return self._work_on(str(DBOS.workflow_id), request)

        self._workflow = DBOS.workflow(name=WORKFLOW)(plan)
        DBOS.launch()
        self._queue = DBOS.register_queue(
            QUEUE, worker_concurrency=1, global_concurrency=1, polling_interval_sec=POLL_S
        )

    def close(self) -> None:
        """Stop a running search, keep its best plan so far, and work no more."""
        self._closing.set()
        patience_s = CLOSING_S if self._running else 0
        DBOS.destroy(destroy_registry=True, workflow_completion_timeout_sec=patience_s)
        _ONE_AT_A_TIME.release()

    def start(self, week: IsoWeek, *, seed: int | None, iterations: int | None) -> Job:
        """Put the planning of `week` into the queue; a job already under way is returned as is."""
        for job in self.all():
            if job.week == week and not job.state.is_over:
                return job
        request = {
            "week": str(week),
            "seed": self._settings.seed if seed is None else seed,
            "iterations": iterations,
        }
        handle = self._queue.enqueue(self._workflow, request)
        return self.job(handle.workflow_id)

    def job(self, job_id: str) -> Job:
        """The job of this id.

        Raises
        ------
        NotFound
            When there is none.
        """
        found = DBOS.list_workflows(workflow_ids=[job_id], name=WORKFLOW)
        if not found:
            raise NotFound(f"There is no planning job '{job_id}'. Start a new one for the week.")
        return self._as_job(found[0])

    def all(self, limit: int = 50) -> list[Job]:
        """The latest jobs, newest first."""
        found = DBOS.list_workflows(name=WORKFLOW, sort_desc=True, limit=limit)
        return [self._as_job(status) for status in found]

    def stop(self, job_id: str) -> Job:
        """Stop a job: one that waits is dropped, one that runs keeps its best plan so far."""
        job = self.job(job_id)
        if job.state is JobState.WAITING:
            DBOS.cancel_workflow(job_id)
        if not job.state.is_over:
            with self._lock:
                self._told_to_stop.add(job_id)
        return self.job(job_id)

    def _work_on(self, job_id: str, request: dict[str, Any]) -> dict[str, str]:
        self._running.add(job_id)
        try:
            return DBOS.run_step({"name": "plan"}, self._plan, job_id, request)
        finally:
            self._running.discard(job_id)

    def _plan(self, job_id: str, request: dict[str, Any]) -> dict[str, str]:
        def note(progress: Progress) -> None:
            with self._lock:
                self._progress[job_id] = progress

        try:
            plan_week(
                self._engine,
                self._settings,
                IsoWeek.parse(request["week"]),
                seed=request["seed"],
                iterations=request["iterations"],
                today=self._settings.today(),
                progress=note,
                should_stop=lambda: self._should_stop(job_id),
            )
        except Cancelled as error:
            return {"state": JobState.STOPPED, "code": error.code, "detail": str(error)}
        except DispatchError as error:
            return {"state": JobState.FAILED, "code": error.code, "detail": str(error)}
        except Exception:
            log.exception("a planning job broke", job=job_id, week=request["week"])
            return {
                "state": JobState.FAILED,
                "code": "internal-error",
                "detail": "Something unexpected went wrong while planning; the plan before it is "
                "untouched. The log of the service says why.",
            }
        return {"state": JobState.STOPPED if self._should_stop(job_id) else JobState.DONE}

    def _should_stop(self, job_id: str) -> bool:
        return self._closing.is_set() or job_id in self._told_to_stop

    def _as_job(self, status: WorkflowStatus) -> Job:
        request = status.input["args"][0] if status.input else {}
        outcome = status.output if isinstance(status.output, dict) else {}
        with self._lock:
            progress = self._progress.get(status.workflow_id)
        return Job(
            id=status.workflow_id,
            week=IsoWeek.parse(request["week"]),
            seed=request["seed"],
            iterations=request["iterations"],
            state=self._state(status, outcome),
            attempt=max(1, status.recovery_attempts or 1),
            progress=progress,
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
