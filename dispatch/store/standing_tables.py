"""Tables of standing routes: their dated changes, and studies of the loads."""

from __future__ import annotations

from sqlalchemy import Index

from dispatch.store.metadata import METADATA
from dispatch.store.standing_fields import StandingChangeFields, StudyFields

assert METADATA.naming_convention  # noqa: S101 - keys of tables made without it have no names


class StandingChangeRow(StandingChangeFields, table=True):
    """Table of the dated changes of standing routes; none is ever taken out of it."""

    __tablename__ = "standing_change"
    __table_args__ = (Index("ix_standing_change_site_id", "site_id"),)


class StudyRow(StudyFields, table=True):
    """Table of the latest studies."""

    __tablename__ = "study"
