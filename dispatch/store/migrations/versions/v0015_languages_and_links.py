"""The language that each person reads, and calls over links that were given out."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Let everybody read what their browser asks for, as before; add the table of calls."""
    language = sa.Column("language", sa.String(length=16), nullable=False, server_default="")
    with op.batch_alter_table("person") as table:
        table.add_column(language)
    with op.batch_alter_table("person") as table:
        table.alter_column("language", server_default=None)
    op.create_table(
        "opened_link",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("address", sa.String(length=64), nullable=False),
        sa.Column("led_nowhere", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_opened_link")),
    )
    op.create_index(op.f("ix_opened_link_at"), "opened_link", ["at"])
