"""Tables of the day: revisions of its routes, and its history."""

from __future__ import annotations

from sqlalchemy import UniqueConstraint

from dispatch.store.day_fields import DayEventFields, DayRevisionFields
from dispatch.store.metadata import METADATA

assert METADATA.naming_convention  # noqa: S101 - keys of tables made without it have no names


class DayRevisionRow(DayRevisionFields, table=True):
    """Table of the revisions of routes; nothing is ever taken out of it."""

    __tablename__ = "day_revision"


class DayEventRow(DayEventFields, table=True):
    """Table of what happened; nothing is ever taken out of it."""

    __tablename__ = "day_event"
    __table_args__ = (UniqueConstraint("id"),)
