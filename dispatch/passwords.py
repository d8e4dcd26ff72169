"""Passwords and other secrets: how they are made, kept and compared.

A password is kept as an argon2id hash (RFC 9106) with the parameters of `pwdlib`. Session keys,
links and tokens are 256 random bits; of those a plain SHA-256 is kept, because nobody can try all
of them, and looking one up must be quick.
"""

from __future__ import annotations

import hashlib
import secrets
from functools import cache

from pwdlib import PasswordHash
from pwdlib.hashers.argon2 import Argon2Hasher

from dispatch.errors import InvalidValue
from dispatch.words import _

SHORTEST = 12  # characters; NIST SP 800-63B asks for at least 8, more where it stands alone
LONGEST = 200  # characters; beyond it hashing only costs time
SECRET_BYTES = 32  # 256 bits
FEWEST_DIFFERENT = 5  # different characters; 'aaaaaaaaaaaa' is guessed first


def hash_password(password: str, *, person_id: str = "") -> str:
    """The hash to keep of a new password; takes about 0.1 s by design.

    Raises
    ------
    InvalidValue
        When it is too short, too long, too uniform or contains the sign-in name.
    """
    if not SHORTEST <= len(password) <= LONGEST:
        raise InvalidValue(
            _(
                "The password has {number} characters: take {shortest} to {longest}, for "
                "instance four words that have nothing to do with each other."
            ).format(number=len(password), shortest=SHORTEST, longest=LONGEST)
        )
    if len(set(password)) < FEWEST_DIFFERENT:
        raise InvalidValue(
            _(
                "The password repeats too few characters: take at least {fewest_different} "
                "different ones."
            ).format(fewest_different=FEWEST_DIFFERENT)
        )
    if len(person_id) > 3 and person_id in password.lower():
        raise InvalidValue(_("The password contains the sign-in name: take one without it."))
    return _hasher().hash(password)


def is_password(password: str, kept: str) -> bool:
    """Whether `password` is the one whose hash was kept; False for an empty hash.

    An empty hash costs as much time as a real one, so that the time of an answer does not tell
    which sign-in names exist.
    """
    if len(password) > LONGEST:
        return False
    found = _hasher().verify(password, kept or _nobodys_hash())
    return found and bool(kept)


def new_secret() -> str:
    """A new random secret of 256 bits, in letters, digits, '-' and '_'."""
    return secrets.token_urlsafe(SECRET_BYTES)


def digest_of(secret: str) -> str:
    """What is kept of a random secret: its SHA-256 in hexadecimal digits."""
    return hashlib.sha256(secret.encode()).hexdigest()


@cache
def _hasher() -> PasswordHash:
    return PasswordHash((Argon2Hasher(),))


@cache
def _nobodys_hash() -> str:
    return _hasher().hash(new_secret())
