"""The history of the tables, one file for each step in `versions`."""

from __future__ import annotations

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from alembic.util import CommandError
from sqlalchemy import Connection

from dispatch.errors import SettingsError
from dispatch.store.postgres import settle_collations
from dispatch.words import _

HEAD = "head"


def upgrade(connection: Connection, revision: str = HEAD) -> None:
    """Bring the tables to the newest version, or to `revision`, inside the caller's transaction.

    Raises
    ------
    SettingsError
        When the database was made by a newer version, or rows would point at nothing afterwards.
    """
    config = _config()
    config.attributes["connection"] = connection
    current = present_revision(connection) or None
    if current == newest_revision():
        return
    try:
        command.upgrade(config, revision)
    except CommandError as error:
        raise SettingsError(
            _(
                "The database stands at version {current}, which this program does not know: it "
                "was made by a newer one. Install that version again, or name another database "
                "with DISPATCH_DATABASE_URL."
            ).format(current=current)
        ) from error
    if connection.dialect.name == "postgresql":
        settle_collations(connection)  # its foreign keys are checked at each step
        return
    loose = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
    if loose:
        raise SettingsError(
            _(
                "The database was left at version {current}: after the upgrade {rows} rows, "
                "the first in table {table}, would point at nothing. Restore a backup."
            ).format(current=current, rows=len(loose), table=loose[0][0])
        )


def present_revision(connection: Connection) -> str:
    """The step at which the tables stand; empty where there are none."""
    return MigrationContext.configure(connection).get_current_revision() or ""


def newest_revision() -> str:
    """The last step that this program knows."""
    return _history().get_current_head() or ""


def is_known(revision: str) -> bool:
    """Whether this program has the step of the tables' history."""
    return any(one.revision == revision for one in _history().walk_revisions())


def _history() -> ScriptDirectory:
    return ScriptDirectory.from_config(_config())


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", "dispatch.store:migrations")
    config.set_main_option("path_separator", "os")
    return config
