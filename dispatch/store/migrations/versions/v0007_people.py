"""People, their sessions and rights."""

from __future__ import annotations

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the tables of people."""
