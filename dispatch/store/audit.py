"""The audit log in the database: lines are added and read, never changed."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Row, insert, select
from sqlmodel import Session

from dispatch.people import Noted
from dispatch.store.directory import branch_of
from dispatch.store.people_tables import AuditRow
from dispatch.store.records import aware, naive
from dispatch.store.tables import table_of


def write_noted(session: Session, noted: Noted) -> None:
    """Add a line to the audit log of the database, or of the branch in the directory."""
    columns = {
        "branch": branch_of(session),
        "at": naive(noted.at),
        "person_id": noted.person_id,
        "person_name": noted.person_name,
        "via": noted.via,
        "deed": noted.deed[:200],
        "target": noted.target[:500],
    }
    session.execute(insert(table_of(AuditRow)), columns)


def read_noted(
    session: Session, *, most: int, before: int | None = None, target: str | None = None
) -> list[Noted]:
    """The newest lines first, at most `most`; older than number `before`, or of one target."""
    lines = table_of(AuditRow)
    query = select(lines).where(lines.c.branch == branch_of(session))
    query = query.order_by(lines.c.number.desc()).limit(most)
    if before is not None:
        query = query.where(lines.c.number < before)
    if target is not None:
        query = query.where(lines.c.target == target)
    return [noted_of(row) for row in session.execute(query)]


def noted_of(row: Row[Any]) -> Noted:
    """The line of the columns of a row."""
    return Noted(
        aware(row.at),
        row.person_id,
        row.person_name,
        row.via,
        row.deed,
        row.target,
        row.number,
    )
