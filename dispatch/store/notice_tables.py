"""Table of the messages to customers: written when decided on, sent afterwards, then marked."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import DateTime, Index, String
from sqlmodel import Field, SQLModel

from dispatch.notices.notice import NoticeKind, NoticeState
from dispatch.store.metadata import METADATA
from dispatch.store.service_plan_fields import ID_LENGTH

assert METADATA.naming_convention  # noqa: S101 - keys of tables made without it have no names

VISIT_LENGTH = 200
WHY_LENGTH = 500


class NoticeFields(SQLModel):
    """One message; moments are UTC. The address stands with the site alone."""

    visit_id: str = Field(primary_key=True, max_length=VISIT_LENGTH)
    kind: NoticeKind = Field(primary_key=True, sa_type=String)
    number: int = Field(primary_key=True, ge=1)
    site_id: str = Field(foreign_key="site.id", ondelete="CASCADE", max_length=ID_LENGTH)
    day: date = Field(index=True)
    from_day: date | None = None
    made_at: datetime = Field(sa_type=DateTime)
    state: NoticeState = Field(sa_type=String)
    tries: int = Field(ge=0)
    next_try_at: datetime = Field(sa_type=DateTime)
    sent_at: datetime | None = Field(default=None, sa_type=DateTime)
    why: str = Field(max_length=WHY_LENGTH)


class NoticeRow(NoticeFields, table=True):
    """Table of the messages."""

    __tablename__ = "notice"
    __table_args__ = (Index("ix_notice_state_next_try_at", "state", "next_try_at"),)
