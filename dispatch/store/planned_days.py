"""The days on which plans have regular visits of the sites."""

from __future__ import annotations

from datetime import date

from sqlmodel import Session, func, select

from dispatch.one_offs import DEMAND_PREFIX
from dispatch.store.tables import StopRow, table_of


def read_last_planned(session: Session, before: date) -> dict[str, date]:
    """By site id, the latest day before `before` on which a plan has a regular visit of it."""
    stops = table_of(StopRow)
    query = (
        select(stops.c.site_id, func.max(stops.c.day).label("last"))
        .where(stops.c.day < before)
        .where(~stops.c.visit_id.startswith(DEMAND_PREFIX, autoescape=True))
        .group_by(stops.c.site_id)
    )
    return {row.site_id: row.last for row in session.execute(query)}
