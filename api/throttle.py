"""Slows down whoever guesses passwords: by account, by address, and by both together.

Attempts are counted in the database, so that neither a restart nor a second process forgives any.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from math import ceil

from sqlalchemy import Engine

from dispatch.errors import TooManyTries
from dispatch.store.db import transaction
from dispatch.store.failed_sign_ins import (
    Limit,
    read_free_again,
    remove_failed,
    write_failed,
)
from dispatch.words import _

# Common practice: few enough that guessing is hopeless, many enough for a forgetful person.
LIMITS = (
    Limit(8, timedelta(minutes=15), of_account=True, of_address=True),
    Limit(40, timedelta(minutes=15), of_account=False, of_address=True),  # a whole office's
    # high, so that a stranger cannot lock somebody out soon
    Limit(100, timedelta(hours=1), of_account=True, of_address=False),
)


class Throttle:
    """Counts attempts to sign in that failed, in the database of the people."""

    def __init__(self, directory: Engine) -> None:
        self._directory = directory

    def count(self, person_id: str, address: str) -> None:
        """Count an attempt before its password is looked at, as one that fails.

        Raises
        ------
        TooManyTries
            When there were too many; the words say when the next may be made.
        """
        now = datetime.now(UTC)  # the machine's clock, which no rehearsed day holds still
        with transaction(self._directory) as session:
            free = read_free_again(session, LIMITS, person_id, address, now)
            if free is None:
                write_failed(session, person_id, address, now)
                return
        wait_s = max(1, ceil((free - now).total_seconds()))
        raise TooManyTries(
            _(
                "There were too many attempts to sign in. Wait {minutes} min and try "
                "again; whoever forgot the password can ask an owner for a link to set "
                "a new one."
            ).format(minutes=ceil(wait_s / 60)),
            wait_s,
        )

    def forgive(self, person_id: str, address: str) -> None:
        """Forget the attempts of an account from an address, because it signed in."""
        with transaction(self._directory) as session:
            remove_failed(session, person_id, address)
