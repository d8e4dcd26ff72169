"""What a route needs for supply stops, chemicals aboard and overtime."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

NUMBERS = ("chemicals_kg", "overtime_s", "supply_s", "supply_drive_s", "supply_drive_m")


def upgrade() -> None:
    """Add the columns; routes planned before had none of it."""
    with op.batch_alter_table("route") as batch:
        batch.add_column(sa.Column("supply_after", sa.Integer(), nullable=True))
        batch.add_column(sa.Column("supply_start_s", sa.Integer(), nullable=True))
        for name in NUMBERS:
            kind = sa.Float() if name.endswith("_kg") else sa.Integer()
            batch.add_column(sa.Column(name, kind, nullable=False, server_default="0"))
    with op.batch_alter_table("route") as batch:
        for name in NUMBERS:
            batch.alter_column(name, server_default=None)
