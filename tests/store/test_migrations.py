from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from sqlalchemy import Connection, Engine, inspect, text

import dispatch.store.migrations
from dispatch.clock import IsoWeek
from dispatch.errors import SettingsError
from dispatch.settings import Settings
from dispatch.sites import Hold
from dispatch.store.book import read_holds, read_sites, read_technicians
from dispatch.store.db import make_engine, open_engine, transaction
from dispatch.store.metadata import METADATA
from dispatch.store.plans import read_plan, read_plan_upkeep
from dispatch.store.postgres import settle_collations
from dispatch.windows import TimeWindow
from tests.databases import POSTGRESQL, empty_database

pytestmark = pytest.mark.both_databases


def test_the_migrations_end_where_the_tables_are(engine: Engine) -> None:
    """A column added to a table without a migration would be missing in every old database."""
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_server_default": True})
        assert compare_metadata(context, METADATA) == []


def test_migrated_and_created_tables_are_described_alike(
    engine: Engine, database: str, tmp_path: Path
) -> None:
    """Keys, foreign keys and unique columns too, which the comparison above overlooks in part."""
    created = _empty_engine(database, tmp_path)
    METADATA.create_all(created)
    if database == POSTGRESQL:
        with created.begin() as connection:
            settle_collations(connection)
    assert _description(engine) == _description(created)
    created.dispose()


def test_starting_again_changes_nothing(settings: Settings, engine: Engine) -> None:
    """Every start runs the migrations."""
    before = _description(engine)
    assert _description(make_engine(settings)) == before


@pytest.mark.sqlite_only
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


def test_a_company_of_the_first_version_means_what_it_meant(database: str, tmp_path: Path) -> None:
    """A book and a plan from before windows, seasons, records and people, through every step."""
    engine = _empty_engine(database, tmp_path)
    with engine.execution_options(migrating=True).begin() as connection:
        _upgrade(connection, "0001")
        for table, special in FIRST_ROWS.items():
            _insert(connection, table, special)
        _upgrade(connection, "head")
    with transaction(engine, read_only=True) as session:
        (site,) = read_sites(session)
        (technician,) = read_technicians(session)
        plan = read_plan(session, IsoWeek(2026, 49))
        assert read_holds(session) == [Hold("S1", date(2026, 12, 21), date(2027, 1, 3), "away")]
        upkeep = read_plan_upkeep(session, IsoWeek(2026, 49))
    assert site.plan.windows == (TimeWindow(25_200, 43_200),)
    assert (site.plan.crew, site.plan.seasons) == (1, ())
    assert (site.email, site.notices) == ("", frozenset())
    assert technician.slack_share == 0
    assert set(technician.crew) == {1}
    assert technician.supply is None
    ((route,), (unplaced,), (put_off,), (change,)) = (
        plan.routes, plan.unplaced, plan.put_off, plan.changes,
    )  # fmt: skip
    assert [stop.visit_id for stop in route.stops] == ["S1@2026-11-30"]
    assert (route.overtime_s, route.supply_after) == (0, None)
    assert (unplaced.reason, put_off.reason, change.reason) == ("why", "later", "because")
    assert [(one.kind, one.minutes) for one in upkeep.values()] == [("sand-change", 60)]
    engine.dispose()


FIRST_ROWS: dict[str, dict[str, object]] = {
    "site": {
        "id": "S1", "rhythm": "weekly", "service_min": 30, "sanitizer": "chlorine",
        "window_start_s": 25_200, "window_end_s": 43_200, "lat": 0.0, "lon": 0.0,
        "allowed_weekdays": "[0, 1, 2, 3, 4]",
    },
    "technician": {
        "id": "T1", "shifts": "[[25200, 55800], null, null, null, null, null, null]",
        "start_lat": 0.0, "start_lon": 0.0, "end_lat": 0.0, "end_lon": 0.0, "payload_kg": 300.0,
    },
    "hold": {
        "site_id": "S1", "first_day": "2026-12-21", "last_day": "2027-01-03", "reason": "away",
    },
    "plan": {"week": "2026-W49"},
    "route": {"week": "2026-W49", "technician_id": "T1", "day": "2026-11-30", "position": 0},
    "stop": {
        "week": "2026-W49", "technician_id": "T1", "day": "2026-11-30", "position": 0,
        "visit_id": "S1@2026-11-30", "site_id": "S1", "upkeep_ids": '["S1:sand"]',
    },
    "unplaced": {"week": "2026-W49", "position": 0, "site_id": "S1", "reason": "why"},
    "put_off": {
        "week": "2026-W49", "position": 0, "site_id": "S1", "by": "2026-12-31", "reason": "later",
    },
    "change": {"week": "2026-W49", "position": 0, "site_id": "S1", "reason": "because"},
    "plan_upkeep": {
        "week": "2026-W49", "upkeep_id": "S1:sand", "site_id": "S1", "kind": "sand-change",
        "earliest_on": "2026-11-01", "due_on": "2026-12-01", "latest_on": "2026-12-31",
        "minutes": 60,
    },
}  # fmt: skip


def _empty_engine(database: str, folder: Path) -> Engine:
    if database == POSTGRESQL:
        return open_engine(Settings(database_url=empty_database(folder)))
    return open_engine(Settings(database_url=f"sqlite:///{folder / 'empty.sqlite'}"))


def _insert(connection: Connection, table: str, special: dict[str, object]) -> None:
    """A row in which only what is `special` matters."""
    columns = {c["name"]: c for c in inspect(connection).get_columns(table)}
    row = {name: _filler(c) for name, c in columns.items() if not c["nullable"]} | special
    names, marks = ", ".join(f'"{one}"' for one in row), ", ".join(f":{one}" for one in row)
    words = f'INSERT INTO "{table}" ({names}) VALUES ({marks})'  # noqa: S608 - our own names
    connection.execute(text(words), row)


def _upgrade(connection: Connection, revision: str) -> None:
    config = Config()
    config.set_main_option("script_location", "dispatch.store:migrations")
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, revision)


def _filler(column: Any) -> object:
    """A value of the column's type; which one does not matter here."""
    kind = str(column["type"])
    fillers = {"JSON": "[]", "BOOLEAN": False, "INTEGER": 1, "FLOAT": 1.0}
    return (fillers | {"DOUBLE PRECISION": 1.0}).get(kind, "x")


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
