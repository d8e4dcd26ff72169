"""Folders that files are made in before they take their place, also when the making is killed.

Each is locked by the process that works in it. The lock goes with the process, so that what a
killed one left behind can be told from what another is still working on.
"""

from __future__ import annotations

import fcntl
import os
import shutil
import tempfile
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

BUILDING, COMPUTING = ".building-", ".computing-"  # maps; matrices and hierarchies


@contextmanager
def scratch_folder(parent: Path, prefix: str) -> Iterator[Path]:
    """Yield a new folder in another, which must exist; it is removed with what is left in it."""
    remove_abandoned(parent)
    with tempfile.TemporaryDirectory(dir=parent, prefix=prefix) as name:
        lock = os.open(name, os.O_RDONLY)
        try:
            fcntl.flock(lock, fcntl.LOCK_EX)
            yield Path(name)
        finally:
            os.close(lock)


def remove_abandoned(parent: Path) -> None:
    """Remove the scratch folders of processes that are gone."""
    for prefix in (BUILDING, COMPUTING):
        for folder in parent.glob(f"{prefix}*"):
            _remove_unless_locked(folder)


def _remove_unless_locked(folder: Path) -> None:
    try:
        lock = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    except OSError:  # gone meanwhile, or no folder
        return
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        shutil.rmtree(folder, ignore_errors=True)
    except BlockingIOError:
        pass
    finally:
        os.close(lock)
