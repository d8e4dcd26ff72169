"""Columns of records, readings, photos, follow-ups and water targets; see `dispatch.records`.

Moments are UTC, in columns that do not say so. Whatever is never searched for in SQL stands in
`content`, as it is exchanged.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import JSON, DateTime, String
from sqlmodel import Field, SQLModel

from dispatch.readings import ReadingKind
from dispatch.records.follow_ups import FollowUpKind

UUID_LENGTH = 36  # characters; RFC 9562
DIGEST_LENGTH = 64  # characters; SHA-256 in hexadecimal digits
ID_LENGTH = 64  # characters; as that of sites and technicians
NAME_LENGTH = 200
NOTE_LENGTH = 4000


class RecordFields(SQLModel):
    """A record as it stands, with the number of its version and the flags it was kept with."""

    id: str = Field(primary_key=True, max_length=UUID_LENGTH)
    site_id: str = Field(foreign_key="site.id", max_length=ID_LENGTH)
    technician_id: str = Field(max_length=ID_LENGTH)  # no foreign key: it outlives the technician
    day: date
    visit_id: str | None = Field(default=None, max_length=NAME_LENGTH)
    arrived_at: datetime | None = Field(default=None, sa_type=DateTime)
    left_at: datetime | None = Field(default=None, sa_type=DateTime)
    skipped: bool
    upkeep_kinds: list[str] = Field(sa_type=JSON)
    version: int = Field(ge=1)
    content: dict[str, Any] = Field(sa_type=JSON)
    flags: list[str] = Field(sa_type=JSON)
    received_at: datetime = Field(sa_type=DateTime)
    moved: dict[str, Any] | None = Field(default=None, sa_type=JSON)  # see `site_moves`


class RecordVersionFields(SQLModel):
    """One version of a record, the first one included: who changed it, when and why."""

    record_id: str = Field(primary_key=True, foreign_key="record.id", max_length=UUID_LENGTH)
    version: int = Field(primary_key=True, ge=1)
    content: dict[str, Any] = Field(sa_type=JSON)
    digest: str = Field(max_length=DIGEST_LENGTH)
    changed_at: datetime = Field(sa_type=DateTime)
    changed_by: str = Field(max_length=NAME_LENGTH)
    reason: str = Field(max_length=NOTE_LENGTH)


class ReadingFields(SQLModel):
    """One reading of the current version of a record, in the unit of its kind."""

    record_id: str = Field(primary_key=True, foreign_key="record.id", max_length=UUID_LENGTH)
    position: int = Field(primary_key=True, ge=0)
    site_id: str = Field(max_length=ID_LENGTH)
    kind: ReadingKind = Field(sa_type=String)
    at: datetime = Field(sa_type=DateTime)
    value: float
    method: str = Field(max_length=NAME_LENGTH)
    odd: str = Field(max_length=NOTE_LENGTH)


class AsideFields(SQLModel):
    """What was sent and could not be kept as a record, word for word, with the reason."""

    id: str = Field(primary_key=True, max_length=DIGEST_LENGTH)
    record_id: str = Field(max_length=NAME_LENGTH)
    content: Any = Field(sa_type=JSON)
    code: str = Field(max_length=NAME_LENGTH)
    reason: str = Field(max_length=NOTE_LENGTH)
    received_at: datetime = Field(sa_type=DateTime)
    settled_at: datetime | None = Field(default=None, sa_type=DateTime)
    settled_by: str = Field(max_length=NAME_LENGTH)
    outcome: str = Field(max_length=NOTE_LENGTH)


class PhotoFields(SQLModel):
    """A photo that was received; its bytes are a file of that name."""

    id: str = Field(primary_key=True, max_length=DIGEST_LENGTH)
    media_type: str = Field(max_length=NAME_LENGTH)
    size_b: int = Field(gt=0)
    received_at: datetime = Field(sa_type=DateTime)


class FollowUpFields(SQLModel):
    """A job that follows from a record; open while `settled_on` is empty."""

    id: str = Field(primary_key=True, max_length=NAME_LENGTH)
    record_id: str = Field(foreign_key="record.id", max_length=UUID_LENGTH)
    site_id: str = Field(max_length=ID_LENGTH)
    kind: FollowUpKind = Field(sa_type=String)
    due_on: date
    urgent: bool
    reason: str = Field(max_length=NOTE_LENGTH)
    minutes: int = Field(ge=1)
    noted_on: date
    about: ReadingKind | None = Field(default=None, sa_type=String)
    settled_on: date | None = None
    settled_by: str = Field(max_length=NAME_LENGTH)
    outcome: str = Field(max_length=NOTE_LENGTH)


class WaterTargetFields(SQLModel):
    """The company's own range of one reading; a kind without a row is as delivered."""

    kind: ReadingKind = Field(primary_key=True, sa_type=String)
    least: float | None = None
    ideal_low: float | None = None
    ideal_high: float | None = None
    most: float | None = None
    changed_by: str = Field(max_length=NAME_LENGTH)
    changed_on: date
    note: str = Field(max_length=NOTE_LENGTH)
