"""Doses on the phone, as whoever stands at the pool reads them."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.browser.test_phone_page import STOP, OpenPhone, open_phone  # noqa: F401 - the same phone


def test_several_doses_stand_below_the_caution_to_add_one_at_a_time(
    open_phone: OpenPhone,  # noqa: F811
) -> None:
    """High pH and low chlorine: acid and chlorine in one list, and gas of both in one bucket."""
    page = open_phone(STOP)
    page.get_by_role("button", name="Start: I am at the gate").click()
    meaning = page.locator(".meaning")
    page.get_by_label("Free chlorine", exact=True).fill("0.5")
    expect(meaning.locator(".answer")).to_have_count(1)
    expect(meaning).not_to_contain_text("one product at a time")
    page.get_by_label("pH", exact=True).fill("7.9")
    page.get_by_label("Total alkalinity", exact=True).fill("100")
    expect(meaning.locator(".answer")).to_have_count(2)
    expect(meaning.locator(".caution").first).to_contain_text("one product at a time, never two")
