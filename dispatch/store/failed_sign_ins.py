"""Failed attempts to sign in, of all processes of the service.

Neither names nor addresses are kept, only their digests: a password is easily typed in the field
of the name.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import ColumnElement, delete, func, insert, select
from sqlmodel import Session

from dispatch.passwords import digest_of
from dispatch.store.operation_tables import FailedSignInRow
from dispatch.store.records import aware, naive
from dispatch.store.tables import table_of

KEPT = timedelta(hours=1)  # the longest time over which attempts are counted


@dataclass(frozen=True, slots=True)
class Limit:
    """At most so many attempts within a time, of an account, from an address, or of both."""

    most: int
    within: timedelta
    of_account: bool
    of_address: bool


def write_failed(session: Session, account: str, address: str, now: datetime) -> None:
    """Note an attempt, and forget those that count no more."""
    table = table_of(FailedSignInRow)
    session.execute(delete(table).where(table.c.at < naive(now - KEPT)))
    columns = {"at": naive(now), "account": _digest(account), "address": _digest(address)}
    session.execute(insert(table).values(columns))


def read_free_again(
    session: Session, limits: Sequence[Limit], account: str, address: str, now: datetime
) -> datetime | None:
    """When the next attempt may be made, where a limit is reached; None where none is."""
    table = table_of(FailedSignInRow)
    latest: datetime | None = None
    for limit in limits:
        where: list[ColumnElement[bool]] = [table.c.at > naive(now - limit.within)]
        if limit.of_account:
            where.append(table.c.account == _digest(account))
        if limit.of_address:
            where.append(table.c.address == _digest(address))
        count, first = session.execute(
            select(func.count(), func.min(table.c.at)).where(*where)
        ).one()
        if count >= limit.most:
            free = aware(first) + limit.within
            latest = free if latest is None else max(latest, free)
    return latest


def remove_failed(session: Session, account: str, address: str) -> None:
    """Forget the attempts of an account from an address."""
    table = table_of(FailedSignInRow)
    session.execute(
        delete(table).where(
            table.c.account == _digest(account), table.c.address == _digest(address)
        )
    )


def _digest(text: str) -> str:
    return digest_of(text)[:32]
