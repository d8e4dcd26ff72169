"""How many calls are worked on at a time.

A call keeps its database connection from its first question until its answer is made, and needs a
thread of the pool for each step between. With more calls at a time than the database has
connections, those that wait for a connection take every thread, those that have one wait for a
thread, and nobody gets on until the waiting gives up. So calls wait here instead, which costs
neither; more at a time would not be answered sooner anyway.

A place is taken once a call has been received whole, so that nobody holds one by sending slowly,
and is free again before the answer leaves, so that nobody does by reading slowly.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator

from fastapi import Request

# Each may have two connections, one of the branch and one of the directory of people; the pools
# (`store/sqlite.py`, `store/postgres.py`) have 40, and leave some for what needs one for a moment.
PLACES = 16


async def take_place(request: Request) -> AsyncIterator[None]:
    """Wait for a place and keep it until the answer is made; every route depends on it."""
    places = request.app.state.places
    assert isinstance(places, asyncio.Semaphore)  # noqa: S101
    async with places:
        yield
