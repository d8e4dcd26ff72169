"""Equipment of the sites and the company's table of upkeep."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

SITE_COLUMNS: dict[str, sa.types.TypeEngine[Any]] = {
    "filter_cleaned_on": sa.Date(),
    "filter_clean_kpa": sa.Float(),
    "filter_clean_on": sa.Date(),
    "filter_clean_rpm": sa.Float(),
    "filter_rise_kpa": sa.Float(),
    "anode_remaining_share": sa.Float(),
    "anode_judged_on": sa.Date(),
    "cell_rated_hours": sa.Float(),
    "cell_hours_per_day": sa.JSON(),
    "cell_scaled": sa.Boolean(),
    "cell_output_share": sa.Float(),
    "cell_tested_on": sa.Date(),
    "has_pump": sa.Boolean(),
    "pump_variable_speed": sa.Boolean(),
    "pump_seal_changed_on": sa.Date(),
    "pump_oring_changed_on": sa.Date(),
    "has_heater": sa.Boolean(),
    "heater_fuel": sa.String(),
    "heater_serviced_on": sa.Date(),
    "has_covers": sa.Boolean(),
    "covers_expire_on": sa.Date(),
    "covers_checked_on": sa.Date(),
    "covers_state": sa.String(),
    "surface": sa.String(),
    "surfaced_on": sa.Date(),
    "volume_measured": sa.Boolean(),
}


def upgrade() -> None:
    """Make the tables and columns; what older rows do not know stays empty."""
    for name, kind in SITE_COLUMNS.items():
        op.add_column("site", sa.Column(name, kind, nullable=True))
    op.add_column("plan_upkeep", sa.Column("cause", sa.JSON(), nullable=True))
    op.add_column("plan_upkeep", sa.Column("set_for", sa.Date(), nullable=True))
    op.add_column("plan_upkeep", sa.Column("gross_minutes", sa.Integer(), nullable=True))
    op.add_column("plan_upkeep", sa.Column("crew", sa.Integer(), nullable=True))
    _make_kinds()
    _make_levels()


def _make_kinds() -> None:
    op.create_table(
        "upkeep_kind",
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.Column("earliest_months", sa.Integer(), nullable=True),
        sa.Column("earliest_days", sa.Integer(), nullable=True),
        sa.Column("due_months", sa.Integer(), nullable=True),
        sa.Column("due_days", sa.Integer(), nullable=True),
        sa.Column("latest_months", sa.Integer(), nullable=True),
        sa.Column("latest_days", sa.Integer(), nullable=True),
        sa.Column("run_hours", sa.Float(), nullable=True),
        sa.Column("threshold", sa.Float(), nullable=True),
        sa.Column("minutes", sa.Integer(), nullable=False),
        sa.Column("gross_minutes", sa.Integer(), nullable=False),
        sa.Column("crew", sa.Integer(), nullable=False),
        sa.Column("skill", sa.String(length=64), nullable=True),
        sa.Column("months", sa.JSON(), nullable=False),
        sa.Column("parts", sa.JSON(), nullable=False),
        sa.Column("filling_kg", sa.Float(), nullable=True),
        sa.Column("wet_factor", sa.Float(), nullable=True),
        sa.Column("caution", sa.String(length=2000), nullable=False),
        sa.Column("source", sa.String(length=2000), nullable=False),
        sa.PrimaryKeyConstraint("kind", name=op.f("pk_upkeep_kind")),
    )


def _make_levels() -> None:
    op.create_table(
        "level_run",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("first_week", sa.String(length=8), nullable=False),
        sa.Column("weeks", sa.Integer(), nullable=False),
        sa.Column("made_on", sa.Date(), nullable=False),
        sa.Column("cost", sa.Float(), nullable=False),
        sa.Column("bound", sa.Float(), nullable=False),
        sa.Column("inputs_digest", sa.String(), nullable=False),
        sa.Column("late", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_level_run")),
    )
    op.create_table(
        "level_slot",
        sa.Column("site_id", sa.String(length=64), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("week", sa.String(length=8), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("technician_id", sa.String(length=64), nullable=False),
        sa.Column("earliest_on", sa.Date(), nullable=False),
        sa.Column("due_on", sa.Date(), nullable=False),
        sa.Column("latest_on", sa.Date(), nullable=False),
        sa.Column("minutes", sa.Integer(), nullable=False),
        sa.Column("mass_kg", sa.Float(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id"], ["site.id"], name=op.f("fk_level_slot_site_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("site_id", "kind", "number", name=op.f("pk_level_slot")),
    )
    op.create_table(
        "level_load",
        sa.Column("technician_id", sa.String(length=64), nullable=False),
        sa.Column("week", sa.String(length=8), nullable=False),
        sa.Column("shift_min", sa.Integer(), nullable=False),
        sa.Column("visit_min", sa.Integer(), nullable=False),
        sa.Column("drive_min", sa.Integer(), nullable=False),
        sa.Column("room_min", sa.Integer(), nullable=False),
        sa.Column("upkeep_min", sa.Integer(), nullable=False),
        sa.Column("mass_kg", sa.Float(), nullable=False),
        sa.ForeignKeyConstraint(
            ["technician_id"],
            ["technician.id"],
            name=op.f("fk_level_load_technician_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("technician_id", "week", name=op.f("pk_level_load")),
    )
