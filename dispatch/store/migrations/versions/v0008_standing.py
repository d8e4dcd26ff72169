"""Standing routes and their dated changes, studies of the loads, and what customers pay."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the tables of standing routes, and the monthly price of a service plan."""
    op.add_column("site", sa.Column("monthly_price", sa.Float(), nullable=True))
    op.create_table(
        "standing_change",
        sa.Column("id", sa.String(64), nullable=False),
        sa.Column("batch", sa.String(64), nullable=False),
        sa.Column("site_id", sa.String(), nullable=False),
        sa.Column("from_on", sa.Date(), nullable=False),
        sa.Column("old_technician_id", sa.String(64), nullable=True),
        sa.Column("old_weekdays", sa.JSON(), nullable=False),
        sa.Column("old_anchor_on", sa.Date(), nullable=True),
        sa.Column("new_technician_id", sa.String(64), nullable=True),
        sa.Column("new_weekdays", sa.JSON(), nullable=False),
        sa.Column("new_anchor_on", sa.Date(), nullable=True),
        sa.Column("why", sa.String(2000), nullable=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("made_on", sa.Date(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("ended_on", sa.Date(), nullable=True),
        sa.Column("ended_by", sa.String(200), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id"], ["site.id"], name="fk_standing_change_site_id", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_standing_change"),
    )
    op.create_index("ix_standing_change_site_id", "standing_change", ["site_id"])
    op.create_table(
        "study",
        sa.Column("name", sa.String(40), nullable=False),
        sa.Column("subject", sa.String(64), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("result", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("name", "subject", name="pk_study"),
    )
