"""The engine over a SQLite file: one writer at a time, readers beside it."""

from __future__ import annotations

from pathlib import Path
from sqlite3 import Connection as SqliteConnection
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, make_url

BUSY_TIMEOUT_MS = 15_000  # a writer waits this long for another one; writes take milliseconds


def sqlite_engine(url: str) -> Engine:
    """An engine over the file that `url` names; its folder is made when missing."""
    file = make_url(url).database
    if file:
        Path(file).parent.mkdir(parents=True, exist_ok=True)
    engine = create_engine(url)
    event.listen(engine, "connect", _on_connect)
    event.listen(engine, "begin", _on_begin)
    return engine


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
    connection.exec_driver_sql(f"PRAGMA foreign_keys = {int(foreign_keys)}")
    connection.exec_driver_sql(f"PRAGMA query_only = {int(read_only)}")
    connection.exec_driver_sql("BEGIN" if read_only else "BEGIN IMMEDIATE")
