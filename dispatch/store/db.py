"""The database: one engine, one transaction at a time, and the only commit of the program."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Engine
from sqlalchemy.exc import DatabaseError
from sqlmodel import Session

import dispatch.store.day_tables
import dispatch.store.desk_tables
import dispatch.store.notice_tables
import dispatch.store.operation_tables
import dispatch.store.people_tables
import dispatch.store.phone_tables
import dispatch.store.record_tables
import dispatch.store.standing_tables  # noqa: F401 - whoever opens a database knows all tables
from dispatch.errors import SettingsError
from dispatch.settings import Settings
from dispatch.store.gate_codes import seal_open_codes
from dispatch.store.postgres import postgres_engine
from dispatch.store.reading import keep_what_is_read
from dispatch.store.sqlite import leave_no_traces, sqlite_engine
from dispatch.words import _


def make_engine(settings: Settings) -> Engine:
    """Open the database of the settings, make it when missing, bring its tables up to date.

    Raises
    ------
    SettingsError
        When it is no database, cannot be opened or was made by a newer version.
    """
    from dispatch.store.migrations import upgrade

    try:
        engine = open_engine(settings)
        with engine.execution_options(migrating=True).begin() as connection:
            upgrade(connection)
            sealed = seal_open_codes(connection, settings.gate_keys)
        if sealed:
            leave_no_traces(engine)
    except (OSError, DatabaseError) as error:
        cause = error.orig if isinstance(error, DatabaseError) else error
        raise SettingsError(
            _(
                "The database {url} cannot be opened: {cause}. Check it, or name "
                "another with DISPATCH_DATABASE_URL."
            ).format(url=settings.shown_database_url, cause=cause)
        ) from error
    return engine


@contextmanager
def transaction(engine: Engine, *, read_only: bool = False) -> Iterator[Session]:
    """Everything inside happens altogether or not at all; the one place that commits.

    A writing transaction is alone from its first statement, so what it reads cannot move before
    it is written: the later of two writers waits, and no update is lost. A `read_only` one sees
    one state of the database throughout, never waits for a writer, and cannot write.
    """
    with Session(
        engine.execution_options(read_only=read_only), expire_on_commit=False
    ) as session:  # leaving the block without commit rolls back
        if read_only:
            keep_what_is_read(session)
        yield session
        if not read_only:
            session.commit()


def open_engine(settings: Settings) -> Engine:
    """Open the database of the settings as it is, without a look at its tables."""
    if settings.uses_postgres:
        return postgres_engine(settings.database_url, settings.schema_name)
    return sqlite_engine(settings.database_url)
