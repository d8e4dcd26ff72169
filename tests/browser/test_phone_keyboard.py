"""The technician's page by keyboard: a phone in a holder with keys, or a reader of the screen."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.browser.test_phone_page import (  # noqa: F401 - the same phone
    DRAWN_MS,
    NEWS,
    STOP,
    OpenPhone,
    open_phone,
)

FOCUSED = "document.activeElement.textContent"
IS_IN_STOP = "document.querySelector('main').contains(document.activeElement)"


def test_the_keyboard_keeps_its_place_when_the_page_is_drawn_anew(
    open_phone: OpenPhone,  # noqa: F811
) -> None:
    """News leave it where it is; a button that has done its work hands on to what follows it."""
    page = open_phone(STOP)
    start = page.get_by_role("button", name="Start: I am at the gate")
    start.focus()
    before = page.evaluate(FOCUSED)
    page.evaluate("document.querySelector('main').firstElementChild.dataset.old = '1'")
    page.evaluate(NEWS)
    page.wait_for_timeout(DRAWN_MS)
    assert page.locator("[data-old]").count() == 0, "the page was not drawn anew"
    assert page.evaluate(FOCUSED) == before
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Done", exact=True)).to_be_visible()
    page.wait_for_timeout(DRAWN_MS)
    assert page.evaluate(IS_IN_STOP), "the keyboard starts at the top again"
