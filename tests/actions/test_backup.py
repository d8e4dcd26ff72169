from __future__ import annotations

import tarfile
import threading
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from dispatch.actions.backup import back_up, restore
from dispatch.errors import BackupError
from dispatch.settings import Settings
from dispatch.sites import Hold
from dispatch.store.book import read_holds, read_sites, read_technicians, write_holds
from dispatch.store.db import make_engine, transaction
from dispatch.store.plans import read_plan
from dispatch.store.sqlite_copy import copy_sqlite
from tests import databases
from tests.town import TODAY, WEEK, Company, end_of, open_company

AT = datetime(2026, 11, 25, 12, tzinfo=UTC)


def elsewhere(folder: Path) -> Settings:
    """Settings of an empty installation with a database of the kind in use."""
    where: dict[str, Any] = (
        {"database_url": databases.empty_database(folder)} if databases.where(folder) else {}
    )
    return Settings(data_dir=folder, country=None, fixed_today=end_of(TODAY), **where)


@pytest.mark.both_databases
def test_a_restored_company_is_the_one_that_was_kept(planned: Company, tmp_path: Path) -> None:
    """Book, plan, map, photos and keys come back into an empty folder, the keys from their own."""
    (planned.settings.photos_dir / "3f").mkdir(parents=True)
    (planned.settings.photos_dir / "3f" / "3f01.jpg").write_bytes(b"\xff\xd8\xff picture")
    (planned.settings.data_dir / "gate.key").write_bytes(b"secret of links")
    back_up(planned.settings, tmp_path / "kept.tar", keys=tmp_path / "keys.tar", at=AT)

    again = elsewhere(tmp_path / "again")
    about = restore(again, tmp_path / "kept.tar", keys=tmp_path / "keys.tar")

    assert about.made_at == "2026-11-25T12:00:00+00:00"
    engine = make_engine(again)
    with transaction(engine, read_only=True) as session, planned.reading() as old:
        assert read_sites(session) == read_sites(old)
        assert read_technicians(session) == read_technicians(old)
        assert read_plan(session, WEEK) == read_plan(old, WEEK)
    engine.dispose()
    assert (again.photos_dir / "3f" / "3f01.jpg").read_bytes() == b"\xff\xd8\xff picture"
    assert (again.data_dir / "gate.key").read_bytes() == b"secret of links"
    assert again.gate_keys.read_bytes() == planned.settings.gate_keys.read_bytes()
    names = {
        one.relative_to(planned.settings.map_dir) for one in planned.settings.map_dir.rglob("*")
    }
    assert {one.relative_to(again.map_dir) for one in again.map_dir.rglob("*")} == names
    for file in ("kept.tar", "keys.tar"):
        assert (tmp_path / file).stat().st_mode & 0o077 == 0
    kept = (tmp_path / "kept.tar").read_bytes()
    assert b"secret of links" not in kept
    assert planned.settings.gate_keys.read_bytes().strip() not in kept


def test_a_restore_asks_for_the_keys_that_were_kept_apart(bare: Company, tmp_path: Path) -> None:
    """Somebody notices on the day of the restore, and not when the first gate does not open."""
    key = bare.settings.data_dir / "gate_codes.key"
    key.write_bytes(b"of that day")
    kept, keys = tmp_path / "kept.tar", tmp_path / "keys.tar"
    back_up(bare.settings, kept, with_map=False, keys=keys, at=AT)
    key.write_bytes(b"of a later day")
    back_up(bare.settings, tmp_path / "later.tar", with_map=False, keys=tmp_path / "l", at=AT)

    with pytest.raises(BackupError, match="kept apart: name their file with --keys"):
        restore(elsewhere(tmp_path / "one"), kept)
    with pytest.raises(BackupError, match=r"not hold the key gate_codes\.key as it was"):
        restore(elsewhere(tmp_path / "two"), kept, keys=tmp_path / "l")
    with pytest.raises(BackupError, match="holds no keys"):
        restore(elsewhere(tmp_path / "three"), kept, keys=tmp_path / "nowhere")
    bare_again = elsewhere(tmp_path / "four")
    restore(bare_again, kept, without_keys=True)
    assert not bare_again.gate_keys.exists()


@pytest.mark.both_databases
def test_a_backup_made_while_others_write_has_whole_actions_only(
    bare: Company, tmp_path: Path
) -> None:
    """Each action here writes two holds; a copy with one of them would be half an action."""
    with bare.writing() as session:
        write_sites_for(session)
    done = threading.Event()
    written = threading.Event()

    def write() -> None:
        for number in range(10_000):
            if done.is_set():
                return
            day = TODAY.fromordinal(TODAY.toordinal() + number)
            with bare.writing() as session:
                write_holds(session, [Hold("S1", day, day)])
                write_holds(session, [Hold("S2", day, day)])
            written.set()

    writer = threading.Thread(target=write)
    writer.start()
    assert written.wait(60)
    back_up(bare.settings, tmp_path / "kept.tar", with_map=False, at=AT)
    done.set()
    writer.join()

    again = elsewhere(tmp_path / "again")
    restore(again, tmp_path / "kept.tar")
    engine = make_engine(again)
    with transaction(engine, read_only=True) as session:
        holds = read_holds(session)
    engine.dispose()
    assert holds
    days = {site: [one.first_day for one in holds if one.site_id == site] for site in ("S1", "S2")}
    assert days["S1"] == days["S2"]


def write_sites_for(session: object) -> None:
    """Two sites to hang holds on."""
    from dataclasses import replace

    from dispatch.store.book import write_sites
    from tests.store.values import BARE_SITE

    write_sites(session, [replace(BARE_SITE, id="S1"), replace(BARE_SITE, id="S2")])  # type: ignore[arg-type]


def test_nothing_is_restored_over_what_is_there(bare: Company, tmp_path: Path) -> None:
    """A restore must never be the accident that it is meant to mend."""
    back_up(bare.settings, tmp_path / "kept.tar", at=AT)
    with pytest.raises(BackupError, match="is not empty"):
        restore(bare.settings, tmp_path / "kept.tar")


@pytest.mark.both_databases
def test_a_backup_of_a_newer_version_is_refused_before_anything_is_put(
    bare: Company, tmp_path: Path
) -> None:
    """Half restored, the folder would be in the way of the version that can read it."""
    with bare.engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    back_up(bare.settings, tmp_path / "kept.tar", keys=tmp_path / "keys.tar", at=AT)
    again = elsewhere(tmp_path / "again")
    with pytest.raises(BackupError, match=r"newer version \(tables 9999, this one knows"):
        restore(again, tmp_path / "kept.tar", keys=tmp_path / "keys.tar")
    assert list(again.data_dir.iterdir()) == []


def test_a_damaged_backup_is_refused_whole(bare: Company, tmp_path: Path) -> None:
    """Half a company is worse than none, and nobody notices it at first."""
    kept = tmp_path / "kept.tar"
    back_up(bare.settings, kept, at=AT)
    whole = kept.read_bytes()
    place = whole.index(b"SQLite format 3")
    kept.write_bytes(whole[:place] + b"damaged" + whole[place + 7 :])
    with pytest.raises(BackupError, match=r"dispatch\.sqlite is missing or damaged"):
        restore(elsewhere(tmp_path / "again"), kept)
    kept.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(BackupError, match="not a whole one"):
        restore(elsewhere(tmp_path / "again"), kept)
    assert list((tmp_path / "again").iterdir()) == []


def test_a_backup_cannot_write_outside_its_folder(tmp_path: Path) -> None:
    """A file from a stranger may name any path."""
    evil = tmp_path / "evil.tar"
    (tmp_path / "harmless").write_text("x")
    with tarfile.open(evil, "w") as tar:
        tar.add(tmp_path / "harmless", "../escaped")
    with pytest.raises(BackupError, match="is no backup"):
        restore(elsewhere(tmp_path / "again"), evil)
    assert not (tmp_path / "escaped").exists()


def test_a_backup_that_finds_no_room_leaves_the_one_before(bare: Company, tmp_path: Path) -> None:
    """The old file is replaced only by a whole new one."""
    kept = tmp_path / "kept.tar"
    kept.write_bytes(b"the one before")
    company = open_company(tmp_path / "other")
    company.engine.dispose()
    with pytest.raises(BackupError, match="cannot be written"):
        back_up(company.settings, tmp_path / "nowhere" / "kept.tar", at=AT)
    assert kept.read_bytes() == b"the one before"


@pytest.mark.sqlite_only
def test_a_copy_that_finds_no_room_is_told_in_words(company: Company, tmp_path: Path) -> None:
    """As on a full disk; whoever makes backups by a timer reads why there is none."""
    with pytest.raises(BackupError, match=r"cannot be copied to .*See that there is room"):
        copy_sqlite(company.settings.data_dir / "dispatch.sqlite", tmp_path / "none" / "x.sqlite")
