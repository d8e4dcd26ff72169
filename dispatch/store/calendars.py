"""Addresses of technicians' calendars as rows and back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete
from sqlmodel import Session

from dispatch.store.link_tables import CalendarRow
from dispatch.store.records import aware, naive
from dispatch.store.tables import read_row, table_of, write_rows


@dataclass(frozen=True, slots=True)
class CalendarMark:
    """The address of a technician's calendar that is good now: who made it, and when (UTC)."""

    technician_id: str
    mark: str
    made_at: datetime
    who: str


def read_mark(session: Session, technician_id: str) -> CalendarMark | None:
    """The address of a technician's calendar, None where there is none."""
    row = read_row(session, CalendarRow, technician_id=technician_id)
    if row is None:
        return None
    return CalendarMark(row["technician_id"], row["mark"], aware(row["made_at"]), row["who"])


def write_mark(session: Session, one: CalendarMark) -> None:
    """Write an address; it takes the place of the technician's former one."""
    columns = {
        "technician_id": one.technician_id,
        "mark": one.mark,
        "made_at": naive(one.made_at),
        "who": one.who,
    }
    write_rows(session, CalendarRow, [columns])


def delete_mark(session: Session, technician_id: str) -> None:
    """Take a technician's address away; without one nothing happens."""
    table = table_of(CalendarRow)
    session.execute(delete(table).where(table.c.technician_id == technician_id))
