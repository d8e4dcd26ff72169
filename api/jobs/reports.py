"""What running jobs say and are told, in this process and across processes.

Within a process it is kept in memory. With PostgreSQL a job may run on another machine than the
one that is asked about it, so that it stands in the database as well, once a second at most.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Collection
from dataclasses import asdict

import structlog
from sqlalchemy import Engine
from sqlalchemy.exc import SQLAlchemyError

from api.jobs.job import Told
from dispatch.planning.progress import Progress
from dispatch.settings import Settings
from dispatch.store.db import transaction
from dispatch.store.job_reports import JobReport, begin_report, read_reports, write_told
from dispatch.store.job_reports import write_stop_wanted as write_stop

log = structlog.get_logger(__name__)

TELL_EVERY_S = 1.0  # a figure on a page need not be newer


class Reports:
    """The reports of one branch's jobs."""

    def __init__(self, settings: Settings, engine: Engine, worker: str) -> None:
        self._settings, self._engine, self._worker = settings, engine, worker
        self._is_shared = settings.uses_postgres
        self._lock = threading.Lock()
        self._told: dict[str, Told] = {}
        self._told_to_stop: set[str] = set()
        self._exchanged_at: dict[str, float] = {}

    def begin(self, job_id: str) -> JobReport:
        """Note that this process begins a job, and learn what earlier runs of it left."""
        with transaction(self._engine) as session:
            report = begin_report(session, job_id, self._worker, self._settings.now())
        if report.stop_wanted:
            self._told_to_stop.add(job_id)
        return report

    def tell(self, job_id: str, told: Told) -> None:
        """Take the latest that a job said; its wish to be stopped is looked up on the way."""
        with self._lock:
            self._told[job_id] = told
        self._exchange(job_id)

    def stop(self, job_id: str) -> None:
        """Tell a job to stop."""
        with self._lock:
            self._told_to_stop.add(job_id)
        if self._is_shared:
            with transaction(self._engine) as session:
                write_stop(session, job_id, self._settings.now())

    def should_stop(self, job_id: str) -> bool:
        """Whether a job was told to stop."""
        self._exchange(job_id)
        return job_id in self._told_to_stop

    def told(self, ids: Collection[str]) -> dict[str, tuple[Told, bool]]:
        """The latest that these jobs said, and whether they were told to stop."""
        with self._lock:
            found = {one: (self._told.get(one, Told()), one in self._told_to_stop) for one in ids}
        away = [one for one in ids if one not in self._exchanged_at]
        if self._is_shared and away:
            with transaction(self._engine, read_only=True) as session:
                for one, report in read_reports(session, away).items():
                    found[one] = (_told_of(report), report.stop_wanted)
        return found

    def _exchange(self, job_id: str) -> None:
        now = time.monotonic()
        if not self._is_shared or now - self._exchanged_at.get(job_id, 0) < TELL_EVERY_S:
            return
        self._exchanged_at[job_id] = now
        try:
            with transaction(self._engine) as session:
                told = self._told.get(job_id, Told())
                write_told(session, job_id, asdict(told), self._settings.now())
                if read_reports(session, [job_id])[job_id].stop_wanted:
                    self._told_to_stop.add(job_id)
        except SQLAlchemyError as error:  # the work itself can go on without
            log.warning("the report of a job was not written", job=job_id, why=str(error))


def _told_of(report: JobReport) -> Told:
    progress = report.told.get("progress")
    line = str(report.told.get("line", ""))
    return Told(line, None if progress is None else Progress(**progress))
