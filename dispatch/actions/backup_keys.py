"""The keys of an installation, kept apart from its backups.

Gate codes in a backup are sealed, and calendar and visit links carry a seal: whoever has the
backup alone can neither read the ones nor forge the others. So the keys are written to a file of
their own, which belongs in another place, and a backup holds only their digests.
"""

from __future__ import annotations

import hashlib
import os
import tarfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from dispatch.errors import BackupError
from dispatch.settings import Settings
from dispatch.words import _

GATE_KEYS = "gate_codes.key"  # their name in the file, wherever the settings keep them


def key_files(settings: Settings) -> dict[str, Path]:
    """The key files that there are, by their names."""
    found = {one.name: one for one in sorted(settings.data_dir.glob("*.key"))}
    if settings.gate_keys.is_file():
        found[GATE_KEYS] = settings.gate_keys
    return found


def digests_of_keys(settings: Settings) -> dict[str, str]:
    """The SHA-256 of each key file."""
    return {name: _digest(file.read_bytes()) for name, file in key_files(settings).items()}


def write_keys(settings: Settings, target: Path) -> None:
    """Write the keys to a file for the eyes of its owner alone, whole or not at all.

    Raises
    ------
    BackupError
        When it cannot be written.
    """
    part = target.with_name(f"{target.name}.part")
    try:
        with private(part) as out, tarfile.open(fileobj=out, mode="w") as tar:
            for name, file in key_files(settings).items():
                tar.add(file, name)
        os.replace(part, target)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise BackupError(
            _("The keys cannot be written to {file}: {why}.").format(
                file=target, why=error.strerror
            )
        ) from error


def read_keys(file: Path, wanted: Mapping[str, str]) -> dict[str, bytes]:
    """The keys of a file, checked against the digests that a backup has of them.

    Raises
    ------
    BackupError
        When the file holds no keys, or others than those of the backup.
    """
    try:
        with tarfile.open(file) as tar:
            found = {
                one.name: opened.read()
                for one in tar.getmembers()
                if one.name in wanted and (opened := tar.extractfile(one)) is not None
            }
    except (OSError, tarfile.TarError) as error:
        raise BackupError(
            _("The file {file} holds no keys: {why}.").format(file=file, why=error)
        ) from error
    for name, digest in wanted.items():
        if _digest(found.get(name, b"")) != digest:
            raise BackupError(
                _(
                    "The file {file} does not hold the key {name} as it was when the backup was "
                    "made, so that what is sealed could not be read: choose the keys that were "
                    "written with it."
                ).format(file=file, name=name)
            )
    return found


def put_keys(settings: Settings, keys: Mapping[str, bytes]) -> None:
    """Put keys where the settings keep them."""
    for name, content in keys.items():
        file = settings.gate_keys if name == GATE_KEYS else settings.data_dir / name
        file.parent.mkdir(parents=True, exist_ok=True)
        with private(file) as out:
            out.write(content)


def private(file: Path) -> Any:
    """The file, opened for writing, for the eyes of its owner alone."""
    return os.fdopen(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb")


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
