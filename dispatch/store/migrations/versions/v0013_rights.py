"""Rights for each branch, and the units that each person reads."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None

OF_A_BRANCH = ("person_session", "person_link", "api_token", "audit")


def upgrade() -> None:
    """Move role and technician of each person to a row of the branch at hand."""
    op.create_table(
        "person_right",
        sa.Column("person_id", sa.String(length=64), nullable=False),
        sa.Column("branch", sa.String(length=64), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("technician_id", sa.String(length=64), nullable=True),
        sa.ForeignKeyConstraint(
            ["person_id"],
            ["person.id"],
            name=op.f("fk_person_right_person_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("person_id", "branch", name=op.f("pk_person_right")),
    )
    op.execute(
        "INSERT INTO person_right (person_id, branch, role, technician_id) "
        "SELECT id, '', role, technician_id FROM person"
    )
    with op.batch_alter_table("person") as table:
        table.add_column(sa.Column("units", sa.String(), nullable=False, server_default=""))
        table.drop_column("role")
        table.drop_column("technician_id")
    with op.batch_alter_table("person") as table:
        table.alter_column("units", server_default=None)
    for name in OF_A_BRANCH:
        branch = sa.Column("branch", sa.String(length=64), nullable=False, server_default="")
        with op.batch_alter_table(name) as table:
            table.add_column(branch)
        with op.batch_alter_table(name) as table:
            table.alter_column("branch", server_default=None)
