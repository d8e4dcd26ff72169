from __future__ import annotations

import sqlite3
import threading
from contextlib import closing
from typing import Any

import pytest
from sqlalchemy import Engine, event
from starlette.testclient import TestClient

from dispatch.store.book import read_sites
from dispatch.store.db import transaction
from tests.town import SITES_CSV, Company


def many_sites() -> str:
    """A table of more sites than a full disk takes."""
    head, first, *_ = SITES_CSV.splitlines()
    rest = first.partition(",")[2]
    return "\n".join([head, *(f"N{number:04},{rest}" for number in range(2000))])


def let_no_page_be_added(engine: Engine) -> None:
    """Let the database file grow no more, as on a full disk."""

    def fill(connection: sqlite3.Connection, _record: Any) -> None:
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count = {pages}")

    engine.dispose()
    event.listen(engine, "connect", fill)


@pytest.mark.sqlite_only
def test_a_full_disk_is_told_and_nothing_is_half_done(client: TestClient, planned: Company) -> None:
    """507 says what to do; the book is as before and whole, and reading goes on."""
    with planned.reading() as session:
        before = read_sites(session)
    let_no_page_be_added(client.app.state.engine)  # type: ignore[attr-defined]

    answer = client.post("/api/sites/import", files={"file": ("sites.csv", many_sites())})

    assert (answer.status_code, answer.json()["code"]) == (507, "disk-full")
    assert "Free some space" in answer.json()["detail"]
    assert len(client.get("/api/sites").json()) == len(before)
    with planned.reading() as session:
        assert read_sites(session) == before
    with closing(sqlite3.connect(planned.settings.data_dir / "dispatch.sqlite")) as opened:
        assert opened.execute("PRAGMA integrity_check").fetchone() == ("ok",)


@pytest.mark.sqlite_only
def test_a_busy_database_asks_for_patience(
    client: TestClient, planned: Company, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody else holds the only pen for longer than a caller should wait."""
    engine = client.app.state.engine  # type: ignore[attr-defined]

    def hurry(connection: sqlite3.Connection, _record: Any) -> None:
        connection.execute("PRAGMA busy_timeout = 50")

    engine.dispose()
    event.listen(engine, "connect", hurry)
    held, free = threading.Event(), threading.Event()

    def hold() -> None:
        with transaction(planned.engine) as session:
            read_sites(session)  # the pen is taken with the first statement
            held.set()
            free.wait(60)

    writer = threading.Thread(target=hold)
    writer.start()
    held.wait(60)
    answer = client.post("/api/sites/import", files={"file": ("sites.csv", SITES_CSV)})
    free.set()
    writer.join()
    assert (answer.status_code, answer.json()["code"]) == (503, "database-busy")
    assert answer.headers["retry-after"] == "2"


@pytest.mark.both_databases
def test_what_cannot_be_stored_is_refused_in_words(client: TestClient) -> None:
    """A character that PostgreSQL does not take is the caller's slip, not a fault of ours."""
    answer = client.post("/api/holds", json={
        "site_id": "S1\x00", "first_day": "2026-12-01", "last_day": "2026-12-02", "reason": "\x00",
    })  # fmt: skip
    assert answer.status_code in {404, 422}
