"""Standing routes and their dated changes."""

from __future__ import annotations

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the tables of standing routes."""
