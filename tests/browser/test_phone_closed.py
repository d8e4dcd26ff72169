"""What a phone sends of itself once its page is closed; only a whole browser does so."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Playwright

from dispatch.actions.phone_entries import entries_of
from tests.browser.conftest import WHOLE, launched
from tests.browser.phone_company import PhoneService, wait_until
from tests.browser.phone_faults import KEPT_BY_THE_PHONE
from tests.browser.test_phone_page import DRAWN_MS, OpenPhone, open_phone  # noqa: F401 - the phone

TO_BE_SENT = """async () => {
  const { sync } = await navigator.serviceWorker.ready;
  return (await sync.getTags()).includes("phone-outbox");
}"""  # by the browser


@pytest.fixture(scope="module")
def chromium(playwright: Playwright) -> Iterator[Browser]:
    """A browser that sends in the background."""
    yield from launched(playwright, WHOLE)


def test_what_waits_is_sent_though_the_page_was_closed(
    open_phone: OpenPhone,  # noqa: F811
    phone_service: PhoneService,
) -> None:
    """Closed in the dead spot, the phone in the pocket: the office has it at the next mast."""
    page = open_phone()
    assert page.evaluate(KEPT_BY_THE_PHONE)
    page.context.set_offline(True)
    page.get_by_text("Tell the office").click()
    page.get_by_label("Note", exact=True).fill("closed in the dead spot")
    page.get_by_role("button", name="Send the note").click()
    wait_until(page, TO_BE_SENT)
    other = page.context.new_page()
    page.close()
    page.context.set_offline(False)
    the_browser_sends(other, phone_service.address)
    company = phone_service.company()
    for _ in range(60):
        other.wait_for_timeout(DRAWN_MS)
        with company.reading() as session:
            notes = [one.content.get("note") for one in entries_of(session)]
        if "closed in the dead spot" in notes:
            break
    company.engine.dispose()
    assert notes.count("closed in the dead spot") == 1


def the_browser_sends(page: Page, address: str) -> None:
    """Have the browser send what it was asked to, as it does by itself when there is signal.

    When it tries and when it tries again is its own affair; after a try in the dead spot minutes
    may pass.
    """
    told: list[str] = []

    def note(news: dict[str, Any]) -> None:
        told.extend(
            one["registrationId"]
            for one in news["registrations"]
            if one["scopeURL"].startswith(address)
        )

    session = page.context.new_cdp_session(page)
    session.on("ServiceWorker.workerRegistrationUpdated", note)
    session.send("ServiceWorker.enable")
    while not told:
        page.wait_for_timeout(DRAWN_MS)
    asked = {"origin": address, "registrationId": told[0], "tag": "phone-outbox"}
    session.send("ServiceWorker.dispatchSyncEvent", asked | {"lastChance": False})
