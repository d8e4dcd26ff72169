"""Tables of what is given out: addresses of calendars, and messages to customers."""

from __future__ import annotations

from datetime import date, datetime

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


class MessageFields(SQLModel):
    """A message to a customer, written down before it is sent so that none is sent twice.

    `outcome` is sending, sent or failed, `detail` what went wrong. Moments are UTC.
    """

    visit_id: str = Field(primary_key=True, max_length=WHO_LENGTH)
    kind: str = Field(primary_key=True, max_length=20)
    day: date
    site_id: str = Field(max_length=ID_LENGTH)
    at: datetime = Field(sa_type=DateTime)
    words: str = Field(max_length=1000)
    outcome: str = Field(max_length=20)
    detail: str = Field(max_length=1000)


class MessageRow(MessageFields, table=True):
    """Table of the messages."""

    __tablename__ = "message"
