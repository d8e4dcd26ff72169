"""What is given out to people without an account: addresses, letters, and a brake on guessing."""

from __future__ import annotations

from pathlib import Path

from fastapi import Request
from limits import RateLimitItemPerMinute
from limits.storage import MemoryStorage
from limits.strategies import MovingWindowRateLimiter

import api
from dispatch.errors import NotFound, TooManyTries
from dispatch.feeds.paper import Typeface
from dispatch.settings import Settings
from dispatch.words import _

# Common practice: a household looks a few times, a calendar every quarter of an hour. A token has
# 128 random bits and more, so that the brake only spares the machine.
OF_ADDRESS = RateLimitItemPerMinute(120, 1)
WRONG_OF_ADDRESS = RateLimitItemPerMinute(20, 15)
HEADERS = {
    "Cache-Control": "no-store",
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": "noindex, nofollow",
}


class LinkBrake:
    """Counts what comes from an address over links; the counts live in memory."""

    def __init__(self) -> None:
        self._limiter = MovingWindowRateLimiter(MemoryStorage())

    def count(self, request: Request) -> None:
        """Count a call before its link is looked at.

        Raises
        ------
        TooManyTries
            When there were too many of them, or too many that led nowhere.
        """
        address = _address(request)
        if not self._limiter.test(WRONG_OF_ADDRESS, address) or not self._limiter.hit(
            OF_ADDRESS, address
        ):
            raise TooManyTries(
                _("Too many links were opened from here: wait a quarter of an hour.")
            )

    def count_wrong(self, request: Request) -> None:
        """Count a link that led nowhere."""
        self._limiter.hit(WRONG_OF_ADDRESS, _address(request))


def brake_of(request: Request) -> LinkBrake:
    """The brake of the service."""
    brake = request.app.state.link_brake
    assert isinstance(brake, LinkBrake)  # noqa: S101
    return brake


def nowhere(request: Request, error: NotFound) -> NotFound:
    """The same error, counted."""
    brake_of(request).count_wrong(request)
    return error


def address_of(settings: Settings, path: str) -> str:
    """The whole address of a path, where the settings say under which people reach the service."""
    return f"{settings.public_url}{path}"


def typeface() -> Typeface:
    """The letters that the build puts beside the pages."""
    folder = Path(api.__file__).parent / "static"
    return Typeface(
        folder / "DejaVuSansCondensed.ttf",
        folder / "DejaVuSansCondensed-Bold.ttf",
    )


def _address(request: Request) -> str:
    return request.client.host if request.client else ""
