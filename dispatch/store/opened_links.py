"""Calls over links that were given out, of all processes of the service.

Addresses are not kept, only their digests.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import delete, func, insert, select
from sqlmodel import Session

from dispatch.passwords import digest_of
from dispatch.store.operation_tables import OpenedLinkRow
from dispatch.store.records import aware, naive
from dispatch.store.tables import table_of

KEPT = timedelta(minutes=15)  # the longest time over which calls are counted


def write_opened(session: Session, address: str, now: datetime, *, led_nowhere: bool) -> None:
    """Note a call, and forget those that count no more."""
    table = table_of(OpenedLinkRow)
    session.execute(delete(table).where(table.c.at < naive(now - KEPT)))
    columns = {"at": naive(now), "address": digest_of(address), "led_nowhere": led_nowhere}
    session.execute(insert(table).values(columns))


def count_opened(session: Session, address: str, since: datetime, *, led_nowhere: bool) -> int:
    """How many calls from an address since a moment; those that led nowhere are counted apart."""
    return _read_opened(session, address, since, led_nowhere=led_nowhere)[0]


def read_free_again(
    session: Session,
    address: str,
    now: datetime,
    *,
    most: int,
    within: timedelta,
    led_nowhere: bool,
) -> datetime | None:
    """When the next call is let in, where there were `most` within a time; None where not."""
    count, first = _read_opened(session, address, now - within, led_nowhere=led_nowhere)
    return first + within if first and count >= most else None


def _read_opened(
    session: Session, address: str, since: datetime, *, led_nowhere: bool
) -> tuple[int, datetime | None]:
    """How many calls there were since a moment, and when the first of them was."""
    table = table_of(OpenedLinkRow)
    where = [
        table.c.at > naive(since),
        table.c.address == digest_of(address),
        table.c.led_nowhere == led_nowhere,
    ]
    count, first = session.execute(select(func.count(), func.min(table.c.at)).where(*where)).one()
    return int(count), aware(first) if first else None
