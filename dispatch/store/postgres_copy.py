"""Copies of the tables in a PostgreSQL database, taken in one snapshot while others write.

Each table becomes a CSV file of COPY (PostgreSQL manual, "COPY") with the names of its columns in
the first line: that needs no program beside the driver, and any newer server takes it back.
"""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, Engine, inspect

from dispatch.errors import BackupError
from dispatch.words import _

VERSION_TABLE = "alembic_version"
ENDING = ".csv"
PIECE_B = 1 << 20  # bytes read at once


def copy_postgres(engine: Engine, folder: Path) -> None:
    """Write every table into `folder`, all as they are at one moment."""
    folder.mkdir(parents=True)
    with engine.execution_options(read_only=True).connect() as connection, connection.begin():
        for table in _tables(connection):
            file = folder / f"{table}{ENDING}"
            words = f'COPY "{table}" TO STDOUT (FORMAT csv, HEADER true)'
            with _cursor(connection).copy(words) as copy, file.open("wb") as out:  # type: ignore[attr-defined]
                for piece in copy:
                    out.write(piece)


def fill_postgres(engine: Engine, folder: Path) -> None:
    """Fill the empty tables of a database with what `copy_postgres` wrote.

    The tables must stand at the step of the migrations at which they were copied.

    Raises
    ------
    BackupError
        When a table has rows already, or the folder holds what is no table.
    """
    files = {file.stem: file for file in folder.glob(f"*{ENDING}")}
    files.pop(VERSION_TABLE, None)
    with engine.begin() as connection:
        tables = _tables(connection)
        unknown = sorted(set(files) - set(tables))
        if unknown:
            raise BackupError(
                _("The backup has a table '{table}' that nothing is known of.").format(
                    table=unknown[0]
                )
            )
        for table in tables:
            if table in files:
                _check_empty(connection, table)
                _copy_in(connection, table, files[table])


def _copy_in(connection: Connection, table: str, file: Path) -> None:
    with file.open("rb") as source:
        names = source.readline().decode().strip()
        words = f'COPY "{table}" ({names}) FROM STDIN (FORMAT csv)'
        with _cursor(connection).copy(words) as copy:  # type: ignore[attr-defined]
            while piece := source.read(PIECE_B):
                copy.write(piece)


def _check_empty(connection: Connection, table: str) -> None:
    if connection.exec_driver_sql(f'SELECT 1 FROM "{table}" LIMIT 1').first():  # noqa: S608 - ours
        raise BackupError(
            _(
                "The database has rows in the table {table} already: restore into an empty one."
            ).format(table=table)
        )


def _tables(connection: Connection) -> list[str]:
    """Tables, those that others refer to first."""
    found = inspect(connection).get_sorted_table_and_fkc_names()
    return [name for name, _type in found if name is not None]


def _cursor(connection: Connection) -> object:
    return connection.connection.cursor()
