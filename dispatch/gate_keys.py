"""Sealing gate codes: encrypted where they are kept, opened only where they are shown.

A sealed code is a Fernet token (AES-128-CBC with HMAC-SHA-256, from the package `cryptography`)
behind a word that says so. The keys lie in a file of their own, newest first, one a line; whoever
has the database alone has no gate code.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from cryptography.fernet import Fernet, InvalidToken, MultiFernet

from dispatch.errors import KeyLost
from dispatch.words import _

SEALED = "sealed:"  # what a sealed code begins with


def is_sealed(code: str) -> bool:
    """Whether the text is a sealed code, or no code at all."""
    return not code or code.startswith(SEALED)


def seal(code: str, file: Path) -> str:
    """The code, sealed with the newest key of `file`, which is made when missing.

    No code stays no code, and a sealed one stays as it is.
    """
    if is_sealed(code):
        return code
    return SEALED + _box(file, make=True).encrypt(code.encode()).decode()


def open_sealed(sealed: str, file: Path) -> str:
    """The code of its sealed text; no code where there is none.

    Raises
    ------
    KeyLost
        When the file is missing, or holds no key that the code was sealed with.
    """
    if not sealed:
        return ""
    try:
        return _box(file, make=False).decrypt(sealed.removeprefix(SEALED).encode()).decode()
    except InvalidToken as error:
        raise KeyLost(
            _(
                "A gate code cannot be read: no key in {file} is the one it was sealed with. "
                "Put the right key file back from a backup, or enter the codes anew by an "
                "import of sites."
            ).format(file=file)
        ) from error


def add_key(file: Path) -> None:
    """Put a new key before those of the file; what is sealed from now on uses it."""
    old = _keys(file) if file.exists() else []
    _write(file, [Fernet.generate_key().decode(), *old])


def keep_newest_key(file: Path) -> None:
    """Forget all keys but the newest, once nothing is sealed with the others."""
    _write(file, _keys(file)[:1])


def _box(file: Path, *, make: bool) -> MultiFernet:
    if not file.exists():
        if not make:
            raise KeyLost(
                _(
                    "Gate codes cannot be read: their key file {file} is missing. Put it back "
                    "from a backup, or name where it is with DISPATCH_GATE_KEY_FILE."
                ).format(file=file)
            )
        add_key(file)
    try:
        return MultiFernet([Fernet(key) for key in _keys(file)])
    except ValueError as error:
        raise KeyLost(
            _(
                "Gate codes cannot be read: the key file {file} holds no Fernet keys, one a "
                "line. Put it back from a backup."
            ).format(file=file)
        ) from error


def _keys(file: Path) -> list[str]:
    return file.read_text(encoding="ascii", errors="replace").split()


def _write(file: Path, keys: Sequence[str]) -> None:
    """Write the file whole or not at all, for the eyes of its owner alone."""
    file.parent.mkdir(parents=True, exist_ok=True)
    part = file.with_suffix(".part")
    part.unlink(missing_ok=True)
    opened = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(opened, "w", encoding="ascii") as target:
        target.write("".join(f"{key}\n" for key in keys))
        target.flush()
        os.fsync(target.fileno())
    part.replace(file)
