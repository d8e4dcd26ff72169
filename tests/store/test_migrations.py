from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import Engine, create_engine, inspect

import dispatch.store.migrations
from dispatch.errors import SettingsError
from dispatch.settings import Settings
from dispatch.store.db import make_engine
from dispatch.store.tables import METADATA


def test_the_migrations_end_where_the_tables_are(engine: Engine) -> None:
    """A column added to a table without a migration would be missing in every old database."""
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_server_default": True})
        assert compare_metadata(context, METADATA) == []


def test_migrated_and_created_tables_are_described_alike(engine: Engine, tmp_path: Path) -> None:
    """Keys, foreign keys and unique columns too, which the comparison above overlooks in part."""
    created = create_engine(f"sqlite:///{tmp_path / 'created.sqlite'}")
    METADATA.create_all(created)
    assert _description(engine) == _description(created)


def test_starting_again_changes_nothing(settings: Settings, engine: Engine) -> None:
    """Every start runs the migrations."""
    before = _description(engine)
    assert _description(make_engine(settings)) == before


def test_rows_that_would_point_at_nothing_stop_an_upgrade(
    settings: Settings, engine: Engine
) -> None:
    """Foreign keys are off while tables are rebuilt, so they are looked at once afterwards."""
    with engine.execution_options(migrating=True).begin() as connection:
        connection.exec_driver_sql("INSERT INTO hold VALUES ('nobody', '2026-12-01', 'x', '')")
        connection.exec_driver_sql("DELETE FROM alembic_version")
        for table in METADATA.tables:
            if table != "hold":
                connection.exec_driver_sql(f"DROP TABLE IF EXISTS {table}")
        connection.exec_driver_sql("ALTER TABLE hold RENAME TO old_hold")
    with pytest.raises(SettingsError, match="1 rows, the first in table old_hold"):
        make_engine(settings)


def test_the_migrations_travel_with_the_package() -> None:
    """An installed wheel must find them beside the code."""
    folder = Path(dispatch.store.migrations.__file__).parent
    assert (folder / "env.py").is_file()
    assert list((folder / "versions").glob("v0001_*.py"))


def _description(engine: Engine) -> dict[str, Any]:
    """What the database itself says about its tables."""
    inspector = inspect(engine)
    tables = [name for name in inspector.get_table_names() if name != "alembic_version"]
    return {
        name: {
            "columns": [
                column | {"type": str(column["type"])} for column in inspector.get_columns(name)
            ],
            "key": inspector.get_pk_constraint(name),
            "foreign keys": sorted(inspector.get_foreign_keys(name), key=str),
            "unique": inspector.get_unique_constraints(name),
            "indexes": inspector.get_indexes(name),
        }
        for name in tables
    }
