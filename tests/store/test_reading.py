"""Lists read once in a transaction that cannot write."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sqlalchemy import Engine, event

from dispatch.store.book import read_sites, write_sites
from dispatch.store.db import transaction
from tests.store.values import SITES

pytestmark = pytest.mark.both_databases


def test_whoever_only_reads_asks_for_the_sites_once(engine: Engine) -> None:
    """A page asks for them in five places; what one of them does to its list is its own affair."""
    with transaction(engine) as session:
        write_sites(session, SITES)
    asked: list[str] = []
    event.listen(engine, "before_cursor_execute", lambda *call: asked.append(call[2]))
    with transaction(engine, read_only=True) as session:
        first = read_sites(session)
        first.pop()
        assert read_sites(session) == sorted(SITES, key=lambda site: site.id)
    assert len([one for one in asked if "FROM site" in one]) == 1


def test_whoever_writes_reads_what_was_written(engine: Engine) -> None:
    """Nothing is remembered where it may change."""
    with transaction(engine) as session:
        write_sites(session, SITES)
        read_sites(session)
        write_sites(session, [replace(SITES[0], name="Another name")])
        assert "Another name" in [site.name for site in read_sites(session)]
    with transaction(engine, read_only=True) as session:
        assert "Another name" in [site.name for site in read_sites(session)]
