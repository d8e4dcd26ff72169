"""A company whose Monday is published, served by a process that can be killed and started again.

The service listens on the same port after a restart, because a phone keeps its entries by address.
"""

from __future__ import annotations

import signal
import socket
import urllib.request
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from playwright.sync_api import Page

from dispatch.actions.day import publish_day
from dispatch.records.record import VisitRecord
from dispatch.store.db import transaction
from dispatch.store.records import read_records
from tests.browser.service import Service, serve
from tests.signed_in import ALMA, OWNER, session_of
from tests.town import MONDAY, Company, end_of, open_company, planned_company

ASKED_EVERY_MS = 100  # milliseconds
ASKED = 300  # times at most


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def wait_until(page: Page, script: str, given: Any = None) -> None:
    """Wait until a script of the page says yes.

    The library's own way asks from within the page, where its policy forbids what that needs.
    """
    for _ in range(ASKED):
        if page.evaluate(script, given):
            return
        page.wait_for_timeout(ASKED_EVERY_MS)
    raise TimeoutError(f"Never true: {script}")


@dataclass
class PhoneService:
    """The running service; `secrets` are those of the sessions by sign-in name."""

    folder: Path
    secrets: dict[str, str]
    port: int = field(default_factory=free_port)
    process: Service | None = None

    @property
    def address(self) -> str:
        """Where it listens."""
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        """Start it and wait until it listens."""
        self.process = serve(self.folder / "data", MONDAY, self.port)
        assert self.process.port == self.port

    def kill(self) -> None:
        """Kill it as a power cut would: nothing is finished, nothing is said."""
        if self.process is not None:
            self.process.end(signal.SIGKILL)
            self.process = None

    def company(self) -> Company:
        """The same company, opened by the test."""
        return open_company(self.folder, fixed_today=MONDAY)

    def records(self, site_id: str) -> list[VisitRecord]:
        """What has been recorded at a site, oldest first."""
        company = self.company()
        with company.reading() as session:
            kept = read_records(session, company.settings.zone, site_id=site_id)
        company.engine.dispose()
        return [one.record for one in kept]

    def answers(self) -> bool:
        """Whether it answers."""
        with urllib.request.urlopen(f"{self.address}/phone", timeout=10) as answer:  # noqa: S310
            return bool(answer.status == 200)


def make_company(folder: Path) -> dict[str, str]:
    """Make the company in `folder` and publish its Monday; the secrets of its sessions."""
    company = planned_company(folder)
    monday = company.settings.model_copy(update={"fixed_today": end_of(MONDAY)})
    with transaction(company.engine) as session:
        at = datetime(2026, 11, 30, 5, tzinfo=UTC)
        publish_day(session, monday, MONDAY, who="Invented Desk", at=at)
    secrets = {one.id: session_of(company.engine, monday, one) for one in (OWNER, ALMA)}
    company.engine.dispose()
    return secrets
