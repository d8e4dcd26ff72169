from __future__ import annotations

import pytest
from playwright.sync_api import Browser, expect

from api.callers import COOKIE
from tests.browser.conftest import NewPage, Served
from tests.signed_in import OWNER


@pytest.mark.parametrize("width", [360, 1440])
def test_work_is_added_and_done_at_any_width(new_page: NewPage, width: int) -> None:
    """By keyboard and without scripts of its own; nothing may need scrolling sideways."""
    page = new_page("/one-offs", width=width)
    page.get_by_text("Add work", exact=True).press("Enter")
    page.get_by_label("What is to be done").fill(f"Mend the gate at {width}")
    page.get_by_label("Minutes of each visit").fill("45")
    page.get_by_role("button", name="Add").press("Enter")

    work = page.get_by_role("row", name=f"Mend the gate at {width}")
    expect(work).to_contain_text("45 min")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    work.get_by_role("button", name="Done").press("Enter")
    expect(page.get_by_text("Nothing is open.")).to_be_visible()


def test_a_hold_is_added_and_deleted_on_a_phone(new_page: NewPage) -> None:
    """The customer rings while the owner is on the road."""
    page = new_page("/sites", width=360)
    page.get_by_text("Add a hold", exact=True).press("Enter")
    page.get_by_label("First day without visits").fill("2026-12-21")
    page.get_by_label("Last day without visits").fill("2026-12-27")
    page.get_by_label("Reason").fill("painters")
    page.get_by_role("button", name="Add").press("Enter")

    hold = page.get_by_role("row", name="painters")
    expect(hold).to_contain_text("27 Dec 2026")
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    hold.get_by_role("button", name="Delete").press("Enter")
    expect(page.get_by_text("painters")).to_have_count(0)


def test_a_refused_form_is_gone_back_to_with_what_was_typed(
    chromium: Browser, served: Served
) -> None:
    """A dispatcher on the telephone must not type it all again for one wrong figure."""
    page = chromium.new_page()  # of its own: the refusal is a fault to the usual ones
    secret = served.secrets[OWNER.id]
    page.context.add_cookies([{"name": COOKIE, "value": secret, "url": served.address}])
    page.goto(f"{served.address}/one-offs")
    page.get_by_text("Add work", exact=True).press("Enter")
    page.get_by_label("What is to be done").fill("Look at the light")
    page.get_by_label("Minutes of each visit").fill("100000")
    page.get_by_role("button", name="Add").press("Enter")
    expect(page.get_by_role("main")).to_contain_text("100000 minutes are not believable")

    page.get_by_role("link", name="Back to the form").press("Enter")
    expect(page.locator("[name=title]")).to_have_value("Look at the light")
    expect(page.locator("[name=minutes]")).to_have_value("100000")
    page.close()
