"""Columns of dated changes of standing routes, and of studies of the loads."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import JSON, DateTime, String
from sqlmodel import Field, SQLModel

from dispatch.standing.values import LONGEST_WHY, ChangeState
from dispatch.store.service_plan_fields import ID_LENGTH, NAME_LENGTH

STUDY_NAME_LENGTH = 40


class StandingChangeFields(SQLModel):
    """One customer's change of technician, weekdays or turn from a Monday on.

    `batch` is shared by changes that were decided together. `ended_on` and `ended_by` say when a
    change that is planned no more was carried out or withdrawn, and by whom.
    """

    id: str = Field(primary_key=True, min_length=1, max_length=ID_LENGTH)
    batch: str = Field(min_length=1, max_length=ID_LENGTH)
    site_id: str = Field(foreign_key="site.id", ondelete="CASCADE")
    from_on: date
    old_technician_id: str | None = Field(default=None, max_length=ID_LENGTH)
    old_weekdays: list[int] = Field(sa_type=JSON)
    old_anchor_on: date | None = None
    new_technician_id: str | None = Field(default=None, max_length=ID_LENGTH)
    new_weekdays: list[int] = Field(sa_type=JSON)
    new_anchor_on: date | None = None
    why: str = Field(max_length=LONGEST_WHY)
    who: str = Field(max_length=NAME_LENGTH)
    made_on: date
    state: ChangeState = Field(sa_type=String)
    ended_on: date | None = None
    ended_by: str = Field(max_length=NAME_LENGTH)


class StudyFields(SQLModel):
    """The latest outcome of a long reckoning, as JSON, by its name and what it is about."""

    name: str = Field(primary_key=True, max_length=STUDY_NAME_LENGTH)
    subject: str = Field(primary_key=True, max_length=ID_LENGTH)
    made_at: datetime = Field(sa_type=DateTime)
    result: dict[str, Any] = Field(sa_type=JSON)
