"""People, their sessions and rights."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the tables of people."""
    with op.batch_alter_table("site") as table:  # a sealed gate code is longer than an open one
        table.alter_column("gate_code", existing_type=sa.String(200), type_=sa.String(1200))
    _make_people()
    _make_ways_in()
    op.create_table(
        "audit",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("person_id", sa.String(length=64), nullable=False),
        sa.Column("person_name", sa.String(length=200), nullable=False),
        sa.Column("via", sa.String(length=200), nullable=False),
        sa.Column("deed", sa.String(length=200), nullable=False),
        sa.Column("target", sa.String(length=500), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_audit")),
    )
    op.create_index("ix_audit_target", "audit", ["target"])


def _make_people() -> None:
    op.create_table(
        "person",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("technician_id", sa.String(length=64), nullable=True),
        sa.Column("password_hash", sa.String(length=500), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_person")),
    )


def _make_ways_in() -> None:
    op.create_table(
        "person_session",
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("person_id", sa.String(length=64), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("expires_at", sa.DateTime(), nullable=False),
        sa.Column("device", sa.String(length=200), nullable=False),
        _of_person("person_session"),
        sa.PrimaryKeyConstraint("digest", name=op.f("pk_person_session")),
    )
    op.create_index("ix_person_session_person_id", "person_session", ["person_id"])
    op.create_table(
        "person_link",
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("use", sa.String(), nullable=False),
        sa.Column("person_id", sa.String(length=64), nullable=True),
        sa.Column("expires_at", sa.DateTime(), nullable=False),
        _of_person("person_link"),
        sa.PrimaryKeyConstraint("digest", name=op.f("pk_person_link")),
    )
    op.create_table(
        "api_token",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("person_id", sa.String(length=64), nullable=False),
        sa.Column("scopes", sa.JSON(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("expires_at", sa.DateTime(), nullable=False),
        _of_person("api_token"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_api_token")),
        sa.UniqueConstraint("digest", name=op.f("uq_api_token_digest")),
    )


def _of_person(table: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        ["person_id"], ["person.id"], name=op.f(f"fk_{table}_person_id"), ondelete="CASCADE"
    )
