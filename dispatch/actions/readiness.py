"""Whether the database is there and fits this program."""

from __future__ import annotations

from sqlalchemy import Engine
from sqlalchemy.exc import SQLAlchemyError

from dispatch.store.migrations import newest_revision, present_revision
from dispatch.words import _


def why_not_ready(engine: Engine) -> str:
    """What keeps calls from being served, in a few words without any detail; empty when nothing."""
    try:
        with engine.execution_options(read_only=True).connect() as connection:
            revision = present_revision(connection)
    except SQLAlchemyError:
        return _("the database cannot be reached")
    return "" if revision == newest_revision() else _("the tables are of another version")
