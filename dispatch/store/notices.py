"""Messages to customers as rows and back: the outbox, in which each stands once."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date, datetime
from typing import Any

from sqlalchemy import ColumnElement, delete, func, insert, or_, select, update
from sqlmodel import Session

from dispatch.notices.notice import Notice, NoticeKind, NoticeState
from dispatch.store.notice_tables import WHY_LENGTH, NoticeRow
from dispatch.store.records import aware, naive
from dispatch.store.tables import read_among, read_rows, table_of


def add_notices(session: Session, notices: Sequence[Notice]) -> None:
    """Put messages into the outbox; one whose name is taken already raises IntegrityError."""
    if notices:
        session.execute(insert(table_of(NoticeRow)), [_columns(one) for one in notices])


def read_notices(session: Session, since: date) -> list[Notice]:
    """The messages about visits of this day and later ones, by visit, kind and number."""
    return _read(session, table_of(NoticeRow).c.day >= since)


def read_notices_of_day(session: Session, day: date) -> list[Notice]:
    """The messages about visits that stand, or stood when they were announced, on a day."""
    table = table_of(NoticeRow)
    return _read(session, or_(table.c.day == day, table.c.from_day == day))


def read_notices_of(session: Session, visit_ids: Collection[str]) -> list[Notice]:
    """The messages about these visits."""
    rows = read_among(session, NoticeRow, "visit_id", sorted(visit_ids))
    return [_notice_of(row) for row in rows]


def next_waiting(session: Session, now: datetime) -> Notice | None:
    """The message that has waited longest for its next try; None where none is due."""
    table = table_of(NoticeRow)
    is_due = (table.c.state == str(NoticeState.WAITING), table.c.next_try_at <= naive(now))
    order = (table.c.next_try_at, table.c.day, table.c.visit_id, table.c.kind, table.c.number)
    row = session.execute(select(table).where(*is_due).order_by(*order).limit(1)).mappings().first()
    return _notice_of(row) if row is not None else None


def write_changed(session: Session, before: Notice, after: Notice) -> bool:
    """Write what became of a message, unless somebody else did meanwhile; whether it was written.

    Two who send at the same time so never both take the same message.
    """
    table = table_of(NoticeRow)
    is_same = (
        table.c.visit_id == before.visit_id,
        table.c.kind == str(before.kind),
        table.c.number == before.number,
        table.c.state == str(before.state),
        table.c.tries == before.tries,
        table.c.next_try_at == naive(before.next_try_at),
    )
    done = session.execute(update(table).where(*is_same).values(_columns(after)))
    return bool(getattr(done, "rowcount", 0))


def forget_notices(session: Session, before: date) -> None:
    """Take the messages about visits before a day out of the outbox, but for those that wait."""
    table = table_of(NoticeRow)
    is_over = (table.c.day < before, table.c.state != str(NoticeState.WAITING))
    session.execute(delete(table).where(*is_over))


def count_failed(session: Session, day: date) -> int:
    """How many messages about visits of a day were given up."""
    table = table_of(NoticeRow)
    query = select(func.count()).where(table.c.day == day, table.c.state == str(NoticeState.FAILED))
    return int(session.scalar(query) or 0)


def count_waiting(session: Session, since: datetime) -> int:
    """How many messages wait that were decided on before a moment."""
    table = table_of(NoticeRow)
    query = select(func.count()).where(
        table.c.state == str(NoticeState.WAITING), table.c.made_at < naive(since)
    )
    return int(session.scalar(query) or 0)


def _read(session: Session, *where: ColumnElement[bool]) -> list[Notice]:
    return [_notice_of(row) for row in read_rows(session, NoticeRow, *where)]


def _columns(one: Notice) -> dict[str, Any]:
    return {
        "visit_id": one.visit_id,
        "kind": str(one.kind),
        "number": one.number,
        "site_id": one.site_id,
        "day": one.day,
        "from_day": one.from_day,
        "made_at": naive(one.made_at),
        "state": str(one.state),
        "tries": one.tries,
        "next_try_at": naive(one.next_try_at),
        "sent_at": naive(one.sent_at) if one.sent_at is not None else None,
        "why": one.why[:WHY_LENGTH],
    }


def _notice_of(row: Mapping[Any, Any]) -> Notice:
    return Notice(
        visit_id=row["visit_id"],
        kind=NoticeKind(row["kind"]),
        number=row["number"],
        site_id=row["site_id"],
        day=row["day"],
        made_at=aware(row["made_at"]),
        next_try_at=aware(row["next_try_at"]),
        from_day=row["from_day"],
        state=NoticeState(row["state"]),
        tries=row["tries"],
        sent_at=aware(row["sent_at"]) if row["sent_at"] is not None else None,
        why=row["why"],
    )
