"""Equipment of the sites and the company's table of upkeep."""

from __future__ import annotations

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables and columns."""
