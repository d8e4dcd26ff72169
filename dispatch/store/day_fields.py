"""Columns of the day: revisions of its routes, and what happened; see `dispatch.day`.

Moments are UTC, in columns that do not say so. Neither table is ever changed, only added to.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import JSON, DateTime, String
from sqlmodel import Field, SQLModel

from dispatch.day.events import LONGEST_NAME, LONGEST_WHY, EventKind
from dispatch.store.record_fields import ID_LENGTH, UUID_LENGTH


class DayRevisionFields(SQLModel):
    """A technician's route of a day as it was published; `number` is that of the event."""

    day: date = Field(primary_key=True)
    technician_id: str = Field(primary_key=True, max_length=ID_LENGTH)  # outlives the technician
    revision: int = Field(primary_key=True, ge=1)
    number: int = Field(ge=1)
    route: dict[str, Any] = Field(sa_type=JSON)
    works: list[dict[str, Any]] = Field(sa_type=JSON)


class DayEventFields(SQLModel):
    """One event in a day's history."""

    day: date = Field(primary_key=True)
    number: int = Field(primary_key=True, ge=1)
    id: str = Field(max_length=UUID_LENGTH)
    kind: EventKind = Field(sa_type=String)
    at: datetime = Field(sa_type=DateTime)
    received_at: datetime = Field(sa_type=DateTime)
    who: str = Field(max_length=LONGEST_NAME)
    technician_id: str | None = Field(default=None, max_length=LONGEST_NAME)
    visit_id: str | None = Field(default=None, max_length=LONGEST_NAME)
    why: str = Field(max_length=LONGEST_WHY)
    data: dict[str, Any] = Field(sa_type=JSON)
