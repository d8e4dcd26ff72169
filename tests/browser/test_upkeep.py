"""The pages of upkeep in a browser: the due list, the year and the table of kinds."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import NewPage
from tests.town import WEEK

PAGES = [f"/due/{WEEK}", "/year", "/upkeep", "/upkeep/backwash"]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("address", PAGES)
def test_pages_of_upkeep_fit_a_small_phone(new_page: NewPage, address: str, scheme: str) -> None:
    """Nothing may hide at the right of a 360 px screen, by day or by night."""
    page = new_page(address, width=360, height=740, scheme=scheme)
    assert page.evaluate("document.documentElement.scrollWidth") == 360


def test_a_kind_is_kept_with_the_keyboard_alone(new_page: NewPage) -> None:
    """Whoever cannot use a mouse edits the table all the same; nothing changed is no change."""
    page = new_page("/upkeep/shaft-seal")
    minutes = page.get_by_label("Minutes added to the visit")
    minutes.focus()
    expect(minutes).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Kinds of upkeep")


def test_wide_tables_of_the_due_list_scroll_by_keyboard(new_page: NewPage) -> None:
    """On a phone the table scrolls in its own frame, which takes the focus."""
    page = new_page(f"/due/{WEEK}", width=360, height=740)
    frame = page.get_by_role("region", name="Upkeep due")
    frame.focus()
    expect(frame).to_be_focused()
    expect(frame).to_contain_text("last done 1 Jun 2021, due after 5 years")
