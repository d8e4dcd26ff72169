"""Copies of a SQLite database while others write to it."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from dispatch.errors import BackupError
from dispatch.words import _

PAGES_AT_ONCE = 1000  # between two chunks writers have their turn; 4 MB with usual pages


def copy_sqlite(source: Path, target: Path) -> None:
    """Copy the database of a file as it is at one moment (SQLite online backup API).

    Raises
    ------
    BackupError
        When the copy cannot be made, as on a full disk, or is not whole.
    """
    try:
        with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(target)) as new:
            # one reading transaction holds the moment; else a busy writer starts the copy anew
            old.execute("BEGIN")
            old.execute("SELECT count(*) FROM sqlite_master").fetchone()
            old.backup(new, pages=PAGES_AT_ONCE)
            new.execute("PRAGMA journal_mode = DELETE")  # one file, nothing beside it
    except sqlite3.OperationalError as error:
        raise BackupError(
            _(
                "The database cannot be copied to {folder}: {why}. See that there is room for it, "
                "or name another place for the backup."
            ).format(folder=target.parent, why=error)
        ) from error
    check_sqlite(target)


def check_sqlite(file: Path) -> None:
    """Raise BackupError when the database of a file is damaged."""
    try:
        with closing(sqlite3.connect(f"file:{file}?mode=ro", uri=True)) as opened:
            said = [row[0] for row in opened.execute("PRAGMA integrity_check")]
    except sqlite3.DatabaseError as error:
        said = [str(error)]
    if said != ["ok"]:
        raise BackupError(
            _("The copy of the database {name} is damaged: {why}.").format(
                name=file.name, why=said[0]
            )
        )
