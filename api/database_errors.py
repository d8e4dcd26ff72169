"""What a failing database means for a caller: full, busy, away, or a value it cannot hold."""

from __future__ import annotations

import errno
import sqlite3
from dataclasses import dataclass
from typing import Any

from sqlalchemy.exc import DBAPIError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from dispatch.errors import DiskFull, InvalidValue
from dispatch.words import N_, gettext

FULL_OF_SQLITE = {sqlite3.SQLITE_FULL}
BUSY_OF_SQLITE = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}
# PostgreSQL manual, appendix A, "Error Codes": classes 08 and 57P are connections that broke off.
FULL_OF_POSTGRES = {"53100"}
BUSY_OF_POSTGRES = {"55P03", "40001", "40P01", "53300"}
FULL_OF_SYSTEM = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
BUSY = "database-busy"


@dataclass(frozen=True, slots=True)
class Told:
    """How an error is answered."""

    status: int
    code: str
    english: str

    @property
    def detail(self) -> str:
        """The sentence in the reader's language."""
        return gettext(self.english)


FULL = Told(
    507,
    DiskFull.code,
    N_(
        "There is no room left on the disk of the service, so nothing was changed. Free some "
        "space, then send it again."
    ),
)
IS_BUSY = Told(
    503,
    BUSY,
    N_(
        "The database is busy or cannot be reached right now, and nothing was changed. Try "
        "again in a few seconds."
    ),
)
UNFIT = Told(
    422,
    InvalidValue.code,
    N_(
        "A value is too long, too large or has characters that cannot be stored; nothing was "
        "changed."
    ),
)


def told_of(error: BaseException) -> Told | None:
    """How to answer an error; None when it is another kind of failure."""
    if isinstance(error, OSError):
        return FULL if error.errno in FULL_OF_SYSTEM else None
    if isinstance(error, PoolTimeout):
        return IS_BUSY
    if isinstance(error, OverflowError):  # a number that SQLite's 64 bits cannot hold
        return UNFIT if "SQLite INTEGER" in str(error) else None
    if isinstance(error, DBAPIError):
        return _told_of_database(error, error.orig)
    return None


def _told_of_database(error: DBAPIError, cause: Any) -> Told | None:
    sqlite_code = getattr(cause, "sqlite_errorcode", None)
    if sqlite_code is not None:
        primary = sqlite_code & 0xFF  # the rest says more of the same
        if primary in FULL_OF_SQLITE:
            return FULL
        return IS_BUSY if primary in BUSY_OF_SQLITE else None
    state = getattr(cause, "sqlstate", None)
    if state in FULL_OF_POSTGRES:
        return FULL
    if error.connection_invalidated or state in BUSY_OF_POSTGRES or _is_away(cause, state):
        return IS_BUSY
    if type(error).__name__ == "DataError":
        return UNFIT
    return None


def _is_away(cause: Any, state: str | None) -> bool:
    if state is None:
        return type(cause).__name__ in {"OperationalError", "ConnectionTimeout"}
    return state.startswith(("08", "57P"))
