"""Entries of phones as rows and back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from typing import Any

from sqlalchemy import ColumnElement, Select, func, select
from sqlmodel import Session

from dispatch.phone.entry import Outcome
from dispatch.store.phone_tables import PhoneEntryRow
from dispatch.store.records import aware, naive
from dispatch.store.tables import read_row, table_of

Columns = Mapping[Any, Any]


@dataclass(frozen=True, slots=True)
class KeptEntry:
    """An entry that was answered.

    `outcome` is taken or refused, `words` what there is to say about it, `aside` the name under
    which something of it was set aside. `at` and `sent_at` are by the phone's clock; what could
    not be read of a refused entry is None or empty. `place` is given by the store.
    """

    id: str
    phone: str
    number: int
    technician_id: str
    kind: str
    received_at: datetime
    outcome: Outcome
    content: Any
    day: date | None = None
    visit_id: str | None = None
    at: datetime | None = None
    sent_at: datetime | None = None
    words: str = ""
    aside: str = ""
    place: int = 0


def read_entry(session: Session, entry_id: str) -> KeptEntry | None:
    """The answered entry of an id, None where there is none."""
    row = read_row(session, PhoneEntryRow, id=entry_id)
    return None if row is None else _entry_of(row)


def write_entry(session: Session, entry: KeptEntry) -> None:
    """Write an entry at the end of all; raises IntegrityError where its id is there already."""
    table = table_of(PhoneEntryRow)
    place = (session.scalar(_last_place()) or 0) + 1
    columns = {
        "id": entry.id,
        "place": place,
        "phone": entry.phone,
        "number": entry.number,
        "technician_id": entry.technician_id,
        "day": entry.day,
        "kind": entry.kind,
        "visit_id": entry.visit_id,
        "at": entry.at and naive(entry.at),
        "sent_at": entry.sent_at and naive(entry.sent_at),
        "received_at": naive(entry.received_at),
        "outcome": str(entry.outcome),
        "words": entry.words[:4000],
        "aside": entry.aside,
        "content": entry.content,
    }
    session.execute(table.insert(), columns)


@cache
def _last_place() -> Select[Any]:
    return select(func.max(table_of(PhoneEntryRow).c.place))


def read_entries(
    session: Session,
    *,
    technician_id: str | None = None,
    day: date | None = None,
    outcome: Outcome | None = None,
) -> list[KeptEntry]:
    """Entries that fulfil all that is given, in the order in which they were taken."""
    table = table_of(PhoneEntryRow)
    where: list[ColumnElement[bool]] = []
    if technician_id is not None:
        where.append(table.c.technician_id == technician_id)
    if day is not None:
        where.append(table.c.day == day)
    if outcome is not None:
        where.append(table.c.outcome == str(outcome))
    query = select(table).where(*where).order_by(table.c.place)
    return [_entry_of(row) for row in session.execute(query).mappings()]


def _entry_of(row: Columns) -> KeptEntry:
    return KeptEntry(
        id=row["id"],
        phone=row["phone"],
        number=row["number"],
        technician_id=row["technician_id"],
        kind=row["kind"],
        received_at=aware(row["received_at"]),
        outcome=Outcome(row["outcome"]),
        content=row["content"],
        day=row["day"],
        visit_id=row["visit_id"],
        at=row["at"] and aware(row["at"]),
        sent_at=row["sent_at"] and aware(row["sent_at"]),
        words=row["words"],
        aside=row["aside"],
        place=row["place"],
    )
