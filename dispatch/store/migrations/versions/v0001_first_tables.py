"""First tables: sites, technicians, holds, and week plans with what belongs to them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "plan",
        sa.Column("week", sa.String(length=8), nullable=False),
        sa.Column("cost_s", sa.Integer(), nullable=False),
        sa.Column("seed", sa.Integer(), nullable=False),
        sa.Column("iterations", sa.Integer(), nullable=False),
        sa.Column("problem_digest", sa.String(), nullable=False),
        sa.Column("inputs_digest", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("week", name=op.f("pk_plan")),
    )
    op.create_table(
        "site",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("address", sa.String(length=200), nullable=False),
        sa.Column("lat", sa.Float(), nullable=False),
        sa.Column("lon", sa.Float(), nullable=False),
        sa.Column("rhythm", sa.String(), nullable=False),
        sa.Column("service_min", sa.Integer(), nullable=False),
        sa.Column("allowed_weekdays", sa.JSON(), nullable=False),
        sa.Column("window_start_s", sa.Integer(), nullable=False),
        sa.Column("window_end_s", sa.Integer(), nullable=False),
        sa.Column("usual_technician_id", sa.String(length=64), nullable=True),
        sa.Column("usual_weekdays", sa.JSON(), nullable=False),
        sa.Column("technician_locked", sa.Boolean(), nullable=False),
        sa.Column("weekday_locked", sa.Boolean(), nullable=False),
        sa.Column("skills", sa.JSON(), nullable=False),
        sa.Column("last_visit_on", sa.Date(), nullable=True),
        sa.Column("anchor_on", sa.Date(), nullable=True),
        sa.Column("gate_note", sa.String(length=2000), nullable=False),
        sa.Column("gate_code", sa.String(length=200), nullable=False),
        sa.Column("dog_note", sa.String(length=2000), nullable=False),
        sa.Column("pool_volume_l", sa.Float(), nullable=True),
        sa.Column("sanitizer", sa.String(), nullable=False),
        sa.Column("filter_media", sa.String(), nullable=True),
        sa.Column("media_changed_on", sa.Date(), nullable=True),
        sa.Column("media_mass_kg", sa.Float(), nullable=True),
        sa.Column("has_anode", sa.Boolean(), nullable=False),
        sa.Column("anode_installed_on", sa.Date(), nullable=True),
        sa.Column("anode_cleaned_on", sa.Date(), nullable=True),
        sa.Column("has_salt_cell", sa.Boolean(), nullable=False),
        sa.Column("cell_installed_on", sa.Date(), nullable=True),
        sa.Column("cell_inspected_on", sa.Date(), nullable=True),
        sa.Column("cell_cleaned_on", sa.Date(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_site")),
    )
    op.create_table(
        "technician",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("shifts", sa.JSON(), nullable=False),
        sa.Column("start_lat", sa.Float(), nullable=False),
        sa.Column("start_lon", sa.Float(), nullable=False),
        sa.Column("end_lat", sa.Float(), nullable=False),
        sa.Column("end_lon", sa.Float(), nullable=False),
        sa.Column("meal_min", sa.Integer(), nullable=True),
        sa.Column("meal_earliest_s", sa.Integer(), nullable=True),
        sa.Column("meal_latest_s", sa.Integer(), nullable=True),
        sa.Column("skills", sa.JSON(), nullable=False),
        sa.Column("payload_kg", sa.Float(), nullable=False),
        sa.Column("days_off", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_technician")),
    )
    op.create_table(
        "change",
        sa.Column("week", sa.String(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("visit_id", sa.String(), nullable=False),
        sa.Column("site_id", sa.String(), nullable=False),
        sa.Column("usual", sa.String(), nullable=False),
        sa.Column("planned", sa.String(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_change_site_id")),
        sa.ForeignKeyConstraint(
            ["week"], ["plan.week"], name=op.f("fk_change_week"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("week", "position", name=op.f("pk_change")),
    )
    op.create_table(
        "hold",
        sa.Column("site_id", sa.String(), nullable=False),
        sa.Column("first_day", sa.Date(), nullable=False),
        sa.Column("last_day", sa.Date(), nullable=False),
        sa.Column("reason", sa.String(length=2000), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id"], ["site.id"], name=op.f("fk_hold_site_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("site_id", "first_day", name=op.f("pk_hold")),
    )
    op.create_table(
        "plan_upkeep",
        sa.Column("week", sa.String(), nullable=False),
        sa.Column("upkeep_id", sa.String(), nullable=False),
        sa.Column("site_id", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("earliest_on", sa.Date(), nullable=False),
        sa.Column("due_on", sa.Date(), nullable=False),
        sa.Column("latest_on", sa.Date(), nullable=False),
        sa.Column("minutes", sa.Integer(), nullable=False),
        sa.Column("skill", sa.String(), nullable=True),
        sa.Column("parts", sa.JSON(), nullable=False),
        sa.Column("waste_kg", sa.Float(), nullable=False),
        sa.Column("caution", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_plan_upkeep_site_id")),
        sa.ForeignKeyConstraint(
            ["week"], ["plan.week"], name=op.f("fk_plan_upkeep_week"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("week", "upkeep_id", name=op.f("pk_plan_upkeep")),
    )
    op.create_table(
        "put_off",
        sa.Column("week", sa.String(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("upkeep_id", sa.String(), nullable=False),
        sa.Column("site_id", sa.String(), nullable=False),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("by", sa.Date(), nullable=False),
        sa.Column("late", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_put_off_site_id")),
        sa.ForeignKeyConstraint(
            ["week"], ["plan.week"], name=op.f("fk_put_off_week"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("week", "position", name=op.f("pk_put_off")),
    )
    op.create_table(
        "route",
        sa.Column("week", sa.String(), nullable=False),
        sa.Column("technician_id", sa.String(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("start_s", sa.Integer(), nullable=False),
        sa.Column("end_s", sa.Integer(), nullable=False),
        sa.Column("drive_s", sa.Integer(), nullable=False),
        sa.Column("drive_m", sa.Integer(), nullable=False),
        sa.Column("service_s", sa.Integer(), nullable=False),
        sa.Column("wait_s", sa.Integer(), nullable=False),
        sa.Column("return_drive_s", sa.Integer(), nullable=False),
        sa.Column("return_drive_m", sa.Integer(), nullable=False),
        sa.Column("break_after", sa.Integer(), nullable=True),
        sa.Column("break_start_s", sa.Integer(), nullable=True),
        sa.Column("break_s", sa.Integer(), nullable=False),
        sa.Column("load_kg", sa.Float(), nullable=False),
        sa.ForeignKeyConstraint(
            ["technician_id"], ["technician.id"], name=op.f("fk_route_technician_id")
        ),
        sa.ForeignKeyConstraint(
            ["week"], ["plan.week"], name=op.f("fk_route_week"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("week", "technician_id", "day", name=op.f("pk_route")),
    )
    op.create_table(
        "unplaced",
        sa.Column("week", sa.String(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("visit_id", sa.String(), nullable=False),
        sa.Column("site_id", sa.String(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("cells", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_unplaced_site_id")),
        sa.ForeignKeyConstraint(
            ["week"], ["plan.week"], name=op.f("fk_unplaced_week"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("week", "position", name=op.f("pk_unplaced")),
    )
    op.create_table(
        "stop",
        sa.Column("week", sa.String(), nullable=False),
        sa.Column("technician_id", sa.String(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("visit_id", sa.String(), nullable=False),
        sa.Column("site_id", sa.String(), nullable=False),
        sa.Column("drive_s", sa.Integer(), nullable=False),
        sa.Column("drive_m", sa.Integer(), nullable=False),
        sa.Column("arrive_s", sa.Integer(), nullable=False),
        sa.Column("start_s", sa.Integer(), nullable=False),
        sa.Column("leave_s", sa.Integer(), nullable=False),
        sa.Column("upkeep_ids", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_stop_site_id")),
        sa.ForeignKeyConstraint(
            ["week", "technician_id", "day"],
            ["route.week", "route.technician_id", "route.day"],
            name=op.f("fk_stop_week_technician_id_day"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("week", "technician_id", "day", "position", name=op.f("pk_stop")),
        sa.UniqueConstraint("week", "visit_id", name=op.f("uq_stop_week_visit_id")),
    )


def downgrade() -> None:
    """Drop the tables."""
    op.drop_table("stop")
    op.drop_table("unplaced")
    op.drop_table("route")
    op.drop_table("put_off")
    op.drop_table("plan_upkeep")
    op.drop_table("hold")
    op.drop_table("change")
    op.drop_table("technician")
    op.drop_table("site")
    op.drop_table("plan")
