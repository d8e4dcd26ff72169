"""The day: what was published, and what happened."""

from __future__ import annotations

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the tables of the day."""
