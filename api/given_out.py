"""What is given out to people without an account: addresses, letters, and a brake on guessing."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from math import ceil
from pathlib import Path

from fastapi import Request
from sqlalchemy import Engine

import api
from dispatch.errors import NotFound, TooManyTries
from dispatch.feeds.paper import Typeface
from dispatch.settings import Settings
from dispatch.store.db import transaction
from dispatch.store.opened_links import read_free_again, write_opened
from dispatch.words import _

# Common practice: a household looks a few times, a calendar every quarter of an hour. A token has
# 128 random bits and more, so that the brake only spares the machine.
MOST, WITHIN = 120, timedelta(minutes=1)
MOST_WRONG, WRONG_WITHIN = 20, timedelta(minutes=15)
LIMITS = ((MOST, WITHIN, False), (MOST_WRONG, WRONG_WITHIN, True))  # the last: that led nowhere
HEADERS = {
    "Cache-Control": "no-store",
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": "noindex, nofollow",
}


class LinkBrake:
    """Counts what comes from an address over links, in the database of the people.

    There neither a restart nor a second process forgives any.
    """

    def __init__(self, directory: Engine) -> None:
        self._directory = directory

    def count(self, request: Request) -> None:
        """Count a call before its link is looked at.

        Raises
        ------
        TooManyTries
            When there were too many of them, or too many that led nowhere.
        """
        address, now = _address(request), datetime.now(UTC)  # no rehearsed day holds it still
        with transaction(self._directory) as session:
            free = [
                read_free_again(session, address, now, most=most, within=within, led_nowhere=wrong)
                for most, within, wrong in LIMITS
            ]
            latest = max((at for at in free if at), default=None)
            if latest is None:
                write_opened(session, address, now, led_nowhere=False)
                return
        wait_s = max(1, ceil((latest - now).total_seconds()))
        minutes = ceil(wait_s / 60)
        raise TooManyTries(
            _("Too many links were opened from here: wait {minutes} min.").format(minutes=minutes),
            wait_s,
        )

    def count_wrong(self, request: Request) -> None:
        """Count a link that led nowhere."""
        with transaction(self._directory) as session:
            write_opened(session, _address(request), datetime.now(UTC), led_nowhere=True)


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
    return f"{settings.own_url}{path}"


def typeface() -> Typeface:
    """The letters that the build puts beside the pages."""
    folder = Path(api.__file__).parent / "static"
    return Typeface(
        folder / "DejaVuSansCondensed.ttf",
        folder / "DejaVuSansCondensed-Bold.ttf",
    )


def _address(request: Request) -> str:
    return request.client.host if request.client else ""
