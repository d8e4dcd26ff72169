from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import NewPage

MONDAY = "/day/T1/2026-11-30"
THUMB_PX = 44  # least side of a target that is hit without looking (WCAG 2.2, 2.5.5)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_day_fits_a_small_phone(new_page: NewPage, scheme: str) -> None:
    """Nothing may hide at the right of a 360 px screen."""
    page = new_page(MONDAY, width=360, height=740, scheme=scheme)

    expect(page.locator(".sheet .stop")).to_have_count(2)
    assert page.evaluate("document.documentElement.scrollWidth") == 360


def test_what_is_touched_is_big_enough(new_page: NewPage) -> None:
    """Wet hands, gloves, sun."""
    page = new_page(MONDAY, width=360, height=740)

    for target in page.locator(".go, .load label, .day .steps a").all():
        box = target.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= THUMB_PX, target.inner_text()


def test_the_load_list_stays_checked_over_a_reload(new_page: NewPage) -> None:
    """The phone is locked and woken between two bags of sand."""
    page = new_page(MONDAY, width=360, height=740)
    first = page.locator(".load input").first
    first.check()

    page.reload()

    expect(first).to_be_checked()


def test_the_sheet_holds_all_that_is_needed_at_the_gate(new_page: NewPage) -> None:
    """What is folded away or painted over is not read at a gate."""
    page = new_page(MONDAY, width=360, height=740)

    text = page.locator(".sheet").inner_text()
    for words in ("Invented One", "Left gate", "Invented Two", "loose", "Caution."):
        assert words in text
