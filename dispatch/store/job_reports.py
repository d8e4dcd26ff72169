"""What jobs say of themselves, kept where every process of the service can read it.

The outcome is written in the transaction that stores what the job was for, so that a job that
is begun again after a crash knows whether it had ended: nothing is done twice.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import select, update
from sqlmodel import Session

from dispatch.store.operation_tables import JobReportRow
from dispatch.store.records import naive
from dispatch.store.tables import read_rows, table_of, write_rows

Claim = Callable[[Session], None]


class DoneBefore(Exception):
    """Another run of the same job has stored its outcome; `outcome` says which."""

    def __init__(self, outcome: str) -> None:
        super().__init__(outcome)
        self.outcome = outcome


@dataclass(frozen=True, slots=True)
class JobReport:
    """The report of one job; `outcome` is empty until what the job was for is stored."""

    job_id: str
    worker: str = ""
    told: dict[str, Any] = field(default_factory=dict)
    stop_wanted: bool = False
    outcome: str = ""


def unclaimed(_session: Session) -> None:
    """The claim of work that is no job: there is nothing to write."""


def begin_report(session: Session, job_id: str, worker: str, now: datetime) -> JobReport:
    """Note that a worker begins a job; the report comes back with what earlier runs left."""
    known = read_reports(session, [job_id]).get(job_id, JobReport(job_id))
    columns = {
        "job_id": job_id,
        "worker": worker,
        "told": {},
        "told_at": naive(now),
        "stop_wanted": known.stop_wanted,
        "outcome": known.outcome,
    }
    write_rows(session, JobReportRow, [columns])
    return JobReport(job_id, worker, {}, known.stop_wanted, known.outcome)


def write_told(session: Session, job_id: str, told: dict[str, Any], now: datetime) -> None:
    """Keep the latest that a job said."""
    table = table_of(JobReportRow)
    here = table.c.job_id == job_id
    session.execute(update(table).where(here).values(told=told, told_at=naive(now)))


def write_stop_wanted(session: Session, job_id: str, now: datetime) -> None:
    """Note that a job is to stop, whichever process works on it."""
    known = read_reports(session, [job_id]).get(job_id, JobReport(job_id))
    columns = {
        "job_id": job_id,
        "worker": known.worker,
        "told": known.told,
        "told_at": naive(now),
        "stop_wanted": True,
        "outcome": known.outcome,
    }
    write_rows(session, JobReportRow, [columns])


def claim_outcome(session: Session, job_id: str, outcome: str) -> None:
    """Note the outcome in the transaction that stores it.

    Raises
    ------
    DoneBefore
        When another run of the job has done so; nothing of this one is stored then.
    """
    table = table_of(JobReportRow)
    here = table.c.job_id == job_id
    known = session.scalar(select(table.c.outcome).where(here))
    if known:
        raise DoneBefore(known)
    session.execute(update(table).where(here).values(outcome=outcome))


def read_reports(session: Session, ids: Collection[str]) -> dict[str, JobReport]:
    """Reports of these jobs by id, where there are any."""
    table = table_of(JobReportRow)
    return {
        row["job_id"]: JobReport(
            row["job_id"], row["worker"], row["told"], row["stop_wanted"], row["outcome"]
        )
        for row in read_rows(session, JobReportRow, table.c.job_id.in_(list(ids)))
    }
