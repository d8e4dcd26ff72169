from __future__ import annotations

import re

from playwright.sync_api import expect

from tests.browser.conftest import NewPage


def test_a_repair_reaches_another_open_page_at_once(new_page: NewPage) -> None:
    """Two desks: one takes an option with the keyboard, the other sees it without a reload."""
    page = new_page("/week/2026-W49")
    days = page.evaluate(
        """async () => {
             const plan = await (await fetch("/api/weeks/2026-W49/plan")).json();
             return plan.routes.filter((one) => one.stops.length).map((one) => one.day); }"""
    )
    day = max(days)  # the last one: other tests look at Monday
    page.goto(re.sub(r"/week/.*", f"/day/{day}", page.url))
    page.get_by_role("button", name="Publish this day").click()
    expect(page.get_by_text("Last published by")).to_be_visible()
    other = new_page(f"/day/{day}", width=360, height=740)
    assert other.evaluate("document.documentElement.scrollWidth") == 360

    page.get_by_text("A stop is cancelled").focus()
    page.keyboard.press("Enter")
    page.locator("details[open] button").press("Enter")
    assert page.evaluate("document.documentElement.scrollWidth") == 1440
    page.get_by_label("Reason").first.fill("The owner called")
    page.keyboard.press("Enter")

    expect(page.get_by_text("In no route any more")).to_be_visible()
    expect(other.get_by_text("In no route any more")).to_be_visible()
    expect(other.locator("[data-told]")).to_have_text("The day has changed and is shown anew.")
