"""Backups: everything of an installation in one file, and back into an empty folder.

A backup holds the database as it was at one moment, the photos and the drive-time factors, and the
street map unless it is left out (it can be built again from the extract). It does not hold jobs
under way, drive times kept on disk (they are computed again), logs, settings, and of PostgreSQL
neither roles nor anything outside the schema. The keys of gate codes and links go into a file of
their own (`backup_keys`), because whoever had both could read the codes.
"""

from __future__ import annotations

import hashlib
import json
import os
import tarfile
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field
from datetime import datetime
from importlib.metadata import version
from pathlib import Path
from tempfile import TemporaryDirectory

from sqlalchemy import Engine, make_url

from dispatch.actions.backup_keys import (
    digests_of_keys,
    private,
    put_keys,
    read_keys,
    write_keys,
)
from dispatch.errors import BackupError
from dispatch.settings import Settings
from dispatch.store.db import make_engine, open_engine
from dispatch.store.migrations import (
    is_known,
    newest_revision,
    present_revision,
    upgrade,
)
from dispatch.store.postgres_copy import copy_postgres, fill_postgres
from dispatch.store.sqlite_copy import check_sqlite, copy_sqlite
from dispatch.words import _

FORMAT = 1
ABOUT, TABLES, FILES = "about.json", "tables", "files"
SQLITE_FILE = "dispatch.sqlite"
KEPT = ("photos", "drive_factors.json")  # of the data folder
MAP = "map"


@dataclass(frozen=True, slots=True)
class About:
    """What a backup says of itself; `digests` has the SHA-256 of each file by its name.

    `keys` has those of the keys that belong to it and are not in it.
    """

    format: int
    made_at: str
    program: str
    database: str
    revision: str
    branch: str
    digests: dict[str, str]
    keys: dict[str, str] = field(default_factory=dict)


def back_up(
    settings: Settings,
    file: Path,
    *,
    with_map: bool = True,
    keys: Path | None = None,
    at: datetime,
) -> About:
    """Write a backup while the service goes on; what stood in `file` stays until it is whole.

    The keys are written to the file `keys`, or nowhere.

    Raises
    ------
    BackupError
        When it cannot be written.
    """
    part = file.with_name(f"{file.name}.part")
    try:
        with TemporaryDirectory(dir=file.parent, prefix=".backup-") as place:
            made, digests = Path(place), {}
            revision = _copy_database(settings, made / TABLES)
            # photos are written before rows speak of them, so they are copied after
            found = {f"{TABLES}/{one.name}": one for one in sorted((made / TABLES).iterdir())}
            found |= _files(settings, with_map=with_map)
            with private(part) as out, tarfile.open(fileobj=out, mode="w") as tar:
                for name, source in found.items():
                    if (digest := _add(tar, name, source)) is not None:
                        digests[name] = digest
                about = _about(settings, revision, digests, at)
                (made / ABOUT).write_text(json.dumps(asdict(about), indent=1))
                tar.add(made / ABOUT, ABOUT)
            if keys is not None:
                write_keys(settings, keys)
            os.replace(part, file)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise BackupError(
            _("The backup {file} cannot be written: {why}.").format(file=file, why=error.strerror)
        ) from error
    return about


def restore(
    settings: Settings, file: Path, *, keys: Path | None = None, without_keys: bool = False
) -> About:
    """Put a backup into the empty data folder, and with PostgreSQL the empty database, of settings.

    Tables of an older version are brought up to date. The keys come from the file `keys`; only
    `without_keys` is a backup that had some restored without.

    Raises
    ------
    BackupError
        When the file is no whole backup, of the other kind of database or of a newer version, the
        data folder or the database is not empty, or the keys are missing or others.
    """
    folder = settings.data_dir
    if folder.exists() and any(folder.iterdir()):
        raise BackupError(
            _(
                "The folder {folder} is not empty: name an empty one with DISPATCH_DATA_DIR, or "
                "move the old one away."
            ).format(folder=folder)
        )
    folder.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory(dir=folder.parent, prefix=".restore-") as place:
        about = _unpack(file, Path(place))
        kind = "postgresql" if settings.uses_postgres else "sqlite"
        if about.database != kind:
            raise BackupError(
                _(
                    "The backup {file} is of a {database} database, and DISPATCH_DATABASE_URL "
                    "names a {kind} one: choose one of the same kind."
                ).format(file=file, database=about.database, kind=kind)
            )
        if not is_known(about.revision):
            raise BackupError(
                _(
                    "The backup {file} was made by a newer version (tables {revision}, this one "
                    "knows {newest}): restore it with that version or a later one."
                ).format(file=file, revision=about.revision, newest=newest_revision())
            )
        opened = _keys(file, about, keys, without_keys=without_keys)
        _restore_database(settings, about, Path(place) / TABLES)
        for one in sorted((Path(place) / FILES).glob("*")):
            os.replace(one, folder / one.name)
        put_keys(settings, opened)
    make_engine(settings).dispose()
    return about


def _keys(file: Path, about: About, keys: Path | None, *, without_keys: bool) -> dict[str, bytes]:
    if keys is not None:
        return read_keys(keys, about.keys)
    if about.keys and not without_keys:
        raise BackupError(
            _(
                "The keys of gate codes and links are not in the backup {file}, they were kept "
                "apart: name their file with --keys. Without it every gate code has to be "
                "entered anew and links given out to calendars and customers end; "
                "--without-keys goes on all the same."
            ).format(file=file)
        )
    return {}


def _copy_database(settings: Settings, folder: Path) -> str:
    engine = open_engine(settings)
    try:
        with engine.execution_options(read_only=True).connect() as connection:
            revision = present_revision(connection)
        if settings.uses_postgres:
            copy_postgres(engine, folder)
        else:
            folder.mkdir()
            copy_sqlite(_sqlite_file(settings), folder / SQLITE_FILE)
    finally:
        engine.dispose()
    return revision


def _restore_database(settings: Settings, about: About, folder: Path) -> None:
    if not settings.uses_postgres:
        target = _sqlite_file(settings)
        check_sqlite(folder / SQLITE_FILE)
        if target.exists():
            raise BackupError(
                _("There is a database {target} already: move it away first.").format(target=target)
            )
        target.parent.mkdir(parents=True, exist_ok=True)
        os.replace(folder / SQLITE_FILE, target)
        return
    engine: Engine = open_engine(settings)
    try:
        with engine.begin() as connection:
            if present_revision(connection) not in ("", about.revision):
                raise BackupError(_("The database has tables already: restore into an empty one."))
            upgrade(connection, about.revision)
        fill_postgres(engine, folder)
    finally:
        engine.dispose()


def _files(settings: Settings, *, with_map: bool) -> dict[str, Path]:
    folder = settings.data_dir
    roots: list[Path] = [folder / name for name in (*KEPT, *((MAP,) if with_map else ()))]
    return {
        f"{FILES}/{one.relative_to(folder).as_posix()}": one
        for root in roots
        for one in ([root] if root.is_file() else sorted(root.rglob("*")))
        if one.is_file() and not one.is_symlink()
    }


def _about(settings: Settings, revision: str, digests: dict[str, str], at: datetime) -> About:
    kind = "postgresql" if settings.uses_postgres else "sqlite"
    return About(
        FORMAT,
        at.isoformat(),
        version("pool-dispatch"),
        kind,
        revision,
        settings.branch,
        digests,
        digests_of_keys(settings),
    )


def _add(tar: tarfile.TarFile, name: str, source: Path) -> str | None:
    """Add a file and return its digest; None when it has gone meanwhile, as an old map's may."""
    try:
        with source.open("rb") as opened:
            digest = hashlib.file_digest(opened, "sha256").hexdigest()
        tar.add(source, name)
    except FileNotFoundError:
        return None
    return digest


def _unpack(file: Path, folder: Path) -> About:
    try:
        with tarfile.open(file) as tar:
            tar.extractall(folder, filter="data")  # no way out of the folder, no devices
        about = About(**json.loads((folder / ABOUT).read_text()))
    except (OSError, tarfile.TarError, ValueError, TypeError) as error:
        raise BackupError(
            _("The file {file} is no backup, or not a whole one: {error}.").format(
                file=file, error=error
            )
        ) from error
    if about.format != FORMAT:
        raise BackupError(
            _(
                "The backup {file} has format {format}, and this version reads {known}: "
                "restore it with the version that made it."
            ).format(file=file, format=about.format, known=FORMAT)
        )
    (folder / FILES).mkdir(exist_ok=True)
    _check(file, folder, about.digests.items())
    return about


def _check(file: Path, folder: Path, digests: Iterable[tuple[str, str]]) -> None:
    for name, digest in digests:
        one = folder / name
        if one.is_file():
            with one.open("rb") as opened:
                if hashlib.file_digest(opened, "sha256").hexdigest() == digest:
                    continue
        raise BackupError(
            _("In the backup {file} the file {name} is missing or damaged.").format(
                file=file, name=name
            )
        )


def _sqlite_file(settings: Settings) -> Path:
    return Path(make_url(settings.database_url).database or "")
