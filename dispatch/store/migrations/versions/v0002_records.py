"""Visit records, readings and what follows from them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables."""
    _make_records()
    _make_readings()
    _make_asides()
    _make_photos_and_targets()
    _make_follow_ups()


def _make_records() -> None:
    op.create_table(
        "record",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("site_id", sa.String(length=64), nullable=False),
        sa.Column("technician_id", sa.String(length=64), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("visit_id", sa.String(length=200), nullable=True),
        sa.Column("arrived_at", sa.DateTime(), nullable=True),
        sa.Column("left_at", sa.DateTime(), nullable=True),
        sa.Column("skipped", sa.Boolean(), nullable=False),
        sa.Column("upkeep_kinds", sa.JSON(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("content", sa.JSON(), nullable=False),
        sa.Column("flags", sa.JSON(), nullable=False),
        sa.Column("received_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_record_site_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_record")),
    )
    op.create_index("ix_record_site_id_day", "record", ["site_id", "day"])
    op.create_index("ix_record_visit_id", "record", ["visit_id"])
    op.create_index("ix_record_technician_id_day", "record", ["technician_id", "day"])
    op.create_table(
        "record_version",
        sa.Column("record_id", sa.String(length=36), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("content", sa.JSON(), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("changed_by", sa.String(length=200), nullable=False),
        sa.Column("reason", sa.String(length=4000), nullable=False),
        sa.ForeignKeyConstraint(
            ["record_id"], ["record.id"], name=op.f("fk_record_version_record_id")
        ),
        sa.PrimaryKeyConstraint("record_id", "version", name=op.f("pk_record_version")),
    )


def _make_readings() -> None:
    op.create_table(
        "reading",
        sa.Column("record_id", sa.String(length=36), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.String(length=64), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("value", sa.Float(), nullable=False),
        sa.Column("method", sa.String(length=200), nullable=False),
        sa.Column("odd", sa.String(length=4000), nullable=False),
        sa.ForeignKeyConstraint(["record_id"], ["record.id"], name=op.f("fk_reading_record_id")),
        sa.PrimaryKeyConstraint("record_id", "position", name=op.f("pk_reading")),
    )
    op.create_index("ix_reading_site_id_kind_at", "reading", ["site_id", "kind", "at"])


def _make_asides() -> None:
    op.create_table(
        "record_aside",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("record_id", sa.String(length=200), nullable=False),
        sa.Column("content", sa.JSON(), nullable=False),
        sa.Column("code", sa.String(length=200), nullable=False),
        sa.Column("reason", sa.String(length=4000), nullable=False),
        sa.Column("received_at", sa.DateTime(), nullable=False),
        sa.Column("settled_at", sa.DateTime(), nullable=True),
        sa.Column("settled_by", sa.String(length=200), nullable=False),
        sa.Column("outcome", sa.String(length=4000), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_record_aside")),
    )


def _make_photos_and_targets() -> None:
    op.create_table(
        "photo",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("media_type", sa.String(length=200), nullable=False),
        sa.Column("size_b", sa.Integer(), nullable=False),
        sa.Column("received_at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_photo")),
    )
    op.create_table(
        "water_target",
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("least", sa.Float(), nullable=True),
        sa.Column("ideal_low", sa.Float(), nullable=True),
        sa.Column("ideal_high", sa.Float(), nullable=True),
        sa.Column("most", sa.Float(), nullable=True),
        sa.Column("changed_by", sa.String(length=200), nullable=False),
        sa.Column("changed_on", sa.Date(), nullable=False),
        sa.Column("note", sa.String(length=4000), nullable=False),
        sa.PrimaryKeyConstraint("kind", name=op.f("pk_water_target")),
    )


def _make_follow_ups() -> None:
    op.create_table(
        "follow_up",
        sa.Column("id", sa.String(length=200), nullable=False),
        sa.Column("record_id", sa.String(length=36), nullable=False),
        sa.Column("site_id", sa.String(length=64), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("due_on", sa.Date(), nullable=False),
        sa.Column("urgent", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.String(length=4000), nullable=False),
        sa.Column("minutes", sa.Integer(), nullable=False),
        sa.Column("noted_on", sa.Date(), nullable=False),
        sa.Column("about", sa.String(), nullable=True),
        sa.Column("settled_on", sa.Date(), nullable=True),
        sa.Column("settled_by", sa.String(length=200), nullable=False),
        sa.Column("outcome", sa.String(length=4000), nullable=False),
        sa.ForeignKeyConstraint(["record_id"], ["record.id"], name=op.f("fk_follow_up_record_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_follow_up")),
    )
    op.create_index("ix_follow_up_site_id", "follow_up", ["site_id"])


def downgrade() -> None:
    """Drop the tables."""
    for table in (
        "follow_up",
        "water_target",
        "photo",
        "record_aside",
        "reading",
        "record_version",
        "record",
    ):
        op.drop_table(table)
