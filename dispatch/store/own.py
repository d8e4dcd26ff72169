"""What is a technician's own: the sites of his routes, and the records he made."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from sqlalchemy import String, cast, exists, select
from sqlmodel import Session

from dispatch.clock import IsoWeek
from dispatch.store.day_tables import DayRevisionRow
from dispatch.store.record_tables import RecordRow
from dispatch.store.tables import StopRow, table_of

LOOK_BACK = timedelta(days=28)  # a site served longer ago is no longer the technician's to see


def is_own_site(session: Session, technician_id: str, site_id: str, today: date) -> bool:
    """Whether the site stands in a route of the technician, on a day not long past or to come.

    On a published day it is the newest revision that counts, so that a stop which a repair moved
    is a site of whoever has it now; on other days it is the plan.
    """
    since = today - LOOK_BACK
    return site_id in _published_sites(session, technician_id, since) or _is_planned(
        session, technician_id, site_id, since
    )


def _published_sites(session: Session, technician_id: str, since: date) -> set[str]:
    rows = table_of(DayRevisionRow)
    query = (
        select(rows.c.day, rows.c.works)
        .where(rows.c.technician_id == technician_id, rows.c.day >= since)
        .order_by(rows.c.revision)
    )
    # a later revision takes the place of an earlier one
    newest: dict[date, list[dict[str, Any]]] = dict(session.execute(query).all())
    return {str(work["site_id"]) for works in newest.values() for work in works}


def _is_planned(session: Session, technician_id: str, site_id: str, since: date) -> bool:
    stops, published = table_of(StopRow), table_of(DayRevisionRow)
    query = select(
        exists().where(
            stops.c.week >= str(IsoWeek.of(since)),
            stops.c.day >= since,
            stops.c.technician_id == technician_id,
            stops.c.site_id == site_id,
            stops.c.day.not_in(select(published.c.day).where(published.c.day >= since)),
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
