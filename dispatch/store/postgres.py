"""The engine over PostgreSQL, made to keep the same promises as the one over SQLite.

A writing transaction first takes a lock that all writers of this database and schema share, so
that what it reads cannot move before it is written; writes take milliseconds, and readers never
wait. A reading transaction sees one state throughout (isolation level REPEATABLE READ).
"""

from __future__ import annotations

from sqlalchemy import Connection, Engine, create_engine, event, make_url
from sqlalchemy.engine.interfaces import DBAPIConnection

LOCK_TIMEOUT_MS = 15_000  # as long as a writer waits for another one over SQLite
CONNECT_TIMEOUT_S = 10
POOL_SIZE, MOST_EXTRA = 10, 30  # the service answers up to 40 calls at a time (threads of anyio)
# Any number that nothing else locks; the second half tells schemas of one database apart.
WRITERS = 0x506F6F6C


def postgres_engine(url: str, schema: str = "") -> Engine:
    """An engine over the database that `url` names.

    With a `schema` all tables lie in it, and it is made when missing; else the database's own
    search path says where they lie.
    """
    options = make_url(url)
    if "connect_timeout" not in options.query:
        options = options.update_query_dict({"connect_timeout": str(CONNECT_TIMEOUT_S)})
    engine = create_engine(
        options,
        pool_pre_ping=True,  # a connection from before a restart of the server is replaced
        pool_size=POOL_SIZE,
        max_overflow=MOST_EXTRA,
    )
    if schema:
        _make_schema(engine, schema)
        event.listen(engine, "connect", lambda raw, _record: _choose_schema(raw, schema))
    event.listen(engine, "begin", _on_begin)
    return engine


def settle_collations(connection: Connection) -> None:
    """Let all text be ordered and compared byte by byte, as SQLite does.

    The same inputs in another order would be another plan.
    """
    query = (
        "SELECT table_name, column_name, character_maximum_length FROM information_schema.columns "
        "WHERE table_schema = current_schema() AND data_type = 'character varying' "
        "AND collation_name IS NULL ORDER BY table_name, column_name"
    )
    changes: dict[str, list[str]] = {}
    for table, column, length in connection.exec_driver_sql(query):
        kind = "varchar" if length is None else f"varchar({length})"
        changes.setdefault(table, []).append(f'ALTER COLUMN "{column}" TYPE {kind} COLLATE "C"')
    for table, parts in changes.items():
        connection.exec_driver_sql(f'ALTER TABLE "{table}" {", ".join(parts)}')


def _make_schema(engine: Engine, schema: str) -> None:
    with engine.execution_options(isolation_level="AUTOCOMMIT").connect() as connection:
        connection.exec_driver_sql(f"SELECT pg_advisory_lock({WRITERS})")  # two may start at once
        connection.exec_driver_sql(f'CREATE SCHEMA IF NOT EXISTS "{schema}"')
        connection.exec_driver_sql(f"SELECT pg_advisory_unlock({WRITERS})")
    engine.dispose()


def _choose_schema(raw: DBAPIConnection, schema: str) -> None:
    raw.autocommit = True  # a plain SET would end with the transaction it stands in
    raw.cursor().execute(f'SET search_path TO "{schema}"')
    raw.autocommit = False


def _on_begin(connection: Connection) -> None:
    if connection.get_execution_options().get("read_only", False):
        connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        return
    connection.exec_driver_sql(f"SET LOCAL lock_timeout = {LOCK_TIMEOUT_MS}")
    connection.exec_driver_sql(
        f"SELECT pg_advisory_xact_lock({WRITERS}, hashtext(current_schema()))"
    )
