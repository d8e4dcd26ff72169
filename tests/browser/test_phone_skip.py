"""A stop that is given up half-way: what was found there is not lost with it."""

from __future__ import annotations

from playwright.sync_api import expect

from dispatch.actions.records import open_follow_ups
from dispatch.records.follow_ups import FollowUpKind
from dispatch.store.records import read_records
from tests.browser.phone_company import PhoneService
from tests.browser.test_phone_page import STOP, OpenPhone, open_phone  # noqa: F401 - the same phone


def test_what_was_read_and_seen_before_a_skip_goes_along(
    open_phone: OpenPhone,  # noqa: F811
    phone_service: PhoneService,
) -> None:
    """A drain cover is missing, then thunder: the office must close the pool all the same.

    What was done or added cannot be skipped; the page says what to press instead.
    """
    page = open_phone(STOP)
    page.get_by_role("button", name="Start: I am at the gate").click()
    page.get_by_label("pH", exact=True).fill("7.4")
    page.get_by_text("Seen", exact=True).click()
    page.get_by_label("Drain cover missing").check()
    page.get_by_label("Brushed").check()
    page.get_by_text("Skip this stop").click()
    page.get_by_role("button", name="Lightning").click()
    expect(page.get_by_role("alert").last).to_contain_text("press Done, and say in the note")
    page.get_by_label("Brushed").uncheck()
    page.get_by_role("button", name="Lightning").click()
    expect(page.locator(".stop-row.skipped")).to_have_count(1)
    expect(page.get_by_role("status")).to_contain_text("All sent")
    company = phone_service.company()
    with company.reading() as session:
        (kept,) = read_records(session, company.settings.zone, site_id="S2")
        (asked,) = open_follow_ups(session, "S2")
    company.engine.dispose()
    assert kept.record.skipped == "Lightning"
    assert [one.value for one in kept.record.readings] == [7.4]
    assert asked.kind is FollowUpKind.CLOSE_POOL
