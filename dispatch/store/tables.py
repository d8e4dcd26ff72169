"""The tables, in the order that data flows: sites, technicians, holds, then plans.

Rows are written and read as plain columns; a row object is never built (it costs about 24 times
a frozen value, measured) and so never handed out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from functools import cache
from typing import Any, cast

from sqlalchemy import (
    ColumnElement,
    Executable,
    ForeignKeyConstraint,
    Select,
    Table,
    UniqueConstraint,
    bindparam,
)
from sqlalchemy import select as select_columns
from sqlalchemy.dialects import postgresql, sqlite
from sqlmodel import Field, Session, SQLModel

from dispatch.store.fields import (
    ChangeFields,
    HoldFields,
    PlanFields,
    PutOffFields,
    RouteFields,
    SiteFields,
    StopFields,
    TechnicianFields,
    UnplacedFields,
    UpkeepFields,
)
from dispatch.store.metadata import METADATA
from dispatch.store.service_plan_fields import OneOffFields
from dispatch.store.upkeep_fields import (
    LevelLoadFields,
    LevelRunFields,
    LevelSlotFields,
    UpkeepKindFields,
)

VALUES_AT_ONCE = 500  # SQLite takes a limited number of values in one statement


class SiteRow(SiteFields, table=True):
    """Table of the sites."""

    __tablename__ = "site"


class TechnicianRow(TechnicianFields, table=True):
    """Table of the technicians."""

    __tablename__ = "technician"


class HoldRow(HoldFields, table=True):
    """Table of the holds."""

    __tablename__ = "hold"


class OneOffRow(OneOffFields, table=True):
    """Table of the one-off work."""

    __tablename__ = "one_off"


class PlanRow(PlanFields, table=True):
    """Table of the week plans; all tables below hang on it and go with it."""

    __tablename__ = "plan"


class OfPlan(SQLModel):
    """What belongs to the plan of a week: its key begins with the week."""

    week: str = Field(primary_key=True, foreign_key="plan.week", ondelete="CASCADE")


class RouteRow(RouteFields, OfPlan, table=True):
    """Table of the routes."""

    __tablename__ = "route"


class OfRoute(SQLModel):
    """What belongs to a route: its key begins with that of the route."""

    week: str = Field(primary_key=True)
    technician_id: str = Field(primary_key=True)
    day: date = Field(primary_key=True)


class StopRow(StopFields, OfRoute, table=True):
    """Table of the stops; a visit stands in a plan once."""

    __tablename__ = "stop"
    __table_args__ = (
        ForeignKeyConstraint(
            ["week", "technician_id", "day"],
            ["route.week", "route.technician_id", "route.day"],
            ondelete="CASCADE",
        ),
        UniqueConstraint("week", "visit_id"),
    )


class UnplacedRow(UnplacedFields, OfPlan, table=True):
    """Table of the visits without a place."""

    __tablename__ = "unplaced"


class PutOffRow(PutOffFields, OfPlan, table=True):
    """Table of the upkeep put off."""

    __tablename__ = "put_off"


class ChangeRow(ChangeFields, OfPlan, table=True):
    """Table of the visits that leave their usual technician or weekday."""

    __tablename__ = "change"


class UpkeepRow(UpkeepFields, OfPlan, table=True):
    """Table of the upkeep that a plan was made with, placed and put off alike."""

    __tablename__ = "plan_upkeep"


class UpkeepKindRow(UpkeepKindFields, table=True):
    """Table of the kinds of upkeep that the company changed."""

    __tablename__ = "upkeep_kind"


class LevelRunRow(LevelRunFields, table=True):
    """Table of the latest spreading of upkeep; it has one row or none."""

    __tablename__ = "level_run"


class LevelSlotRow(LevelSlotFields, table=True):
    """Table of the upkeep spread over the coming weeks."""

    __tablename__ = "level_slot"


class LevelLoadRow(LevelLoadFields, table=True):
    """Table of the technicians' weeks that the upkeep was spread over."""

    __tablename__ = "level_load"


def table_of(row: type[SQLModel]) -> Table:
    """The table of a row class."""
    return METADATA.tables[str(row.__tablename__)]


def read_rows(
    session: Session, row: type[SQLModel], *where: ColumnElement[bool]
) -> Sequence[Mapping[str, Any]]:
    """Columns of the rows that fulfil all of `where`, ordered by primary key."""
    query = _whole(row).where(*where) if where else _whole(row)
    return cast("Sequence[Mapping[str, Any]]", session.execute(query).mappings().all())


def read_among(
    session: Session,
    row: type[SQLModel],
    column: str,
    values: Iterable[Any],
    columns: tuple[str, ...] = (),
) -> list[Mapping[str, Any]]:
    """Columns (all, unless some are named) of the rows whose `column` has one of `values`."""
    wanted = list(dict.fromkeys(values))
    query = _among(row, column, columns)
    found: list[Mapping[str, Any]] = []
    for start in range(0, len(wanted), VALUES_AT_ONCE):
        part = wanted[start : start + VALUES_AT_ONCE]
        rows = session.execute(query, {"wanted": part}).mappings().all()
        found += cast("Sequence[Mapping[str, Any]]", rows)
    return found


def read_row(session: Session, row: type[SQLModel], **key: Any) -> Mapping[str, Any] | None:
    """Columns of the first row, by primary key, that has all the values of `key`."""
    query = _with_key(row, tuple(key))
    return cast("Mapping[str, Any] | None", session.execute(query, key).mappings().first())


@cache
def _whole(row: type[SQLModel]) -> Select[Any]:
    table = table_of(row)
    return select_columns(table).order_by(*table.primary_key)


@cache
def _among(row: type[SQLModel], column: str, columns: tuple[str, ...]) -> Select[Any]:
    """The statement of `read_among`; making it takes twice as long as running it (measured)."""
    table = table_of(row)
    query = _whole(row)
    if columns:
        query = query.with_only_columns(*(table.c[name] for name in columns))
    return query.where(table.c[column].in_(bindparam("wanted", expanding=True)))


@cache
def _with_key(row: type[SQLModel], names: tuple[str, ...]) -> Select[Any]:
    table = table_of(row)
    return _whole(row).where(*(table.c[name] == bindparam(name) for name in names)).limit(1)


def write_rows(session: Session, row: type[SQLModel], rows: Sequence[dict[str, Any]]) -> None:
    """Insert rows given as columns; one whose primary key is taken replaces what is there."""
    if not rows:
        return
    is_sqlite = session.get_bind().dialect.name == "sqlite"
    session.execute(_replacing(table_of(row), is_sqlite), rows)


@cache
def _replacing(table: Table, is_sqlite: bool) -> Executable:
    """The statement that inserts or replaces; making it takes longer than running it."""
    adding = sqlite.insert(table) if is_sqlite else postgresql.insert(table)
    others = {c.name: adding.excluded[c.name] for c in table.columns if not c.primary_key}
    return adding.on_conflict_do_update(index_elements=list(table.primary_key), set_=others)
