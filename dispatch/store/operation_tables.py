"""The table of running the service: what jobs say of themselves across processes."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import JSON, DateTime
from sqlmodel import Field, SQLModel

from dispatch.store.metadata import METADATA

assert METADATA.naming_convention  # noqa: S101 - keys of tables made without it have no names

NAME_LENGTH = 200


class JobReportRow(SQLModel, table=True):
    """One row for each job that began: who works on it, how far it is, how it ended."""

    __tablename__ = "job_report"

    job_id: str = Field(primary_key=True, max_length=NAME_LENGTH)
    worker: str = Field(max_length=NAME_LENGTH)
    told: dict[str, Any] = Field(sa_type=JSON)
    told_at: datetime = Field(sa_type=DateTime)
    stop_wanted: bool
    outcome: str = Field(max_length=NAME_LENGTH)  # empty until what the job was for is stored
