"""What running the service needs: reports of jobs."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the table of operation."""
    op.create_table(
        "job_report",
        sa.Column("job_id", sa.String(length=200), nullable=False),
        sa.Column("worker", sa.String(length=200), nullable=False),
        sa.Column("told", sa.JSON(), nullable=False),
        sa.Column("told_at", sa.DateTime(), nullable=False),
        sa.Column("stop_wanted", sa.Boolean(), nullable=False),
        sa.Column("outcome", sa.String(length=200), nullable=False),
        sa.PrimaryKeyConstraint("job_id", name=op.f("pk_job_report")),
    )
