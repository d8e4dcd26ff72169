from __future__ import annotations

import asyncio
from types import SimpleNamespace
from typing import Any

from api.turnstile import PLACES, take_place
from dispatch.store import postgres, sqlite


def test_so_many_calls_are_worked_on_at_a_time_and_all_are_in_the_end() -> None:
    """Those that wait hold neither a thread nor a connection."""
    inside, most, done = 0, 0, 0

    async def call(request: Any) -> None:
        nonlocal inside, most, done
        async for _ in take_place(request):
            inside += 1
            most = max(most, inside)
            await asyncio.sleep(0)
            inside -= 1
            done += 1

    async def all_of_them() -> None:
        state = SimpleNamespace(places=asyncio.Semaphore(3))
        request: Any = SimpleNamespace(app=SimpleNamespace(state=state))
        await asyncio.gather(*[call(request) for _ in range(20)])

    asyncio.run(all_of_them())
    assert (most, done) == (3, 20)


def test_every_place_has_its_connections() -> None:
    """Two for each; else those with a connection and those with a thread wait for each other."""
    for pool in (sqlite, postgres):
        assert 2 * PLACES < pool.POOL_SIZE + pool.MOST_EXTRA
