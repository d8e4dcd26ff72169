"""Table of what is given out: addresses of calendars."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import DateTime
from sqlmodel import Field, SQLModel

from dispatch.store.metadata import METADATA
from dispatch.store.record_fields import ID_LENGTH

assert METADATA.naming_convention  # noqa: S101 - keys of tables made without it have no names

WHO_LENGTH = 200


class CalendarFields(SQLModel):
    """The address of a technician's calendar that is good now; `mark` stands sealed in it."""

    technician_id: str = Field(primary_key=True, max_length=ID_LENGTH)
    mark: str = Field(max_length=64)
    made_at: datetime = Field(sa_type=DateTime)
    who: str = Field(max_length=WHO_LENGTH)


class CalendarRow(CalendarFields, table=True):
    """Table of the calendars' addresses."""

    __tablename__ = "calendar"
