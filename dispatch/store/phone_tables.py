"""Table of what phones sent: each entry once, with what became of it."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import JSON, BigInteger, DateTime, Index
from sqlmodel import Field, SQLModel

from dispatch.store.metadata import METADATA

assert METADATA.naming_convention  # noqa: S101 - keys of tables made without it have no names


class PhoneEntryFields(SQLModel):
    """One entry that has been answered; the same id is answered alike for ever.

    `place` counts up in the order in which entries were taken, `number` in the store of the phone
    that is named by `phone`. Moments are UTC; `at` is by the phone's clock, as is `sent_at`.
    """

    id: str = Field(primary_key=True, max_length=36)
    place: int = Field(ge=1, sa_type=BigInteger)
    phone: str = Field(max_length=36)
    number: int = Field(sa_type=BigInteger)
    technician_id: str = Field(max_length=64)  # no foreign key: it outlives the technician
    day: date | None = None
    kind: str = Field(max_length=40)
    visit_id: str | None = Field(default=None, max_length=200)
    at: datetime | None = Field(default=None, sa_type=DateTime)
    sent_at: datetime | None = Field(default=None, sa_type=DateTime)
    received_at: datetime = Field(sa_type=DateTime)
    outcome: str = Field(max_length=20)
    words: str = Field(max_length=4000)
    aside: str = Field(max_length=64)
    content: Any = Field(sa_type=JSON)


class PhoneEntryRow(PhoneEntryFields, table=True):
    """Table of the entries."""

    __tablename__ = "phone_entry"
    __table_args__ = (
        Index("ix_phone_entry_place", "place", unique=True),
        Index("ix_phone_entry_technician_id_day", "technician_id", "day"),
    )
