"""Run by Alembic for each command, on the connection it was handed."""

from __future__ import annotations

from alembic import context

from dispatch.store.tables import METADATA

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    render_as_batch=True,  # SQLite cannot change a column in place
    compare_server_default=True,
)
with context.begin_transaction():
    context.run_migrations()
