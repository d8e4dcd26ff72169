"""What each record changed in the register of equipment."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the moves; of records that are there already nobody knows them."""
    with op.batch_alter_table("record") as table:
        table.add_column(sa.Column("moved", sa.JSON(), nullable=True))
