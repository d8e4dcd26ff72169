"""Failed attempts to sign in, so that a restart and other processes know of them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the table of attempts."""
    op.create_table(
        "failed_sign_in",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("account", sa.String(length=64), nullable=False),
        sa.Column("address", sa.String(length=64), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_failed_sign_in")),
    )
    op.create_index(op.f("ix_failed_sign_in_at"), "failed_sign_in", ["at"])
