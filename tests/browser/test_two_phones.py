"""Two phones of one technician: what one has entered the other knows."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.browser.test_phone_faults import phone_service  # noqa: F401 - the same service
from tests.browser.test_phone_page import OpenPhone, open_phone  # noqa: F401 - the same phone


def test_a_second_phone_knows_that_the_day_has_begun(
    open_phone: OpenPhone,  # noqa: F811
) -> None:
    """The first one has run empty: nobody starts the same day twice."""
    first = open_phone()
    first.get_by_role("button", name="Start the day").click()
    expect(first.get_by_text("Started at")).to_be_visible()
    expect(first.get_by_role("status")).to_contain_text("All sent")
    second = open_phone()
    expect(second.locator(".stop-row")).to_have_count(2)
    expect(second.get_by_text("Started at")).to_be_visible()
    expect(second.get_by_role("button", name="Start the day")).to_have_count(0)
    second.get_by_role("button", name="End the day").click()
    expect(second.get_by_text("Day ended at")).to_be_visible()
