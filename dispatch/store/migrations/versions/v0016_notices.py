"""Where customers are told of visits and what they wish, and the messages themselves."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Let every site be told nothing, as before; add the table of messages."""
    _add_contact()
    op.create_table(
        "notice",
        sa.Column("visit_id", sa.String(length=200), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.String(length=64), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("from_day", sa.Date(), nullable=True),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("next_try_at", sa.DateTime(), nullable=False),
        sa.Column("sent_at", sa.DateTime(), nullable=True),
        sa.Column("why", sa.String(length=500), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id"], ["site.id"], name=op.f("fk_notice_site_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("visit_id", "kind", "number", name=op.f("pk_notice")),
    )
    op.create_index("ix_notice_state_next_try_at", "notice", ["state", "next_try_at"])
    op.create_index("ix_notice_day", "notice", ["day"])


def _add_contact() -> None:
    email = sa.Column("email", sa.String(length=254), nullable=False, server_default="")
    notices = sa.Column("notices", sa.JSON(), nullable=False, server_default="[]")
    with op.batch_alter_table("site") as table:
        table.add_column(email)
        table.add_column(notices)
    with op.batch_alter_table("site") as table:
        table.alter_column("email", server_default=None)
        table.alter_column("notices", server_default=None)
