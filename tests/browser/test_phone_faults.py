"""Nothing that a phone has kept is lost or doubled, whatever happens on the way."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Browser

from tests.browser.phone_company import PhoneService
from tests.browser.phone_faults import Faults, faults_found, phones

SEEDS = range(10)  # `tests.bench.phone_faults` tries as many as are wanted
STEPS = 7
RESTARTED = {7}  # seeds at which the service is killed; starting it again takes seconds


@pytest.fixture(scope="module")
def new_phone(chromium: Browser, phone_service: PhoneService) -> Iterator[Callable[[int], Faults]]:
    """Makes phones with empty stores."""
    with phones(chromium, phone_service) as make:
        yield make


@pytest.mark.parametrize("seed", SEEDS)
def test_entries_arrive_once_and_in_order(
    new_phone: Callable[[int], Faults], phone_service: PhoneService, seed: int
) -> None:
    """Signal lost, answers lost, tabs killed, the service killed: a day's readings survive it."""
    run = new_phone(seed)
    run.run(STEPS, restarts=False)
    if seed in RESTARTED:
        run.restart()
    run.enter()
    left = run.settle()
    assert faults_found(phone_service.company(), run, left) == [], run.faults
