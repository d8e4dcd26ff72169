"""A phone whose clock is weeks ahead: what it keeps is the service's day all the same."""

from __future__ import annotations

import json
from datetime import UTC, datetime

from playwright.sync_api import Browser, Route, expect

from tests.browser.phone_company import PhoneService
from tests.browser.test_phone_page import sign_in

CHRISTMAS = datetime(2026, 12, 25, 8, tzinfo=UTC)
IN_THE_STORE = """(store) => new Promise((done) => {
  const opening = indexedDB.open("phone");
  opening.onsuccess = () => {
    const asked = opening.result.transaction(store).objectStore(store).getAll();
    asked.onsuccess = () => {
      opening.result.close();
      done(asked.result.map(({ day }) => day.day ?? day));
    };
  };
})"""


def _as_on_a_working_day(route: Route) -> None:
    """The answer of a service whose day is not rehearsed, so that the phone's own clock counts."""
    reply = route.fetch()
    route.fulfill(response=reply, body=json.dumps(reply.json() | {"rehearsal": False}))


def test_a_clock_that_is_ahead_clears_neither_the_day_nor_what_is_typed(
    chromium: Browser,
    phone_service: PhoneService,
) -> None:
    """Else the stops and their gate codes are gone at the first place without signal."""
    context = chromium.new_context(service_workers="block")
    sign_in(context, phone_service)
    context.route("**/api/phone/days/**", _as_on_a_working_day)
    page = context.new_page()
    page.clock.set_fixed_time(CHRISTMAS)
    page.goto(f"{phone_service.address}/phone/T1#/stop/S1%2F2026-W49%2F1")
    page.get_by_role("button", name="Start: I am at the gate").click()
    page.get_by_label("pH", exact=True).fill("7.4")
    page.get_by_role("button", name="Look for news").click()
    expect(page.locator("[data-kind=clock]")).to_contain_text("ahead")
    page.wait_for_load_state("networkidle")
    assert page.evaluate(IN_THE_STORE, "days") == ["2026-11-30"]
    assert page.evaluate(IN_THE_STORE, "drafts") == ["2026-11-30"]
    context.unroute_all(behavior="ignoreErrors")  # an answer may be on its way
    context.close()
