"""What is a technician's own: the sites of his routes, and the records he made."""

from __future__ import annotations

from datetime import date, timedelta

from sqlalchemy import String, cast, exists, select
from sqlmodel import Session

from dispatch.clock import IsoWeek
from dispatch.store.record_tables import RecordRow
from dispatch.store.tables import StopRow, table_of

LOOK_BACK = timedelta(days=28)  # a site served longer ago is no longer the technician's to see


def is_own_site(session: Session, technician_id: str, site_id: str, today: date) -> bool:
    """Whether the site stands in a route of the technician, in a week not long past or coming."""
    stops = table_of(StopRow)
    since = str(IsoWeek.of(today - LOOK_BACK))
    query = select(
        exists().where(
            stops.c.week >= since,
            stops.c.technician_id == technician_id,
            stops.c.site_id == site_id,
        )
    )
    return bool(session.scalar(query))


def is_own_record(session: Session, technician_id: str, record_id: str) -> bool:
    """Whether the technician made the record."""
    records = table_of(RecordRow)
    query = select(
        exists().where(records.c.id == record_id, records.c.technician_id == technician_id)
    )
    return bool(session.scalar(query))


def is_own_photo(session: Session, technician_id: str, photo_id: str) -> bool:
    """Whether a record that the technician made shows the photo."""
    records = table_of(RecordRow)
    query = select(
        exists().where(
            records.c.technician_id == technician_id,
            cast(records.c.content, String).contains(photo_id, autoescape=True),
        )
    )
    return bool(session.scalar(query))
