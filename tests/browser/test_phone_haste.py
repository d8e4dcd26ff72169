"""A hurried thumb, a slow phone, a full one, two tabs: what was entered stays whole."""

from __future__ import annotations

from playwright.sync_api import Route, expect

from dispatch.actions.phone_entries import entries_of
from tests.browser.phone_company import PhoneService, wait_until
from tests.browser.test_phone_page import (  # noqa: F401 - the same phone
    DRAWN_MS,
    PIXEL,
    STOP,
    OpenPhone,
    open_phone,
)

START, DONE = "Start: I am at the gate", "Done"
SLOW_PICTURES = """() => {
  const made = window.createImageBitmap;
  window.createImageBitmap = async (...given) => {
    await new Promise((done) => setTimeout(done, 1500));
    return await made.apply(window, given);
  };
}"""
TYPED = """([name, value]) => new Promise((done) => {
  const opening = indexedDB.open("phone");
  opening.onsuccess = () => {
    const asked = opening.result.transaction("drafts").objectStore("drafts").getAll();
    asked.onsuccess = () => {
      opening.result.close();
      done(asked.result.some(({ values }) => values[name] === value));
    };
  };
})"""
FULL_FOR_DAYS = """() => {
  const put = IDBObjectStore.prototype.put;
  IDBObjectStore.prototype.put = function (...given) {
    if (this.name === "days") throw new DOMException("full", "QuotaExceededError");
    return put.apply(this, given);
  };
}"""


def test_a_tap_that_comes_twice_counts_once(open_phone: OpenPhone) -> None:  # noqa: F811
    """Gloves tap twice: one Undo must take back one thing, and all of it."""
    page = open_phone(STOP)
    page.get_by_role("button", name=START).dblclick()
    page.get_by_role("button", name="Undo “started”").click()
    expect(page.get_by_role("button", name=START)).to_be_visible()
    page.wait_for_timeout(DRAWN_MS)
    page.get_by_role("button", name=START).click()
    page.wait_for_timeout(DRAWN_MS)
    page.get_by_role("button", name=DONE, exact=True).dblclick()
    page.locator(".stop-row.done a").click()
    page.get_by_role("button", name="Undo “done”").dblclick()
    expect(page.get_by_role("button", name=DONE, exact=True)).to_be_visible()
    page.wait_for_timeout(DRAWN_MS)
    expect(page.get_by_role("button", name=DONE, exact=True)).to_be_visible()
    page.get_by_role("button", name="Undo “started”").click()
    expect(page.get_by_role("button", name=START)).to_be_visible()
    expect(page.get_by_role("status")).to_contain_text("All sent")


def test_a_tap_right_after_an_impossible_value_counts(open_phone: OpenPhone) -> None:  # noqa: F811
    """The sentence about the value pushes the page down while the finger is on the next thing."""
    page = open_phone(STOP)
    page.get_by_role("button", name=START).click()
    page.get_by_label("Total alkalinity", exact=True).fill("90000")
    brushed = page.get_by_label("Brushed", exact=True)
    brushed.scroll_into_view_if_needed()
    page.wait_for_timeout(DRAWN_MS)
    box = brushed.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.wait_for_timeout(100)
    page.mouse.up()
    expect(page.locator(".said .alert")).to_contain_text("not possible")
    expect(brushed).to_be_checked()
    page.get_by_role("button", name="Undo “started”").click()
    expect(page.get_by_role("button", name=START)).to_be_visible()
    expect(page.get_by_role("status")).to_contain_text("All sent")


def test_done_waits_for_the_photo_that_is_being_made_small(
    open_phone: OpenPhone,  # noqa: F811
    phone_service: PhoneService,
) -> None:
    """A big picture takes seconds: it belongs to the visit, however soon Done is pressed."""
    page = open_phone(STOP)
    page.evaluate(SLOW_PICTURES)
    page.get_by_role("button", name=START).click()
    page.locator("input[type=file]").first.set_input_files(
        {"name": "gauge.png", "mimeType": "image/png", "buffer": PIXEL}
    )
    page.wait_for_timeout(DRAWN_MS)
    page.get_by_role("button", name=DONE, exact=True).click()
    expect(page.locator(".stop-row.done")).to_be_visible()
    expect(page.get_by_role("status")).to_contain_text("All sent")
    assert len(phone_service.records("S2")[-1].photos) == 1
    page.locator(".stop-row.done a").click()
    page.get_by_role("button", name="Undo “done”").click()
    page.wait_for_timeout(DRAWN_MS)
    page.get_by_role("button", name="Undo “started”").click()
    expect(page.get_by_role("button", name=START)).to_be_visible()
    expect(page.get_by_role("status")).to_contain_text("All sent")


def test_a_photo_that_the_service_cannot_use_is_told(open_phone: OpenPhone) -> None:  # noqa: F811
    """Else the technician believes that the office has seen the crack."""
    page = open_phone(STOP)
    page.route("**/api/photos", lambda route: route.fulfill(status=422, json={"detail": "damaged"}))
    page.get_by_text("Skip this stop").click()
    page.locator(".skip input[type=file]").set_input_files(
        {"name": "crack.png", "mimeType": "image/png", "buffer": PIXEL}
    )
    told = page.locator("[data-kind=refused-photos]")
    expect(told).to_contain_text("could not use 1 photo")
    told.get_by_role("button", name="Seen").click()
    expect(told).to_have_count(0)
    page.reload()
    expect(page.get_by_role("status")).to_contain_text("All sent")
    expect(told).to_have_count(0)


def test_what_waits_is_sent_from_a_phone_too_full_for_the_day(
    open_phone: OpenPhone,  # noqa: F811
    phone_service: PhoneService,
) -> None:
    """Sending needs no room; the day that cannot be kept is another matter, and told."""
    page = open_phone()
    expect(page.locator(".stop-row")).to_have_count(2)
    page.context.set_offline(True)
    page.get_by_text("Tell the office").click()
    page.get_by_label("Note", exact=True).fill("no room left")
    page.get_by_role("button", name="Send the note").click()
    expect(page.get_by_role("status")).to_contain_text("1 waiting. No signal")
    page.add_init_script(f"({FULL_FOR_DAYS})()")
    page.context.set_offline(False)
    page.reload()
    expect(page.get_by_role("status")).to_contain_text("All sent")
    company = phone_service.company()
    with company.reading() as session:
        notes = [one.content.get("note") for one in entries_of(session)]
    company.engine.dispose()
    assert notes.count("no room left") == 1


def test_what_one_tab_typed_the_other_does_not_wipe_out(open_phone: OpenPhone) -> None:  # noqa: F811
    """The page on the home screen and one in the browser: both write into the same visit."""
    first = open_phone(STOP)
    first.get_by_role("button", name=START).click()
    first.get_by_label("pH", exact=True).fill("7.4")
    second = first.context.new_page()
    second.goto(first.url)
    second.get_by_label("Total alkalinity", exact=True).fill("90")
    wait_until(second, TYPED, ["reading total-alkalinity", "90"])
    first.evaluate("document.dispatchEvent(new Event('visibilitychange'))")  # looked at again
    first.wait_for_timeout(DRAWN_MS)
    first.get_by_label("Free chlorine", exact=True).fill("2")
    wait_until(first, TYPED, ["reading free-chlorine", "2"])
    second.reload()
    expect(second.get_by_label("Total alkalinity", exact=True)).to_have_value("90")
    expect(second.get_by_label("Free chlorine", exact=True)).to_have_value("2")
    expect(second.get_by_label("pH", exact=True)).to_have_value("7.4")


def test_a_stop_that_was_begun_can_be_finished_though_the_office_moved_it(
    open_phone: OpenPhone,  # noqa: F811
    phone_service: PhoneService,
) -> None:
    """The office did not know that he was there: what he has read must not stay on the phone."""
    page = open_phone()
    expect(page.locator(".stop-row")).to_have_count(2)
    page.context.set_offline(True)
    page.locator(".stop-row a").first.click()
    page.get_by_role("button", name=START).click()
    page.get_by_label("pH", exact=True).fill("7.6")
    page.get_by_label("pH", exact=True).blur()
    page.route("**/api/phone/days/**", without_the_first_stop)
    page.context.set_offline(False)
    expect(page.get_by_text("The office has moved this stop.")).to_be_visible()
    expect(page.get_by_label("pH", exact=True)).to_have_value("7.6")
    page.get_by_role("link", name="All stops").click()
    page.get_by_role("link", name="Finish Invented One, which you had begun").click()
    page.wait_for_timeout(DRAWN_MS)
    page.get_by_role("button", name=DONE, exact=True).click()
    expect(page.get_by_text("Entered here, moved by the office")).to_be_visible()
    expect(page.get_by_role("status")).to_contain_text("All sent")
    kept = phone_service.records("S1")
    assert 7.6 in [one.value for record in kept for one in record.readings]


def without_the_first_stop(route: Route) -> None:
    """The day as it is once the office has given the first stop to somebody else."""
    day = route.fetch()
    route.fulfill(response=day, json={**day.json(), "stops": day.json()["stops"][1:]})
