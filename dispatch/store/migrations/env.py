"""Run by Alembic for each command, on the connection it was handed."""

from __future__ import annotations

from alembic import context

import dispatch.store.day_tables
import dispatch.store.link_tables
import dispatch.store.operation_tables
import dispatch.store.people_tables
import dispatch.store.record_tables
import dispatch.store.standing_tables
import dispatch.store.tables  # noqa: F401 - so that the tables are known
from dispatch.store.metadata import METADATA

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    render_as_batch=True,  # SQLite cannot change a column in place
    compare_server_default=True,
)
with context.begin_transaction():
    context.run_migrations()
