"""Versions of what two people may edit: a digest of the row as it stands.

Equal content has the same version, wherever and by whom it was written; nothing need be counted.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import or_, select
from sqlmodel import Session, SQLModel

from dispatch.people import Noted
from dispatch.store.audit import noted_of
from dispatch.store.people import read_people
from dispatch.store.people_tables import AuditRow
from dispatch.store.tables import read_rows, table_of

VERSION_LENGTH = 20  # hexadecimal digits; 80 bits, nobody meets two alike by chance


def read_version(session: Session, row: type[SQLModel], key: Mapping[str, str]) -> str:
    """The version of the rows whose columns `key` have these texts; of all rows without a key."""
    table = table_of(row)
    where = [
        column == column.type.python_type.fromisoformat(text)
        if hasattr(column.type.python_type, "fromisoformat")
        else column == text
        for name, text in key.items()
        for column in (table.c[name],)
    ]
    return version_of(read_rows(session, row, *where))


def read_versions(
    session: Session, row: type[SQLModel], key: Sequence[str]
) -> dict[tuple[str, ...], str]:
    """The versions of all rows, by the texts of their key columns."""
    rows = read_rows(session, row)
    return {tuple(str(one[name]) for name in key): version_of([one]) for one in rows}


def read_people_versions(session: Session) -> dict[tuple[str, ...], str]:
    """The versions of what owners say of the people of the branch, by sign-in name.

    What somebody chose for himself, units, language and password, is no part of it. The session
    is one of the directory.
    """
    return {(row["id"],): version_of([row]) for row in _people(session)}


def read_people_version(session: Session, person_id: str | None) -> str:
    """The version of one of them; of all without a sign-in name."""
    return version_of([row for row in _people(session) if person_id in {None, row["id"]}])


def _people(session: Session) -> list[dict[str, Any]]:
    return [
        {"id": one.id, "name": one.name, "role": one.role, "technician_id": one.technician_id}
        for one in read_people(session)
    ]


def version_of(rows: Sequence[Mapping[str, Any]]) -> str:
    """The version of rows given as columns."""
    content = json.dumps([dict(one) for one in rows], sort_keys=True, default=str)
    return hashlib.sha256(content.encode()).hexdigest()[:VERSION_LENGTH]


def read_last_noted(session: Session, path: str, named: Sequence[str]) -> Noted | None:
    """The newest line of the audit log about a thing: by its ids, or by an import of all.

    Without ids it is a list, which every call with that path changes.
    """
    lines = table_of(AuditRow)
    of_it = [lines.c.deed.contains("/import" if named else path, autoescape=True)]
    of_it += [lines.c.target.contains(words, autoescape=True) for words in named]
    query = (
        select(lines)
        .where(lines.c.deed.contains(path, autoescape=True), or_(*of_it))
        .order_by(lines.c.number.desc())
        .limit(1)
    )
    return next((noted_of(row) for row in session.execute(query)), None)
