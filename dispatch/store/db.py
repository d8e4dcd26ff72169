"""The database: one engine, one transaction at a time, and the only commit of the program."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from sqlite3 import Connection as SqliteConnection
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import DatabaseError
from sqlmodel import Session

import dispatch.store.record_tables  # noqa: F401 - whoever opens a database knows all tables
from dispatch.errors import SettingsError
from dispatch.settings import Settings

BUSY_TIMEOUT_MS = 15_000  # a writer waits this long for another one; writes take milliseconds


def make_engine(settings: Settings) -> Engine:
    """Open the database of the settings, make it when missing, bring its tables up to date.

    Raises
    ------
    SettingsError
        When the file is no database, cannot be opened or was made by a newer version.
    """
    from dispatch.store.migrations import upgrade

    file = make_url(settings.database_url).database
    try:
        if file:
            Path(file).parent.mkdir(parents=True, exist_ok=True)
        engine = _sqlite_engine(settings.database_url)
        with engine.execution_options(migrating=True).begin() as connection:
            upgrade(connection)
    except (OSError, DatabaseError) as error:
        cause = error.orig if isinstance(error, DatabaseError) else error
        raise SettingsError(
            f"The database {settings.database_url} cannot be opened: {cause}. Check the file, or "
            "name another with DISPATCH_DATABASE_URL."
        ) from error
    return engine


@contextmanager
def transaction(engine: Engine, *, read_only: bool = False) -> Iterator[Session]:
    """Everything inside happens altogether or not at all; the one place that commits.

    A writing transaction is alone from its first statement, so what it reads cannot move before
    it is written. A `read_only` one sees one state of the database throughout, never waits for
    a writer, and cannot write.
    """
    with Session(
        engine.execution_options(read_only=read_only), expire_on_commit=False
    ) as session:  # leaving the block without commit rolls back
        yield session
        if not read_only:
            session.commit()


def _sqlite_engine(url: str) -> Engine:
    engine = create_engine(url)
    event.listen(engine, "connect", _on_connect)
    event.listen(engine, "begin", _on_begin)
    return engine


def _on_connect(connection: SqliteConnection, _record: Any) -> None:
    # The driver opens transactions late and around some statements only; we open them ourselves
    # (SQLAlchemy manual, "SQLite: serializable isolation / savepoints / transactional DDL").
    connection.isolation_level = None
    connection.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")
    connection.execute("PRAGMA journal_mode = WAL")


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
