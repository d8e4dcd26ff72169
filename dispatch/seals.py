"""Links that carry their own secret: what stands in them is encrypted and signed.

A link is a Fernet token (AES-128-CBC and HMAC-SHA-256) without the padding at its end. The key is
a file in the data folder, made with the first link; whoever replaces it ends every link at once.
"""

from __future__ import annotations

import base64
import os
from enum import StrEnum
from pathlib import Path

from cryptography.fernet import Fernet, InvalidToken

from dispatch.errors import NotFound, SettingsError
from dispatch.words import N_, _

LONGEST = 1000  # characters of a token; ours have about 200
NOWHERE = N_(
    "This link leads nowhere: it was copied in part, or it has been withdrawn. Ask for a new one."
)


class SealedUse(StrEnum):
    """What a link is for; one made for another use opens nothing."""

    CALENDAR = "calendar"
    VISIT = "visit"


class Seal:
    """Makes the tokens of links and reads them.

    Raises
    ------
    SettingsError
        When the key is none.
    """

    def __init__(self, key: bytes) -> None:
        try:
            self._fernet = Fernet(key)
        except ValueError as error:
            raise SettingsError(
                _(
                    "The key of the links is none: it must be 32 bytes in URL-safe base 64. "
                    "Put the file link.key of the data folder back, or remove it to end all "
                    "links at once."
                )
            ) from error

    def seal(self, use: SealedUse, content: str) -> str:
        """A token for `content`; every one is different and stays good."""
        return self._fernet.encrypt(f"{use}\n{content}".encode()).decode().rstrip("=")

    def open(self, use: SealedUse, token: str) -> str:
        """The content of a token that was made for `use`.

        Raises
        ------
        NotFound
            For any other; the words are the same whatever is wrong with it.
        """
        padded = token[:LONGEST] + "=" * (-len(token) % 4)
        try:
            found, _rest, content = self._fernet.decrypt(padded.encode()).decode().partition("\n")
        except (InvalidToken, ValueError) as error:
            raise NotFound(_(NOWHERE)) from error
        if found != use:
            raise NotFound(_(NOWHERE))
        return content


def read_seal(file: Path) -> Seal:
    """The seal of the key in `file`, which is made, readable to its owner alone, if missing."""
    if not file.is_file():
        _write_key(file)
    return Seal(file.read_bytes().strip())


def _write_key(file: Path) -> None:
    """Write a new key that is either whole or not there; one that came first is left alone."""
    file.parent.mkdir(parents=True, exist_ok=True)
    key = base64.urlsafe_b64encode(os.urandom(32))  # what Fernet takes: 256 random bits
    beside = file.with_name(f".{file.name}-{os.getpid()}-{os.urandom(4).hex()}")
    descriptor = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "wb") as new:
        new.write(key)
    try:
        os.link(beside, file)
    except FileExistsError:
        pass  # another process made it in the same moment
    finally:
        beside.unlink()
