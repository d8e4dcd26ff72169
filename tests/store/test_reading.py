"""What need not be read anew."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from sqlalchemy import Engine, event
from sqlmodel import Session

from dispatch.store.book import read_sites, write_sites
from dispatch.store.db import transaction
from dispatch.store.reading import read_while_records_stand
from dispatch.store.records import KeptRecord, read_records, write_records
from tests.records.samples import record
from tests.store.values import SITES

pytestmark = pytest.mark.both_databases

NOW = datetime(2026, 11, 25, 20, tzinfo=UTC)


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


def test_what_records_say_is_read_anew_once_one_came_in(engine: Engine) -> None:
    """Dispatchers move stop after stop; the records of a year need not be read for each."""
    asked: list[int] = []

    def count(session: Session) -> int:
        def read() -> int:
            asked.append(1)
            return len(read_records(session, UTC))

        return read_while_records_stand(session, "count", read)

    with transaction(engine) as session:
        write_sites(session, [replace(SITES[0], id="S1")])
        assert count(session) == 0
    for _again in range(2):
        with transaction(engine, read_only=True) as session:
            assert count(session) == 0
    assert len(asked) == 2  # by who wrote, and once by those who read
    with transaction(engine) as session:
        write_records(session, [KeptRecord(record(1), 1, (), NOW)], UTC)
        assert count(session) == 1
    with transaction(engine, read_only=True) as session:
        assert count(session) == 1
    with transaction(engine) as session:
        write_records(session, [KeptRecord(record(1), 2, (), NOW)], UTC)
    with transaction(engine, read_only=True) as session:
        assert count(session) == 1
    assert len(asked) == 5
