"""A customer's link, copied with one press or selected to be copied by hand."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import NewPage
from tests.town import MONDAY

SELECTED = "The link is selected: copy it with the keyboard, or press it for long."


@pytest.fixture
def link(new_page: NewPage) -> Page:
    """The page of a link for the first customer of Monday."""
    page = new_page(f"/day/{MONDAY}")
    publish = page.get_by_role("button", name="Publish this day")
    if publish.count():
        publish.click()
    page.get_by_role("button", name="Link for").first.click()
    return page


def test_a_link_is_copied_with_one_press(link: Page) -> None:
    """What lands in the clipboard is the whole link, and the page says that it does."""
    link.context.grant_permissions(["clipboard-read", "clipboard-write"])
    link.get_by_role("button", name="Copy").click()
    expect(link.get_by_role("status")).to_have_text("Copied.")
    address = link.get_by_label("Link").input_value()
    assert "/visit/" in address
    assert link.evaluate("navigator.clipboard.readText()") == address


@pytest.mark.parametrize(
    "clipboard",
    ["undefined", "{ writeText: () => Promise.reject(new DOMException('', 'NotAllowedError')) }"],
    ids=["over plain http", "denied"],
)
def test_without_a_clipboard_the_link_is_selected(link: Page, clipboard: str) -> None:
    """A press that does nothing would be taken for one that has copied."""
    given = f"{{ configurable: true, value: {clipboard} }}"
    link.evaluate(f"Object.defineProperty(navigator, 'clipboard', {given})")
    link.get_by_role("button", name="Copy").click()
    expect(link.get_by_role("status")).to_have_text(SELECTED)
    address = link.get_by_label("Link").input_value()
    assert link.evaluate("getSelection().toString()") == address
