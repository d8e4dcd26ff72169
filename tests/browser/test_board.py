from __future__ import annotations

import re

from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import NewPage


def _published(page: Page, number: int) -> str:
    """Publish a day of the week and go to its board; other tests look at Monday."""
    days = page.evaluate(
        """async () => {
             const plan = await (await fetch("/api/weeks/2026-W49/plan")).json();
             return plan.routes.filter((one) => one.stops.length).map((one) => one.day); }"""
    )
    day = sorted({str(one) for one in days})[number]
    page.goto(re.sub(r"/week/.*", f"/day/{day}", page.url))
    page.get_by_role("button", name="Publish this day").click()
    expect(page.get_by_text("Last published by")).to_be_visible()
    return day


def test_a_repair_reaches_another_open_page_at_once(new_page: NewPage) -> None:
    """Two desks: one takes an option with the keyboard, the other sees it without a reload."""
    page = new_page("/week/2026-W49")
    day = _published(page, -1)
    other = new_page(f"/day/{day}", width=360, height=740)
    assert other.evaluate("document.documentElement.scrollWidth") == 360
    sheet = other.get_by_role("link", name="Day sheet").last
    sheet.focus()

    page.get_by_text("A stop is cancelled").focus()
    page.keyboard.press("Enter")
    page.locator("details[open] button").press("Enter")
    page.get_by_label("Reason").first.fill("The owner called")  # waits for the options
    assert page.evaluate("document.documentElement.scrollWidth") == 1440
    page.keyboard.press("Enter")

    expect(page.get_by_text("In no route any more")).to_be_visible()
    expect(other.get_by_text("In no route any more")).to_be_visible()
    expect(other.locator("[data-told]")).to_have_text("The day has changed and is shown anew.")
    expect(sheet).to_be_focused()  # in the new page as in the old one
    expect(other.get_by_text("the plan takes the place of the repair")).to_be_visible()

    # A link that is replaced under the finger does nothing when it is lifted: news wait for it.
    page.reload()
    told = page.locator("[data-told]")
    page.get_by_role("link", name="Day sheet").first.hover()
    page.mouse.down()
    page.evaluate(
        """async (day) => {
             const answer = await fetch(`/api/days/${day}/events`, { method: "POST",
               headers: { "content-type": "application/json" },
               body: JSON.stringify([{ kind: "note", why: "Invented" }]) });
             if (!answer.ok) throw new Error(await answer.text()); }""",
        day,
    )
    page.wait_for_timeout(1_000)  # longer than the news take
    expect(told).to_be_empty()
    page.mouse.up()
    expect(page).to_have_url(re.compile(r"/day/T\w+/"))


def test_a_closed_area_is_pressed_on_the_map_or_written(new_page: NewPage) -> None:
    """One press writes both fields; what is written by keyboard is drawn as well."""
    page = new_page("/week/2026-W49")
    _published(page, -2)
    form = page.locator("form:has([data-area])")
    page.get_by_text("A road is closed").click()
    expect(form.locator(".leaflet-tile-loaded").first).to_be_visible()
    expect(form.locator(".closed-area")).to_have_count(0)
    form.locator("[data-area]").click(position={"x": 100, "y": 100})
    expect(form.locator(".closed-area")).to_have_count(1)
    lat, lon = form.locator("[name=lat]"), form.locator("[name=lon]")
    south, west, north, east = form.locator("[data-area]").get_attribute("data-bounds").split(",")  # type: ignore[union-attr]
    assert abs(float(lat.input_value()) - float(south)) < 0.1
    assert abs(float(lon.input_value()) - float(west)) < 0.1
    lat.fill("")
    expect(form.locator(".closed-area")).to_have_count(0)
    lat.fill(north)
    lon.fill(east)
    expect(form.locator(".closed-area")).to_have_count(1)


def test_a_form_that_was_opened_before_the_script_came_has_its_map(new_page: NewPage) -> None:
    """On a slow line the form is there long before the script of its map."""
    page = new_page("/week/2026-W49")
    day = _published(page, -2)
    held: list[Route] = []

    def hold(one: Route) -> None:
        held.append(one)

    page.route("**/static/area.js*", hold)
    page.goto(re.sub(r"/day/.*", f"/day/{day}", page.url), wait_until="commit")
    page.get_by_text("A road is closed").click()
    while not held:
        page.wait_for_timeout(50)
    held.pop().continue_()
    expect(page.locator("form:has([data-area]) .leaflet-tile-loaded").first).to_be_visible()
