"""The day: what was published, and what happened."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the tables of the day."""
    _add_pad_note()
    _add_phone_entries()
    _make_revisions()
    _make_events()
    _make_calendars()


def _make_revisions() -> None:
    op.create_table(
        "day_revision",
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("technician_id", sa.String(length=64), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("route", sa.JSON(), nullable=False),
        sa.Column("works", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("day", "technician_id", "revision", name=op.f("pk_day_revision")),
    )


def _make_events() -> None:
    op.create_table(
        "day_event",
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("received_at", sa.DateTime(), nullable=False),
        sa.Column("who", sa.String(length=200), nullable=False),
        sa.Column("technician_id", sa.String(length=200), nullable=True),
        sa.Column("visit_id", sa.String(length=200), nullable=True),
        sa.Column("why", sa.String(length=2000), nullable=False),
        sa.Column("data", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("day", "number", name=op.f("pk_day_event")),
        sa.UniqueConstraint("id", name=op.f("uq_day_event_id")),
    )


def _add_pad_note() -> None:
    """What to know of a site's equipment pad; of older sites nothing is known."""
    with op.batch_alter_table("site") as batch:
        batch.add_column(
            sa.Column("pad_note", sa.String(length=2000), nullable=False, server_default="")
        )
    with op.batch_alter_table("site") as batch:
        batch.alter_column("pad_note", server_default=None)


def _add_phone_entries() -> None:
    """What phones sent, each entry once."""
    op.create_table(
        "phone_entry",
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("place", sa.BigInteger(), nullable=False),
        sa.Column("phone", sa.String(36), nullable=False),
        sa.Column("number", sa.BigInteger(), nullable=False),
        sa.Column("technician_id", sa.String(64), nullable=False),
        sa.Column("day", sa.Date(), nullable=True),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("visit_id", sa.String(200), nullable=True),
        sa.Column("at", sa.DateTime(), nullable=True),
        sa.Column("sent_at", sa.DateTime(), nullable=True),
        sa.Column("received_at", sa.DateTime(), nullable=False),
        sa.Column("outcome", sa.String(20), nullable=False),
        sa.Column("words", sa.String(4000), nullable=False),
        sa.Column("aside", sa.String(64), nullable=False),
        sa.Column("content", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_phone_entry"),
    )
    op.create_index("ix_phone_entry_place", "phone_entry", ["place"], unique=True)
    op.create_index("ix_phone_entry_technician_id_day", "phone_entry", ["technician_id", "day"])


def _make_calendars() -> None:
    """What technicians' calendars are read by."""
    op.create_table(
        "calendar",
        sa.Column("technician_id", sa.String(length=64), nullable=False),
        sa.Column("mark", sa.String(length=64), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("who", sa.String(length=200), nullable=False),
        sa.PrimaryKeyConstraint("technician_id", name=op.f("pk_calendar")),
    )
