"""The audit log: who did what, when and to what."""

from __future__ import annotations

from datetime import datetime

from sqlmodel import Session

from dispatch.actions.lists import ListTable
from dispatch.people import Noted, Person
from dispatch.store import audit

PAGE_LINES = 200  # lines of the log shown at once
COLUMNS = ("number", "at", "person", "name", "via", "deed", "target")


def note(
    session: Session, person: Person, at: datetime, deed: str, target: str, via: str = "page"
) -> None:
    """Add a line to the audit log, in the transaction of the deed itself."""
    audit.write_noted(session, Noted(at, person.id, person.name, via, deed, target))


def note_from_console(session: Session, at: datetime, deed: str, target: str) -> None:
    """Add a line about a command given on the machine of the service, where nobody signs in."""
    audit.write_noted(session, Noted(at, "", "console", "console", deed, target))


def audit_lines(
    session: Session, *, most: int = PAGE_LINES, before: int | None = None
) -> list[Noted]:
    """The newest lines of the log, at most `most`; older than the line number `before`."""
    return audit.read_noted(session, most=most, before=before)


def audit_list(lines: list[Noted]) -> ListTable:
    """Lines of the log as a list; moments in UTC."""
    rows = tuple(
        (
            one.number,
            one.at.isoformat(timespec="seconds"),
            one.person_id,
            one.person_name,
            one.via,
            one.deed,
            one.target,
        )
        for one in lines
    )
    return ListTable(COLUMNS, rows)
