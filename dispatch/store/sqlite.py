"""The engine over a SQLite file: one writer at a time, readers beside it."""

from __future__ import annotations

import threading
from pathlib import Path
from sqlite3 import Connection as SqliteConnection
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, make_url

WRITES = "writes"  # of a connection: its transaction holds back other writers
PRAGMAS = "pragmas"  # of a connection: those that the last transaction set
POOL_SIZE, MOST_EXTRA = 10, 30  # as with PostgreSQL
BUSY_TIMEOUT_MS = 15_000  # a writer waits this long for another one; writes take milliseconds


def sqlite_engine(url: str) -> Engine:
    """An engine over the file that `url` names; its folder is made when missing."""
    file = make_url(url).database
    if file:
        Path(file).parent.mkdir(parents=True, exist_ok=True)
    engine = create_engine(url, pool_size=POOL_SIZE, max_overflow=MOST_EXTRA)
    event.listen(engine, "connect", _on_connect)
    waiting = _Writers()
    event.listen(engine, "begin", waiting.let_in)  # before the transaction is opened
    event.listen(engine, "begin", _on_begin)
    event.listen(engine, "checkin", waiting.let_out)
    return engine


class _Writers:
    """Lets the writers of this process in one after the other.

    SQLite has no queue: who finds it busy sleeps for up to a tenth of a second and looks again,
    so that under load some wait until they give up while others pass by. Whoever has waited too
    long here goes on and asks SQLite all the same.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()

    def let_in(self, connection: Connection) -> None:
        if connection.get_execution_options().get("read_only", False):
            return
        if self._lock.acquire(timeout=BUSY_TIMEOUT_MS / 1000):
            connection.info[WRITES] = True

    def let_out(self, _connection: SqliteConnection | None, record: Any) -> None:
        if record.info.pop(WRITES, False):
            self._lock.release()


def leave_no_traces(engine: Engine) -> None:
    """Write the file anew and empty its log, so that nothing replaced is left in either.

    Other databases have no such file of ours, and nothing is done.
    """
    if engine.dialect.name != "sqlite":
        return
    connection = engine.raw_connection()
    try:
        connection.driver_connection.execute("VACUUM")  # type: ignore[union-attr]
        connection.driver_connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")  # type: ignore[union-attr]
    finally:
        connection.close()


def _on_connect(connection: SqliteConnection, _record: Any) -> None:
    # The driver opens transactions late and around some statements only; we open them ourselves
    # (SQLAlchemy manual, "SQLite: serializable isolation / savepoints / transactional DDL").
    connection.isolation_level = None
    connection.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA secure_delete = ON")  # what is replaced is overwritten, not left


def _on_begin(connection: Connection) -> None:
    if connection.connection.dbapi_connection.in_transaction:  # type: ignore[union-attr]
        # SQLite keeps a transaction open whose commit it refused, and the pool then hands out
        # a connection that can never begin again.
        connection.connection.rollback()
    options = connection.get_execution_options()
    read_only = options.get("read_only", False)
    # Rebuilding a table drops it, which with foreign keys on would empty the tables below it.
    foreign_keys = not options.get("migrating", False)
    wanted = (foreign_keys, read_only)
    if connection.info.get(PRAGMAS) != wanted:
        # past SQLAlchemy, which takes as long for these two as for a query
        driver = connection.connection.driver_connection
        driver.execute(f"PRAGMA foreign_keys = {int(foreign_keys)}")  # type: ignore[union-attr]
        driver.execute(f"PRAGMA query_only = {int(read_only)}")  # type: ignore[union-attr]
        connection.info[PRAGMAS] = wanted
    connection.exec_driver_sql("BEGIN" if read_only else "BEGIN IMMEDIATE")
