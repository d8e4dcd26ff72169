"""The pages of records in a browser: they fit a phone and work without scripts."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

import api
from tests.browser.conftest import NewPage

PICTURE = Path(api.__file__).parent / "static" / "phone-192.png"


def enter(page: Page, day: str, pressure: str) -> None:
    """Fill the form and send it; a day before the last visit moves no plan of other tests."""
    page.get_by_label("Day", exact=True).fill(day)
    page.get_by_label("Arrived", exact=True).fill("09:00")
    page.get_by_label("Left", exact=True).fill("09:31")
    page.get_by_label("Filter pressure", exact=True).fill(pressure)
    page.get_by_label("Unit of Filter pressure").select_option("psi")
    page.get_by_label("pH", exact=True).fill("7.5")
    page.get_by_role("button", name="Keep the record").click()


def test_a_record_is_entered_without_scripts(new_page: NewPage) -> None:
    """A phone that blocks scripts still keeps its readings."""
    for day, pressure in (("2026-11-09", "19"), ("2026-11-16", "23")):
        page = new_page("/sites/S2/record", scripts=False)
        enter(page, day, pressure)
        expect(page.get_by_role("status")).to_contain_text("The record is kept")
    expect(page.get_by_role("img", name="Filter pressure: 2 readings")).to_be_visible()


def test_a_photo_is_seen_small_and_in_full(new_page: NewPage) -> None:
    """On a phone as well; nothing but its own service shows it."""
    page = new_page("/sites/S1/record", width=360, height=740)
    page.get_by_label("Day", exact=True).fill("2026-11-02")
    page.get_by_label("Photos").set_input_files(PICTURE)
    page.get_by_role("button", name="Keep the record").click()
    page.get_by_role("link", name="Correct").first.click()
    photo = page.get_by_role("img", name="Photo 1 of the visit on 2026-11-02")
    photo.scroll_into_view_if_needed()
    expect(photo).to_have_js_property("naturalWidth", 192)
    assert page.evaluate("document.documentElement.scrollWidth") == 360
    assert page.locator(".photos a").get_attribute("href") == photo.get_attribute("src")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(
    "address",
    ["/sites/S2", "/sites/S2/record", "/records", "/minutes", "/water", "/load/T1/2026-11-30"],
)
def test_pages_fit_a_small_phone(new_page: NewPage, address: str, scheme: str) -> None:
    """Nothing may hide at the right of a 360 px screen."""
    page = new_page(address, width=360, height=740, scheme=scheme)
    assert page.evaluate("document.documentElement.scrollWidth") == 360


def test_plots_can_be_read_as_tables(new_page: NewPage) -> None:
    """Whoever cannot see a line opens the table below it with the keyboard."""
    page = new_page("/sites/S2/record", scripts=False)
    enter(page, "2026-11-02", "21")
    summary = page.locator(".plot summary").first
    summary.focus()
    page.keyboard.press("Enter")
    expect(page.locator(".plot tbody").first).to_be_visible()
