"""Two phones of one technician: what one has entered the other knows."""

from __future__ import annotations

from playwright.sync_api import expect

from dispatch.store.records import read_records
from tests.browser.phone_company import PhoneService
from tests.browser.test_phone_page import STOP, OpenPhone, open_phone  # noqa: F401 - the same phone


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


def test_a_second_phone_takes_back_what_the_first_one_recorded(
    open_phone: OpenPhone,  # noqa: F811
    phone_service: PhoneService,
) -> None:
    """Else the visit is to do again, and its record says that it was done."""
    first = open_phone(STOP)
    first.get_by_role("button", name="Start: I am at the gate").click()
    first.get_by_label("pH", exact=True).fill("7.4")
    first.get_by_role("button", name="Done", exact=True).click()
    expect(first.get_by_role("status")).to_contain_text("All sent")
    second = open_phone(STOP)
    second.get_by_role("button", name="Undo “done”").click()
    expect(second.get_by_role("button", name="Done", exact=True)).to_be_visible()
    expect(second.get_by_role("status")).to_contain_text("All sent")
    company = phone_service.company()
    with company.reading() as session:
        (kept,) = read_records(session, company.settings.zone, site_id="S2")
    company.engine.dispose()
    assert "by mistake" in kept.record.skipped
    assert kept.record.readings == ()
