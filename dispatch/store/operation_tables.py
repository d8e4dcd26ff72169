"""The tables of running the service: what jobs say across processes, failed sign-ins, links."""

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


class FailedSignInRow(SQLModel, table=True):
    """One row for each failed attempt to sign in of the last hour; names stand there as digests."""

    __tablename__ = "failed_sign_in"

    number: int | None = Field(default=None, primary_key=True)
    at: datetime = Field(sa_type=DateTime, index=True)
    account: str = Field(max_length=64)
    address: str = Field(max_length=64)


class OpenedLinkRow(SQLModel, table=True):
    """One row for each recent call over a link given out; addresses stand there as digests."""

    __tablename__ = "opened_link"

    number: int | None = Field(default=None, primary_key=True)
    at: datetime = Field(sa_type=DateTime, index=True)
    address: str = Field(max_length=64)
    led_nowhere: bool
