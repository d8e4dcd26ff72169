"""What is wrong with an installation, and how to mend it; nothing is changed by looking."""

from __future__ import annotations

import os
import shutil
import sqlite3
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Engine, make_url
from sqlalchemy.exc import SQLAlchemyError
from sqlmodel import Session

from dispatch.actions.backup_keys import key_files
from dispatch.actions.lists import ListTable
from dispatch.errors import DispatchError, MailError
from dispatch.operation_settings import FILE_VARIABLE
from dispatch.settings import ENV_PREFIX, Settings
from dispatch.store.db import open_engine
from dispatch.store.migrations import newest_revision, present_revision
from dispatch.store.notices import count_waiting

if TYPE_CHECKING:
    from sqlalchemy import Connection

SHORTEST_SECRET = 16  # characters; 64 bits when they are hexadecimal
LEAST_FREE_GB = 0.2  # below it a map or a backup no longer fits; common practice
LITTLE_FREE_GB = 2.0
LARGE_WAL_MB = 256.0  # a log this long means that somebody reads without an end
CLOCKS_APART_S = 30.0  # between this machine and that of the database
LONG_WAIT = timedelta(hours=1)  # of a message, where a timer runs


class State(StrEnum):
    """How a check came out."""

    WELL = "well"
    REMARK = "remark"  # works, and deserves a look
    WRONG = "wrong"


@dataclass(frozen=True, slots=True)
class Finding:
    """What one check found, and how to mend it where something is amiss."""

    check: str
    state: State
    found: str
    mend: str = ""


def examine(settings: Settings) -> list[Finding]:
    """All checks; a check that breaks is itself a finding."""
    checks: tuple[tuple[str, Callable[[Settings], Iterator[Finding]]], ...] = (
        ("settings", _settings),
        ("operation", _operation),
        ("data folder", _folder),
        ("disk space", _space),
        ("keys", _keys),
        ("database", _database),
        ("street map", _map),
        ("compiled code", _compiled),
        ("messages", _messages),
        ("time", _time),
    )
    found: list[Finding] = []
    for name, check in checks:
        try:
            found += check(settings)
        except Exception as error:
            said = f"{type(error).__name__}: {error}"
            found.append(Finding(name, State.WRONG, said, "Send this line with a report."))
    return found


def finding_list(findings: list[Finding]) -> ListTable:
    """The findings as a list."""
    rows = tuple((one.check, str(one.state), one.found, one.mend) for one in findings)
    return ListTable(("check", "state", "found", "mend"), rows)


def _settings(_settings_read: Settings) -> Iterator[Finding]:
    known = {ENV_PREFIX + name.upper() for name in Settings.model_fields} | {FILE_VARIABLE}
    unknown = sorted(name for name in os.environ if name.startswith(ENV_PREFIX))
    unknown = [name for name in unknown if name not in known]
    if unknown:
        yield Finding(
            "settings",
            State.REMARK,
            f"There is no setting {', '.join(unknown)}.",
            "Look for the right name with 'dispatch settings'; a slip there has no effect.",
        )
    else:
        yield Finding("settings", State.WELL, "All can be read.")


def _operation(settings: Settings) -> Iterator[Finding]:
    """Settings of running the service that do not go together."""
    odd = []
    if not settings.service_works and not settings.uses_postgres:
        words = (
            "DISPATCH_SERVICE_WORKS is off, and over SQLite nobody else does jobs: none is done."
        )
        mend = "Switch it on, or use PostgreSQL and start 'dispatch work'."
        odd.append(Finding("operation", State.WRONG, words, mend))
    if settings.behind_tls and not settings.trusted_proxies:
        words = (
            "DISPATCH_PUBLIC_URL begins with https and no proxy is trusted: every caller seems to "
            "come from the proxy, so that one who guesses passwords slows down all."
        )
        mend = "Name the proxy with DISPATCH_TRUSTED_PROXIES, as 127.0.0.1."
        odd.append(Finding("operation", State.REMARK, words, mend))
    cores = os.cpu_count() or 1
    if settings.jobs_at_once > cores:
        words = f"{settings.jobs_at_once} jobs at a time share {cores} cores, and each is slower."
        mend = f"Set DISPATCH_JOBS_AT_ONCE to {cores} or less."
        odd.append(Finding("operation", State.REMARK, words, mend))
    if 0 < len(settings.metrics_token) < SHORTEST_SECRET:
        words = (
            f"The secret of DISPATCH_METRICS_TOKEN has {len(settings.metrics_token)} characters."
        )
        mend = f"Make one of {SHORTEST_SECRET} or more, as with 'openssl rand -hex 16'."
        odd.append(Finding("operation", State.REMARK, words, mend))
    yield from odd or [Finding("operation", State.WELL, "The settings go together.")]


def _folder(settings: Settings) -> Iterator[Finding]:
    folder = settings.data_dir
    if not folder.is_dir():
        yield Finding(
            "data folder",
            State.WRONG,
            f"There is no folder {folder.absolute()}.",
            "Start once with 'dispatch serve', or name the folder with DISPATCH_DATA_DIR.",
        )
    elif not os.access(folder, os.W_OK | os.X_OK):
        yield Finding(
            "data folder",
            State.WRONG,
            f"The folder {folder.absolute()} cannot be written to.",
            "Give it to the user that runs the service (chown), or run it as its owner.",
        )
    else:
        yield Finding("data folder", State.WELL, str(folder.absolute()))


def _space(settings: Settings) -> Iterator[Finding]:
    folder = settings.data_dir.absolute()
    place = next(one for one in (folder, *folder.parents) if one.exists())
    free_gb = shutil.disk_usage(place).free / 1e9
    mend = "Free some space, or move the data folder: a full disk refuses every change."
    if free_gb < LEAST_FREE_GB:
        yield Finding("disk space", State.WRONG, f"{free_gb:.2f} GB are free.", mend)
    elif free_gb < LITTLE_FREE_GB:
        yield Finding("disk space", State.REMARK, f"{free_gb:.1f} GB are free.", mend)
    else:
        yield Finding("disk space", State.WELL, f"{free_gb:.0f} GB are free.")


def _keys(settings: Settings) -> Iterator[Finding]:
    keys = list(key_files(settings).values())
    open_ones = [one for one in keys if one.stat().st_mode & 0o077]
    if open_ones:
        names = " ".join(str(one) for one in open_ones)
        yield Finding(
            "keys",
            State.WRONG,
            f"Others on this machine can read {names}.",
            f"Run 'chmod 600 {names}'.",
        )
    else:
        yield Finding("keys", State.WELL, ", ".join(one.name for one in keys) or "None needed yet.")


def _database(settings: Settings) -> Iterator[Finding]:
    if not settings.uses_postgres and not _sqlite_file(settings).is_file():
        yield Finding(
            "database",
            State.WRONG,
            f"There is no database {settings.shown_database_url} yet.",
            "It is made at the first start; a wrong DISPATCH_DATA_DIR looks like this too.",
        )
        return
    engine = open_engine(settings)
    try:
        yield from _open_database(settings, engine)
    except SQLAlchemyError as error:
        said = str(getattr(error, "orig", error)).strip().splitlines()[0]
        yield Finding(
            "database",
            State.WRONG,
            f"{settings.shown_database_url} cannot be reached: {said}.",
            "See that the server runs and that address, user and password are right.",
        )
    finally:
        engine.dispose()


def _open_database(settings: Settings, engine: Engine) -> Iterator[Finding]:
    with engine.execution_options(read_only=True).connect() as connection:
        present, newest = present_revision(connection), newest_revision()
        if present == newest:
            yield Finding("database", State.WELL, f"Reached, tables at version {present}.")
        else:
            yield Finding(
                "database",
                State.REMARK if present < newest else State.WRONG,
                f"Tables are at version {present or 'none'}, this program knows {newest}.",
                "An older one is brought up to date at the next start: make a backup first. A "
                "newer one needs the newer program.",
            )
        yield from _clock(connection) if settings.uses_postgres else _sqlite(settings, connection)
        if present == newest and settings.sends_mail:
            yield from _waiting(settings, connection)


def _waiting(settings: Settings, connection: Connection) -> Iterator[Finding]:
    """Whether anybody sends what stands in the outbox."""
    with Session(connection) as session:
        number = count_waiting(session, settings.now() - LONG_WAIT)
    if number:
        yield Finding(
            "outbox",
            State.REMARK,
            f"Messages to customers that have waited for more than an hour: {number}.",
            "Let a timer run 'dispatch notices' every ten minutes, and see what it says.",
        )


def _clock(connection: Connection) -> Iterator[Finding]:
    theirs = float(connection.exec_driver_sql("SELECT extract(epoch FROM now())").scalar() or 0)
    apart_s = abs(theirs - time.time())
    state = State.WELL if apart_s < CLOCKS_APART_S else State.WRONG
    yield Finding(
        "clock",
        state,
        f"{apart_s:.0f} s between this machine and the database's.",
        "" if state is State.WELL else "Set both by the same time service (NTP).",
    )


def _sqlite(settings: Settings, connection: Connection) -> Iterator[Finding]:
    said = connection.exec_driver_sql("PRAGMA quick_check").scalar()
    mode = connection.exec_driver_sql("PRAGMA journal_mode").scalar()
    wal = Path(f"{_sqlite_file(settings)}-wal")
    wal_mb = wal.stat().st_size / 1e6 if wal.exists() else 0.0
    if said != "ok":
        yield Finding(
            "database file", State.WRONG, f"Damaged: {said}.", "Restore the latest backup."
        )
    elif mode != "wal":
        yield Finding(
            "database file",
            State.WRONG,
            f"Its journal is '{mode}', so that readers and writers shut each other out.",
            "Move it to a local disk: network folders do not allow write-ahead logging.",
        )
    elif wal_mb > LARGE_WAL_MB:
        yield Finding(
            "database file",
            State.REMARK,
            f"Its write-ahead log has grown to {wal_mb:.0f} MB.",
            "Restart the service; some program keeps the file open and reads.",
        )
    else:
        yield Finding("database file", State.WELL, f"Whole; SQLite {sqlite3.sqlite_version}.")


def _map(settings: Settings) -> Iterator[Finding]:
    from dispatch.actions.maps import road_map

    try:
        summary = road_map(settings).summary
    except DispatchError as error:
        mend = "Build it: 'dispatch map build FILE.osm.pbf'."
        yield Finding("street map", State.REMARK, str(error), mend)
    else:
        yield Finding("street map", State.WELL, f"{summary.nodes:,} junctions of {summary.source}.")


def _compiled(_settings_read: Settings) -> Iterator[Finding]:
    from dispatch.planning.warm import is_compiled

    if is_compiled():
        yield Finding("compiled code", State.WELL, "The search is compiled.")
        return
    yield Finding(
        "compiled code",
        State.REMARK,
        "The search is not compiled on this machine yet.",
        "The first start does so, in about a minute; NUMBA_CACHE_DIR names a folder that stays.",
    )


def _messages(settings: Settings) -> Iterator[Finding]:
    """Whether customers can be told, and the mail server answers."""
    from dispatch.notices.post import SmtpPost

    if not settings.mail_server:
        yield Finding("messages", State.WELL, "Off: no mail server is set, and nobody is told.")
        return
    if not settings.sends_mail:
        missing = ", ".join(settings.mail_lacks)
        words = "There is a mail server, and messages are off all the same."
        yield Finding("messages", State.WRONG, words, f"Set {missing}.")
        return
    post = SmtpPost(settings)
    try:
        post.try_out()
    except MailError as error:
        said, _colon, mend = str(error).rpartition(": ")
        yield Finding("messages", State.WRONG, said, f"{mend[:1].upper()}{mend[1:]}")
    else:
        yield Finding("messages", State.WELL, f"{settings.mail_server} answers.")
    finally:
        post.close()


def _time(settings: Settings) -> Iterator[Finding]:
    if settings.fixed_today is not None:
        yield Finding(
            "time",
            State.REMARK,
            f"It is always {settings.fixed_today} here.",
            "Unset DISPATCH_FIXED_TODAY, unless this is a rehearsal.",
        )
    elif settings.time_zone is None:
        yield Finding(
            "time",
            State.REMARK,
            f"The time zone is the machine's own ({time.tzname[0]}).",
            "Set DISPATCH_TIME_ZONE to the company's, as America/Phoenix.",
        )
    else:
        yield Finding("time", State.WELL, f"{settings.today()} in {settings.time_zone}.")


def _sqlite_file(settings: Settings) -> Path:
    return Path(make_url(settings.database_url).database or "")
