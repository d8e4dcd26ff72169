from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Playwright, expect, sync_playwright

from api.callers import COOKIE
from tests.browser.phone_company import PhoneService, make_company
from tests.browser.service import serve
from tests.signed_in import ALMA, DISPATCHER, OWNER, session_of
from tests.town import TODAY, planned_company

WHOLE = ("chromium", "chromium-browser", "google-chrome")
CHROMIUM = ("chromium-headless-shell", *WHOLE)  # without windows of its own it takes half the time
SWITCHES = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
NewPage = Callable[..., Page]
expect.set_options(timeout=30_000)  # milliseconds; patience for a busy machine, not a measure


@dataclass(frozen=True)
class Served:
    """Address of a service, and the secrets of the sessions in it by sign-in name."""

    address: str
    secrets: dict[str, str]


def chromium_path(names: Sequence[str] = CHROMIUM) -> str:
    """The first browser of these names on the machine; empty without one."""
    return next((path for name in names if (path := shutil.which(name))), "")


@contextmanager
def serving(data_dir: Path, today: date) -> Iterator[str]:
    """The service of a data folder in a process of its own; the address at which it is."""
    service = serve(data_dir, today)
    try:
        yield service.address
    finally:
        service.end()


@pytest.fixture(scope="package")
def playwright() -> Iterator[Playwright]:
    """What drives browsers; there can be one."""
    with sync_playwright() as driver:
        yield driver


@pytest.fixture(scope="package")
def chromium(playwright: Playwright) -> Iterator[Browser]:
    """A browser of the machine; without one the tests are skipped, but never in CI."""
    yield from launched(playwright, CHROMIUM)


def launched(playwright: Playwright, names: Sequence[str]) -> Iterator[Browser]:
    """The first browser of these names, launched."""
    found = chromium_path(names)
    if not found:
        said = f"None of {', '.join(names)} is installed"
        if os.environ.get("CI") == "true":
            pytest.fail(f"{said}, and CI must not skip the browser tests.")
        pytest.skip(f"{said}.")
    browser = playwright.chromium.launch(executable_path=found, args=list(SWITCHES))
    yield browser
    browser.close()


@pytest.fixture(scope="package")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, str]]:
    """Data folder of a planned company and the secrets of its sessions; copied, never changed."""
    company = planned_company(tmp_path_factory.mktemp("planned"))
    secrets = {
        person.id: session_of(company.engine, company.settings, person)
        for person in (OWNER, DISPATCHER, ALMA)
    }
    company.engine.dispose()
    return company.settings.data_dir, secrets


@pytest.fixture(scope="module")
def served(
    planned: tuple[Path, dict[str, str]], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Served]:
    """The service of a planned company of the file's own, run in a process of its own."""
    data, secrets = planned
    copy = shutil.copytree(data, tmp_path_factory.mktemp("served") / "data")
    with serving(copy, TODAY) as address:
        yield Served(address, secrets)


@pytest.fixture(scope="package")
def published(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, str]]:
    """Folder of a company with a published day and the secrets of its sessions; only copied."""
    folder = tmp_path_factory.mktemp("published")
    return folder, make_company(folder)


@pytest.fixture(scope="module")
def phone_service(
    published: tuple[Path, dict[str, str]], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[PhoneService]:
    """Such a company of the file's own, and its service."""
    folder, secrets = published
    copy = shutil.copytree(folder, tmp_path_factory.mktemp("phones") / "company")
    service = PhoneService(copy, secrets)
    service.start()
    yield service
    service.kill()


@pytest.fixture(scope="module")
def service(served: Served) -> str:
    """Address of the service."""
    return served.address


@pytest.fixture
def new_page(chromium: Browser, served: Served) -> Iterator[NewPage]:
    """Makes pages that fail the test when anything goes wrong in them.

    The owner is signed in on them, or whoever `person` names; nobody where that is empty.
    """
    service = served.address
    faults: list[str] = []
    made: list[Page] = []

    def make(
        address: str,
        *,
        width: int = 1440,
        height: int = 900,
        scheme: str = "light",
        scripts: bool = True,
        person: str = OWNER.id,
    ) -> Page:
        page = chromium.new_page(
            viewport={"width": width, "height": height},
            color_scheme=scheme,  # type: ignore[arg-type]
            java_script_enabled=scripts,
        )
        if person:
            page.context.add_cookies(
                [{"name": COOKIE, "value": served.secrets[person], "url": service}]
            )
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on(
            "console",
            lambda said: faults.append(said.text) if said.type in {"error", "warning"} else None,
        )
        page.on(
            "request",
            lambda call: (
                None
                if call.url.startswith((service, "data:"))
                else faults.append(f"the page asked for {call.url}")
            ),
        )
        made.append(page)
        page.goto(service + address)
        return page

    yield make
    for page in made:
        page.close()
    assert faults == []
