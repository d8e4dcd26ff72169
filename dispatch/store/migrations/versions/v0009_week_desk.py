"""Locks and edits of a week."""

from __future__ import annotations

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the tables of the week's desk."""
