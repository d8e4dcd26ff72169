from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from sqlalchemy import Connection, Engine, create_engine, inspect

import dispatch.store.migrations
from dispatch.errors import SettingsError
from dispatch.settings import Settings
from dispatch.store.db import make_engine
from dispatch.store.metadata import METADATA


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


def test_older_rows_mean_what_they_meant(tmp_path: Path) -> None:
    """A book from before windows, seasons and persons must plan as it did."""
    engine = create_engine(f"sqlite:///{tmp_path / 'old.sqlite'}")
    with engine.begin() as connection:
        _upgrade(connection, "0003")
        for table, special in (("site", OLD_SITE), ("technician", OLD_TECHNICIAN)):
            columns = {c["name"]: c for c in inspect(connection).get_columns(table)}
            row = {name: _filler(c) for name, c in columns.items() if not c["nullable"]} | special
            names, marks = ", ".join(row), ", ".join("?" for _ in row)
            connection.exec_driver_sql(
                f"INSERT INTO {table} ({names}) VALUES ({marks})",  # noqa: S608 - our own names
                tuple(row.values()),
            )
        _upgrade(connection, "0004")
    with engine.connect() as connection:
        site = connection.exec_driver_sql(
            "SELECT windows, crew, priority, seasons, chemicals_kg, started_on FROM site"
        ).one()
        technician = connection.exec_driver_sql(
            "SELECT crew, slack_share, chemicals_most_kg, supply_min FROM technician"
        ).one()
    assert tuple(site) == ("[[25200,43200]]", 1, "normal", "[]", 0.0, None)
    assert tuple(technician) == ("[1, 1, 1, 1, 1, 1, 1]", 0.0, 200.0, None)


OLD_SITE = {"id": "S1", "window_start_s": 25_200, "window_end_s": 43_200}
OLD_TECHNICIAN = {"id": "T1"}


def _upgrade(connection: Connection, revision: str) -> None:
    config = Config()
    config.set_main_option("script_location", "dispatch.store:migrations")
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, revision)


def _filler(column: Any) -> object:
    """A value of the column's type; which one does not matter here."""
    kind = str(column["type"])
    return {"JSON": "[]", "BOOLEAN": 0, "INTEGER": 1, "FLOAT": 1.0}.get(kind, "x")


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
            "columns": {  # in no order: a later step adds its columns at the end
                column["name"]: column | {"type": str(column["type"])}
                for column in inspector.get_columns(name)
            },
            "key": inspector.get_pk_constraint(name),
            "foreign keys": sorted(inspector.get_foreign_keys(name), key=str),
            "unique": inspector.get_unique_constraints(name),
            "indexes": inspector.get_indexes(name),
        }
        for name in tables
    }
