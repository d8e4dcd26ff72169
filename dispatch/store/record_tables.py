"""Tables of what was done: records with their versions, readings, photos, follow-ups, targets."""

from __future__ import annotations

from sqlalchemy import Index

from dispatch.store.metadata import METADATA
from dispatch.store.record_fields import (
    AsideFields,
    FollowUpFields,
    PhotoFields,
    ReadingFields,
    RecordFields,
    RecordVersionFields,
    WaterTargetFields,
)

assert METADATA.naming_convention  # noqa: S101 - keys of tables made without it have no names


class RecordRow(RecordFields, table=True):
    """Table of the records."""

    __tablename__ = "record"
    __table_args__ = (
        Index("ix_record_site_id_day", "site_id", "day"),
        Index("ix_record_visit_id", "visit_id"),
        Index("ix_record_technician_id_day", "technician_id", "day"),
    )


class RecordVersionRow(RecordVersionFields, table=True):
    """Table of the versions of the records; nothing is ever taken out of it."""

    __tablename__ = "record_version"


class ReadingRow(ReadingFields, table=True):
    """Table of the readings."""

    __tablename__ = "reading"
    __table_args__ = (Index("ix_reading_site_id_kind_at", "site_id", "kind", "at"),)


class AsideRow(AsideFields, table=True):
    """Table of what was set aside."""

    __tablename__ = "record_aside"


class PhotoRow(PhotoFields, table=True):
    """Table of the photos."""

    __tablename__ = "photo"


class FollowUpRow(FollowUpFields, table=True):
    """Table of the follow-ups."""

    __tablename__ = "follow_up"
    __table_args__ = (Index("ix_follow_up_site_id", "site_id"),)


class WaterTargetRow(WaterTargetFields, table=True):
    """Table of the company's own water targets."""

    __tablename__ = "water_target"
