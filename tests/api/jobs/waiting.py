"""Waiting for jobs as a caller of the API does."""

from __future__ import annotations

import time
from typing import Any

from starlette.testclient import TestClient

PATIENCE_S = 120  # seconds after which a test gives up


def wait_for(client: TestClient, job: str, *states: str) -> dict[str, Any]:
    """The job once it is in one of the states."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        found: dict[str, Any] = client.get(f"/api/jobs/{job}").json()
        if found["state"] in states:
            return found
        time.sleep(0.05)
    raise AssertionError(f"the job is still {found}")
