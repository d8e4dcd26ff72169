"""Versions of a week's plan, a proposal beside it, and locks."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the tables of the week's desk; plans made before have no version yet."""
    op.create_table(
        "plan_version",
        *_kept_plan(),
        sa.Column("week", sa.String(length=8), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("step", sa.String(length=1000), nullable=False),
        sa.Column("undo_to", sa.Integer(), nullable=True),
        sa.Column("redo_to", sa.Integer(), nullable=True),
        sa.PrimaryKeyConstraint("week", "number", name=op.f("pk_plan_version")),
    )
    op.create_table(
        "plan_proposal",
        *_kept_plan(),
        sa.Column("week", sa.String(length=8), nullable=False),
        sa.Column("base", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("week", name=op.f("pk_plan_proposal")),
    )
    op.create_table(
        "plan_lock",
        sa.Column("week", sa.String(length=8), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("subject", sa.String(length=200), nullable=False),
        sa.PrimaryKeyConstraint("week", "kind", "subject", name=op.f("pk_plan_lock")),
    )


def _kept_plan() -> list[sa.Column[object]]:
    return [
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("who", sa.String(length=200), nullable=False),
        sa.Column("what", sa.String(length=1000), nullable=False),
        sa.Column("inputs_digest", sa.String(), nullable=False),
        sa.Column("plan", sa.LargeBinary(), nullable=False),
        sa.Column("broken", sa.JSON(), nullable=False),
    ]
