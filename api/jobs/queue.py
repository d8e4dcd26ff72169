"""Jobs that outlive the process.

Each job is a durable workflow of DBOS Transact, on a SQLite file beside the database or in the
PostgreSQL database: a job that a killed process left behind begins again, with the same request
and so with the same outcome. On SQLite one process works, and what a job says of itself is kept in
memory only. With PostgreSQL any number of processes on any number of machines work on the jobs of
all branches; those of a dead one are taken over by the others (`liveness`), and what was stored is
never stored twice (`dispatch.store.job_reports`).
"""

from __future__ import annotations

import threading
import uuid
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Any

import structlog
from dbos import DBOS, DBOSConfig, SetWorkflowID, WorkflowStatus
from sqlalchemy import Engine

from api.jobs.compiling import SearchCompiler
from api.jobs.job import Job, JobKind, JobState, LevelJob, MapJob, PlanJob, StudyJob, Told
from api.jobs.liveness import Liveness, new_worker_name
from api.jobs.works import Desk, Desks
from dispatch.clock import IsoWeek
from dispatch.errors import Cancelled, DispatchError, NotFound
from dispatch.settings import Settings
from dispatch.store.job_reports import DoneBefore
from dispatch.words import _, reading_in

log = structlog.get_logger(__name__)

QUEUE = "planning"
POLL_S = 0.2  # seconds between two looks into the queue
CLOSING_S = 20  # seconds a running job gets to end in good order
UNFINISHED = ["ENQUEUED", "PENDING"]  # states of DBOS Transact
# Jobs are resumed only by a service of the same version and name (DBOS Transact documentation).
VERSION = "1"
EXECUTOR = "dispatch"  # on SQLite, where one process works
SCHEMA = "dispatch_jobs"  # of PostgreSQL, for what DBOS Transact keeps
_ONE_AT_A_TIME = threading.Lock()


class Jobs:
    """The queue of jobs of one service; at work between `open` and `close`."""

    def __init__(self, settings: Settings, engine: Engine) -> None:
        self._settings = settings
        self._worker = new_worker_name() if settings.uses_postgres else EXECUTOR
        self._compiler = SearchCompiler()
        self._desks = Desks(settings, engine, self._compiler, self._worker)
        self._liveness: Liveness | None = None
        self._workflows: dict[JobKind, Any] = {}
        self._running: set[str] = set()
        self._closing = threading.Event()

    def open(self, *, works: bool = True) -> None:
        """Begin to work on jobs, those left over from last time first.

        With `works` off, jobs are put into the queue and looked at, and other processes do them.

        Raises
        ------
        RuntimeError
            When another service in this process is at work: DBOS allows one in a process.
        """
        if not _ONE_AT_A_TIME.acquire(blocking=False):
            raise RuntimeError("Another service in this process works on jobs: close it first.")
        self._settings.data_dir.mkdir(parents=True, exist_ok=True)
        is_shared = self._settings.uses_postgres
        if is_shared:
            self._liveness = Liveness(self._settings, self._worker)
        DBOS(config=self._config())
        for kind in JobKind:
            self._workflows[kind] = DBOS.workflow(name=kind)(self._workflow_of(kind))
        if works:
            self._compiler.begin()
        else:
            DBOS.listen_queues([])
        DBOS.launch()
        at_once = self._settings.jobs_at_once
        self._queue = DBOS.register_queue(
            QUEUE,
            worker_concurrency=at_once,
            global_concurrency=None if is_shared else at_once,
            polling_interval_sec=POLL_S,
        )
        unfinished = DBOS.list_workflows(name=JobKind.BUILD_MAP, status=UNFINISHED)
        mine = [one for one in map(_request, unfinished) if self._is_mine(one)]
        self._desk.maps.clear_all_but(mine)
        if self._liveness is not None:
            self._liveness.begin()

    def close(self) -> None:
        """Stop a running job in good order (a search keeps its best plan), and work no more."""
        self._closing.set()
        patience_s = CLOSING_S if self._running else 0
        DBOS.destroy(destroy_registry=True, workflow_completion_timeout_sec=patience_s)
        if self._liveness is not None:
            self._liveness.end()
        self._compiler.end()
        self._desks.close()
        _ONE_AT_A_TIME.release()

    def plan_week(
        self,
        week: IsoWeek,
        *,
        seed: int | None,
        iterations: int | None,
        even_min: int | None = None,
        is_proposal: bool = False,
        who: str = "",
    ) -> PlanJob:
        """Put the planning of `week` into the queue; a job already under way is returned as is.

        A proposal is made from the present plan for `who`, and kept beside it.
        """
        for job in self.plan_jobs():
            if job.week == week and not job.state.is_over:
                return job
        request = {
            "week": str(week),
            "seed": self._settings.seed if seed is None else seed,
            "iterations": iterations,
            "even_min": even_min,
            "is_proposal": is_proposal,
            "who": who,
        }
        made = self._put(JobKind.PLAN_WEEK, request)
        assert isinstance(made, PlanJob)  # noqa: S101
        return made

    def plan_branch(self, branch: str, week: IsoWeek) -> PlanJob:
        """Put the planning of `week` for another branch into the queue, with the usual settings."""
        for owner, job in self.of_all_branches():
            same = owner == branch and isinstance(job, PlanJob) and job.week == week
            if same and not job.state.is_over:
                assert isinstance(job, PlanJob)  # noqa: S101
                return job
        request = {"week": str(week), "seed": self._settings.seed, "iterations": None}
        made = self._put(JobKind.PLAN_WEEK, request, branch)
        assert isinstance(made, PlanJob)  # noqa: S101
        return made

    def of_all_branches(self, limit: int = 500) -> list[tuple[str, Job]]:
        """The latest jobs of every branch with its name, newest first."""
        found = DBOS.list_workflows(name=[*JobKind], sort_desc=True, limit=limit)
        return [
            (_request(one).get("branch", ""), self._as_job(one, (Told(), False))) for one in found
        ]

    def build_map(self, upload: Path) -> MapJob:
        """Put the building of the street map from an upload into the queue."""
        made = self._put(JobKind.BUILD_MAP, self._desk.maps.request(upload))
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

    def study(self, name: str, subject: str, wish: Mapping[str, Any]) -> StudyJob:
        """Put a reckoning into the queue; one of this name and subject under way is returned."""
        for job in self.study_jobs(name, subject):
            if not job.state.is_over:
                return job
        made = self._put(JobKind.STUDY, {"name": name, "subject": subject, "wish": dict(wish)})
        assert isinstance(made, StudyJob)  # noqa: S101
        return made

    def study_jobs(self, name: str, subject: str = "") -> list[StudyJob]:
        """The latest reckonings of this name and subject, newest first."""
        found = [job for job in self.all() if isinstance(job, StudyJob)]
        return [job for job in found if (job.name, job.subject) == (name, subject)]

    def job(self, job_id: str) -> Job:
        """The job of this id.

        Raises
        ------
        NotFound
            When there is none.
        """
        status = self._status(job_id)
        return self._as_job(status, self._desk.reports.told([job_id])[job_id])

    def all(self, limit: int = 50) -> list[Job]:
        """The latest jobs of this branch, newest first."""
        prefix = f"{self._settings.branch}." if self._settings.branch else None
        found = DBOS.list_workflows(
            name=[*JobKind], sort_desc=True, limit=limit, workflow_id_prefix=prefix
        )
        mine = [status for status in found if self._is_mine(_request(status))]
        told = self._desk.reports.told([one.workflow_id for one in mine])
        return [self._as_job(status, told[status.workflow_id]) for status in mine]

    def plan_jobs(self) -> list[PlanJob]:
        """The latest plannings of weeks, newest first."""
        return [job for job in self.all() if isinstance(job, PlanJob)]

    def map_jobs(self) -> list[MapJob]:
        """The latest buildings of the map, newest first."""
        return [job for job in self.all() if isinstance(job, MapJob)]

    def stop(self, job_id: str) -> Job:
        """Stop a job: one that waits is dropped, one that runs ends in good order."""
        status = self._status(job_id)
        state = self.job(job_id).state
        if state is JobState.WAITING:
            DBOS.cancel_workflow(job_id)
            self._desk.works[JobKind(status.name)].clear(_request(status))
        if not state.is_over:
            self._desk.reports.stop(job_id)
        return self.job(job_id)

    @property
    def _desk(self) -> Desk:
        return self._desks.of(self._settings.branch)

    def _config(self) -> DBOSConfig:
        config: DBOSConfig = {
            "name": "pool-dispatch",
            "application_version": VERSION,
            "executor_id": self._worker,
            "log_level": "ERROR",
            "notification_listener_polling_interval_sec": POLL_S,
        }
        if self._settings.uses_postgres:
            config["system_database_url"] = self._settings.database_url
            config["dbos_system_schema"] = SCHEMA
        else:
            file = self._settings.data_dir / "jobs.sqlite"
            config["system_database_url"] = f"sqlite:///{file}"
        return config

    def _workflow_of(self, kind: JobKind) -> Any:
        def workflow(request: dict[str, Any]) -> dict[str, str]:
            job_id = str(DBOS.workflow_id)
            self._running.add(job_id)
            try:
                desk = self._desks.of(request.get("branch", ""))
                outcome = DBOS.run_step({"name": kind}, self._do, desk, kind, job_id, request)
                # after the outcome is stored, which a kill cannot undo
                desk.works[kind].clear(request)
                return outcome
            finally:
                self._running.discard(job_id)

        return workflow

    def _do(
        self, desk: Desk, kind: JobKind, job_id: str, request: dict[str, Any]
    ) -> dict[str, str]:
        work, reports = desk.works[kind], desk.reports

        def should_stop() -> bool:
            return self._closing.is_set() or reports.should_stop(job_id)

        try:
            done_before = reports.begin(job_id).outcome
            if done_before:
                return {"state": done_before}
            told = partial(reports.tell, job_id)
            with reading_in(self._settings.language):
                return {"state": work.run(job_id, request, told, should_stop)}
        except DoneBefore as error:
            return {"state": error.outcome}
        except Cancelled as error:
            return {"state": JobState.STOPPED, "code": error.code, "detail": str(error)}
        except DispatchError as error:
            return {"state": JobState.FAILED, "code": error.code, "detail": str(error)}
        except Exception:
            log.exception("a job broke", job=job_id, kind=kind, request=request)
            return self._broken(work.broken)

    def _broken(self, words: str) -> dict[str, str]:
        """How a job ended that broke; one whose process was ended with ours has no fault."""
        if not self._closing.is_set():
            return {"state": JobState.FAILED, "code": "internal-error", "detail": words}
        detail = _(
            "The service was ended while this was under way. What had not been stored by then is "
            "lost: start it again."
        )
        return {"state": JobState.STOPPED, "code": Cancelled.code, "detail": detail}

    def _put(self, kind: JobKind, request: dict[str, Any], of_branch: str = "") -> Job:
        branch = of_branch or self._settings.branch
        job_id = f"{branch}.{uuid.uuid4()}" if branch else str(uuid.uuid4())
        asked = request | ({"branch": branch} if branch else {})
        with SetWorkflowID(job_id):
            self._queue.enqueue(self._workflows[kind], asked)
        (status,) = DBOS.list_workflows(workflow_ids=[job_id])
        return self._as_job(status, (Told(), False))

    def _is_mine(self, request: Mapping[str, Any]) -> bool:
        return bool(request.get("branch", "") == self._settings.branch)

    def _status(self, job_id: str) -> WorkflowStatus:
        found = DBOS.list_workflows(workflow_ids=[job_id], name=[*JobKind])
        if not found or not self._is_mine(_request(found[0])):
            raise NotFound(_("There is no job '{job_id}'. Start a new one.").format(job_id=job_id))
        return found[0]

    def _as_job(self, status: WorkflowStatus, told: tuple[Told, bool]) -> Job:
        outcome = status.output if isinstance(status.output, dict) else {}
        said, is_stopping = told
        return self._desk.works[JobKind(status.name)].as_job(
            _request(status),
            id=status.workflow_id,
            state=_state(status, outcome, self._closing.is_set() or is_stopping),
            attempt=max(1, status.recovery_attempts or 1),
            line=said.line,
            progress=said.progress,
            code=outcome.get("code", ""),
            detail=outcome.get("detail", ""),
        )


def _state(status: WorkflowStatus, outcome: dict[str, str], is_stopping: bool) -> JobState:
    if status.status == "SUCCESS":
        return JobState(outcome["state"])
    if status.status == "ENQUEUED":
        return JobState.WAITING
    if status.status == "PENDING":
        return JobState.STOPPING if is_stopping else JobState.RUNNING
    return JobState.STOPPED if status.status == "CANCELLED" else JobState.FAILED


def _request(status: WorkflowStatus) -> dict[str, Any]:
    """What the job was asked for."""
    return dict(status.input["args"][0]) if status.input else {}
