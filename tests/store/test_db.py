from __future__ import annotations

import contextlib
import threading
import time
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import Engine, event, text
from sqlalchemy.exc import DBAPIError, IntegrityError
from sqlmodel import Session

import dispatch
from dispatch.errors import SettingsError
from dispatch.settings import Settings
from dispatch.sites import Hold
from dispatch.store.book import read_holds, read_sites, write_holds, write_sites
from dispatch.store.db import make_engine, transaction
from dispatch.store.sqlite import BUSY_TIMEOUT_MS
from tests.store.values import BARE_SITE, MONDAY, SITES

pytestmark = pytest.mark.both_databases


def test_what_is_written_is_there_for_the_next_engine(settings: Settings, engine: Engine) -> None:
    """The commit reaches the file."""
    with transaction(engine) as session:
        write_sites(session, SITES)
    with transaction(make_engine(settings), read_only=True) as session:
        assert read_sites(session) == SITES


def test_an_error_inside_leaves_nothing_half_done(engine: Engine) -> None:
    """All of a transaction happens or none of it."""

    def write_and_fail() -> None:
        with transaction(engine) as session:
            write_sites(session, SITES)
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        write_and_fail()
    with transaction(engine, read_only=True) as session:
        assert read_sites(session) == []


def test_a_failing_commit_leaves_nothing_half_done(engine: Engine) -> None:
    """A full disk shows itself only at the commit."""

    def fail(_session: Session) -> None:
        raise OSError("disk full")

    def write() -> None:
        with transaction(engine) as session:
            write_sites(session, SITES)
            event.listen(session, "before_commit", fail)

    with pytest.raises(OSError, match="disk full"):
        write()
    with transaction(engine) as session:
        assert read_sites(session) == []


def test_a_reading_transaction_cannot_write(engine: Engine) -> None:
    """What a page shows can never be changed by showing it."""
    with (
        pytest.raises(DBAPIError, match=r"readonly|read-only"),
        transaction(engine, read_only=True) as session,
    ):
        write_sites(session, SITES)
    with transaction(engine) as session:  # the connection can write again afterwards
        write_sites(session, SITES)


def test_a_reading_transaction_sees_one_state_throughout(engine: Engine) -> None:
    """A long page never mixes what was before a change with what came after."""
    with transaction(engine, read_only=True) as reading:
        assert read_sites(reading) == []
        with transaction(engine) as writing:  # and the reader keeps no writer waiting
            write_sites(writing, SITES)
        assert read_sites(reading) == []


def test_what_a_writer_read_cannot_move_before_it_writes(engine: Engine) -> None:
    """A second writer waits; without this a plan could be stored on top of changed inputs."""
    order: list[str] = []

    def second() -> None:
        with transaction(engine) as session:
            read_sites(session)
            order.append("second")

    with transaction(engine) as session:
        assert read_sites(session) == []
        other = threading.Thread(target=second)
        other.start()
        other.join(timeout=0.3)
        order.append("first")
    other.join()
    assert order == ["first", "second"]


def test_writers_come_in_one_after_the_other_and_failing_ones_let_the_next_in(
    engine: Engine,
) -> None:
    """Thirty at a time, a third of which break; nobody waits for one that is gone."""

    def write(number: int) -> None:
        with contextlib.suppress(ZeroDivisionError), transaction(engine) as session:
            write_sites(session, [replace(BARE_SITE, id=f"S{number:02}")])
            assert number % 3 or 1 / 0

    writers = [threading.Thread(target=write, args=(n,)) for n in range(30)]
    began = time.monotonic()
    for one in writers:
        one.start()
    for one in writers:
        one.join()
    assert time.monotonic() - began < BUSY_TIMEOUT_MS / 1000
    with transaction(engine, read_only=True) as session:
        assert len(read_sites(session)) == 20


def test_foreign_keys_are_kept(engine: Engine) -> None:
    """SQLite keeps them only when asked to on each connection."""
    with pytest.raises(IntegrityError, match=r"(?i)foreign key"), transaction(engine) as session:
        write_holds(session, [Hold("nobody", MONDAY, MONDAY)])


def test_foreign_keys_are_kept_on_a_connection_used_before(engine: Engine) -> None:
    """The migration ran on this connection with foreign keys off; that must not last."""
    with transaction(engine) as session:
        write_sites(session, [BARE_SITE])
        write_holds(session, [Hold("S001", MONDAY, MONDAY)])
        assert len(read_holds(session)) == 1
    with pytest.raises(IntegrityError, match=r"(?i)foreign key"), transaction(engine) as session:
        write_holds(session, [Hold("nobody", MONDAY, MONDAY)])


@pytest.mark.sqlite_only
def test_the_write_ahead_log_is_on(engine: Engine) -> None:
    """Readers and a writer must not lock each other out."""
    with engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"


def test_a_file_that_is_no_database_is_named(tmp_path: Path) -> None:
    """A wrong path in the settings must not end in a traceback, nor harm the file."""
    file = tmp_path / "notes.txt"
    file.write_text("These are not the bytes of a database. " * 50)
    with pytest.raises(SettingsError, match=r"notes\.txt cannot be opened: file is not a database"):
        make_engine(Settings(database_url=f"sqlite:///{file}"))
    assert file.read_text().startswith("These are not")


def test_a_folder_that_cannot_be_made_is_named(tmp_path: Path) -> None:
    """A data folder below a file is a slip that should say so."""
    (tmp_path / "file").write_text("")
    with pytest.raises(SettingsError, match="cannot be opened"):
        make_engine(Settings(data_dir=tmp_path / "file" / "data"))


def test_a_database_of_a_newer_version_is_refused(settings: Settings, engine: Engine) -> None:
    """Writing into tables that one does not know destroys them."""
    with transaction(engine) as session:
        session.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(SettingsError, match="made by a newer one"):
        make_engine(settings)


def test_every_commit_is_in_db() -> None:
    """One transaction per request or command holds only while nobody commits on the way."""
    root = Path(dispatch.__file__).parent
    files = [*root.rglob("*.py"), *(root.parent / "api").rglob("*.py")]
    assert len(files) > 10
    committing = {
        str(file.relative_to(root.parent)) for file in files if ".commit()" in file.read_text()
    }
    assert committing == {"dispatch/store/db.py"}
