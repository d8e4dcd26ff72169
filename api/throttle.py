"""Slows down whoever guesses passwords: by account, by address, and by both together.

The counts live in the memory of the process: a restart forgives, and an attacker cannot make one.
"""

from __future__ import annotations

import time

from limits import RateLimitItemPerHour, RateLimitItemPerMinute
from limits.storage import MemoryStorage
from limits.strategies import MovingWindowRateLimiter

from dispatch.errors import TooManyTries

# Common practice: few enough that guessing is hopeless, many enough for a forgetful person.
OF_BOTH = RateLimitItemPerMinute(8, 15)  # one account from one address
OF_ADDRESS = RateLimitItemPerMinute(40, 15)  # a whole office may share one address
OF_ACCOUNT = RateLimitItemPerHour(100)  # high, so that a stranger cannot lock somebody out soon


class Throttle:
    """Counts attempts to sign in."""

    def __init__(self) -> None:
        self._limiter = MovingWindowRateLimiter(MemoryStorage())

    def count(self, person_id: str, address: str) -> None:
        """Count an attempt before its password is looked at.

        Raises
        ------
        TooManyTries
            When there were too many; the words say when the next may be made.
        """
        for item, names in _counted(person_id, address):
            if not self._limiter.hit(item, *names):
                reset_at = self._limiter.get_window_stats(item, *names).reset_time
                minutes = max(1, round((reset_at - time.time()) / 60))
                raise TooManyTries(
                    f"There were too many attempts to sign in. Wait {minutes} min and try again; "
                    "whoever forgot the password can ask an owner for a link to set a new one."
                )

    def forgive(self, person_id: str, address: str) -> None:
        """Forget the attempts of an account from an address, because it signed in."""
        self._limiter.clear(OF_BOTH, "both", person_id, address)


def _counted(
    person_id: str, address: str
) -> tuple[tuple[RateLimitItemPerMinute | RateLimitItemPerHour, tuple[str, ...]], ...]:
    return (
        (OF_BOTH, ("both", person_id, address)),
        (OF_ADDRESS, ("address", address)),
        (OF_ACCOUNT, ("account", person_id)),
    )
