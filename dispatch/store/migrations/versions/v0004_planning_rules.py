"""Service plans, one-off work and the technicians' rules of planning."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

# Name: type, whether it may stay empty, and the JSON or number that older rows get.
SITE_COLUMNS: dict[str, tuple[sa.types.TypeEngine[Any], bool, str]] = {
    "windows": (sa.JSON(), False, "json_array(json_array(window_start_s, window_end_s))"),
    "unwanted_technician_ids": (sa.JSON(), False, "'[]'"),
    "crew": (sa.Integer(), False, "1"),
    "priority": (sa.String(), False, "'normal'"),
    "seasons": (sa.JSON(), False, "'[]'"),
    "first_service_min": (sa.Integer(), True, "NULL"),
    "started_on": (sa.Date(), True, "NULL"),
    "chemicals_kg": (sa.Float(), False, "0.0"),
}
TECHNICIAN_COLUMNS: dict[str, tuple[sa.types.TypeEngine[Any], bool, str]] = {
    "overtime_day_most_min": (sa.Integer(), True, "NULL"),
    "overtime_week_most_min": (sa.Integer(), True, "NULL"),
    "overtime_week_regular_min": (sa.Integer(), True, "NULL"),
    "overtime_pay_factor": (sa.Float(), True, "NULL"),
    "slack_share": (sa.Float(), False, "0.0"),
    "crew": (sa.JSON(), False, "'[1, 1, 1, 1, 1, 1, 1]'"),
    "supply_lat": (sa.Float(), True, "NULL"),
    "supply_lon": (sa.Float(), True, "NULL"),
    "supply_min": (sa.Integer(), True, "NULL"),
    "chemicals_most_kg": (sa.Float(), False, "200.0"),
}


def upgrade() -> None:
    """Make the tables and columns; older rows get what they meant until now."""
    _add("site", SITE_COLUMNS)
    with op.batch_alter_table("site") as table:
        table.drop_column("window_start_s")
        table.drop_column("window_end_s")
    _add("technician", TECHNICIAN_COLUMNS)
    _make_one_offs()


def _add(table: str, columns: dict[str, tuple[sa.types.TypeEngine[Any], bool, str]]) -> None:
    is_sqlite = op.get_bind().dialect.name == "sqlite"
    for name, (kind, _, value) in columns.items():
        op.add_column(table, sa.Column(name, kind, nullable=True))
        if value != "NULL":
            own = value if is_sqlite else value.replace("json_array", "json_build_array")
            op.execute(f"UPDATE {table} SET {name} = {own}")  # noqa: S608 - our own words above
    with op.batch_alter_table(table) as batch:
        for name, (kind, may_be_empty, _) in columns.items():
            if not may_be_empty:
                batch.alter_column(name, existing_type=kind, nullable=False)


def _make_one_offs() -> None:
    op.create_table(
        "one_off",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("site_id", sa.String(), nullable=False),
        sa.Column("title", sa.String(length=200), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("first_day", sa.Date(), nullable=False),
        sa.Column("last_day", sa.Date(), nullable=False),
        sa.Column("minutes", sa.JSON(), nullable=False),
        sa.Column("consecutive", sa.Boolean(), nullable=False),
        sa.Column("skills", sa.JSON(), nullable=False),
        sa.Column("crew", sa.Integer(), nullable=False),
        sa.Column("windows", sa.JSON(), nullable=False),
        sa.Column("priority", sa.String(), nullable=False),
        sa.Column("parts", sa.String(length=2000), nullable=False),
        sa.Column("mass_kg", sa.Float(), nullable=False),
        sa.Column("chemicals_kg", sa.Float(), nullable=False),
        sa.Column("technician_id", sa.String(length=64), nullable=True),
        sa.Column("note", sa.String(length=2000), nullable=False),
        sa.Column("visited_on", sa.JSON(), nullable=False),
        sa.Column("done_on", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(
            ["site_id"], ["site.id"], name=op.f("fk_one_off_site_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_one_off")),
    )
