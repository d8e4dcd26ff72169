"""Publishing from the page of the week, on a phone and by keyboard alone."""

from __future__ import annotations

import httpx2
from playwright.sync_api import expect

from api.callers import COOKIE
from tests.browser.conftest import NewPage, Served
from tests.signed_in import FROM_HERE, OWNER
from tests.town import MONDAY, WEEK

BROKEN = {"deed": "move", "visit_id": "S2/2026-W49/1", "technician_id": "T2", "day": str(MONDAY)}


def test_a_day_is_published_changed_and_asked_for_again(new_page: NewPage, served: Served) -> None:
    """All of it fits a phone and works without scripts; a rule that is broken is named first."""
    page = new_page(f"/week/{WEEK}", width=360, height=740, scripts=False)
    day = page.locator(f"[data-day-table='{MONDAY}']")
    expect(day).to_contain_text("Not published")
    day.get_by_role("button", name="Publish").press("Enter")
    expect(day).to_contain_text("✓ Published")

    cookies = {COOKIE: served.secrets[OWNER.id]}
    with httpx2.Client(base_url=served.address, cookies=cookies, headers=FROM_HERE) as client:
        client.post(f"/api/weeks/{WEEK}/edits", json={"version": 1, "edits": [BROKEN]})
    page.reload()
    expect(day).to_contain_text("! Changed since it was published")
    assert page.evaluate("document.documentElement.scrollWidth") == 360
    page.get_by_role("button", name="Publish the whole week").press("Enter")
    expect(page.get_by_role("alert")).to_contain_text("1 point should be put right")
    expect(page.get_by_text("lacks the skill")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") == 360
    page.get_by_role("button", name="Publish the week anyway").press("Enter")
    expect(day).to_contain_text("✓ Published")
    assert "Changed since" not in page.content()


def test_an_edit_of_a_published_day_is_marked_at_once(new_page: NewPage, served: Served) -> None:
    """The mark comes with the new table, before anybody opens the page again."""
    page = new_page(f"/week/{WEEK}")
    page.get_by_role("button", name="Undo").click()
    expect(page.locator(f"[data-day-table='{MONDAY}']")).to_contain_text(
        "! Changed since it was published"
    )
    expect(page.locator("[data-part='notes']")).to_contain_text("Changed since it was published")
