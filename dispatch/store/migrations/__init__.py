"""The history of the tables, one file for each step in `versions`."""

from __future__ import annotations

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from alembic.util import CommandError
from sqlalchemy import Connection

from dispatch.errors import SettingsError


def upgrade(connection: Connection) -> None:
    """Bring the tables to the newest version, inside the caller's transaction.

    Raises
    ------
    SettingsError
        When the database was made by a newer version, or rows would point at nothing afterwards.
    """
    config = Config()
    config.set_main_option("script_location", "dispatch.store:migrations")
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    current = MigrationContext.configure(connection).get_current_revision()
    if current == ScriptDirectory.from_config(config).get_current_head():
        return
    try:
        command.upgrade(config, "head")
    except CommandError as error:
        raise SettingsError(
            f"The database stands at version {current}, which this program does not know: it was "
            "made by a newer one. Install that version again, or name another database with "
            "DISPATCH_DATABASE_URL."
        ) from error
    loose = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
    if loose:
        raise SettingsError(
            f"The database was left at version {current}: after the upgrade {len(loose)} rows, the "
            f"first in table {loose[0][0]}, would point at nothing. Restore a backup."
        )
