from __future__ import annotations

import re

from playwright.sync_api import Page, expect

from tests.browser.conftest import NewPage
from tests.town import WEEK


def stops(page: Page) -> list[str]:
    """Ids of the visits whose rows are to be seen."""
    rows = page.locator("[data-stop]:visible")
    return [row.get_attribute("data-stop") or "" for row in rows.all()]


def test_the_map_shows_a_numbered_pin_and_a_line_for_every_stop_of_the_day(
    new_page: NewPage,
) -> None:
    """Monday: S1 and S2 by one technician, S3 by the other; each has a leg there and one home."""
    page = new_page(f"/week/{WEEK}")

    expect(page.locator("#map .pin")).to_have_text(["I1", "I2", "IB1"])
    expect(page.locator("#map .leg")).to_have_count(3 + 2)
    expect(page.locator("#map canvas").first).to_be_visible()


def test_streets_are_drawn_under_and_names_over_the_routes(new_page: NewPage) -> None:
    """A route must not hide the name of its street."""
    page = new_page(f"/week/{WEEK}")
    page.locator("#map .names-pane canvas").first.wait_for()

    heights = page.evaluate(
        """() => ["leaflet-tile-pane", "routes-pane", "names-pane"].map((name) =>
             Number(getComputedStyle(document.querySelector("." + name)).zIndex))"""
    )
    assert heights == sorted(heights)
    page.wait_for_timeout(1000)
    for pane in ("leaflet-tile-pane", "names-pane"):
        colours = page.evaluate(
            """(pane) => {
                 const colours = (tile) => {
                   const size = [tile.width, tile.height];
                   const data = tile.getContext("2d").getImageData(0, 0, ...size).data;
                   return new Set(new Uint32Array(data.buffer)).size;
                 };
                 const tiles = [...document.querySelectorAll(`.${pane} canvas`)];
                 return Math.max(...tiles.map(colours)); }""",
            pane,
        )
        assert colours > 1, f"every tile of {pane} has one colour only: nothing was drawn"


def test_pins_that_would_hide_each_other_share_one_or_move_apart(new_page: NewPage) -> None:
    """At zoom 13 a pixel is 19 m: S1 and S2 lie 6 pixels apart, S3 about 20 more."""
    page = new_page(f"/week/{WEEK}")
    pins = page.locator("#map .pin")
    expect(pins).to_have_count(3)

    for _ in range(6):
        if pins.count() > 2:
            page.get_by_role("button", name="Zoom out").click()
            page.wait_for_timeout(500)

    expect(pins).to_have_text(["I1\N{EN DASH}I2", "IB1"])
    shared, other = (pin.bounding_box() for pin in pins.all())
    assert shared is not None
    assert other is not None
    assert shared["x"] + shared["width"] <= other["x"] or shared["y"] + 17 <= other["y"]
    assert "Invented One" in (pins.first.get_attribute("title") or "")
    assert "Invented Two" in (pins.first.get_attribute("title") or "")

    pins.first.click()
    expect(page.locator("#map .pin.is-selected")).to_have_text("I1")
    expect(page.locator("[data-stop][aria-current=true]")).to_contain_text("Invented One")
    page.keyboard.press("Escape")


def test_filters_change_table_and_map_alike(new_page: NewPage) -> None:
    """One choice, two views of it."""
    page = new_page(f"/week/{WEEK}")
    expect(page.locator("#map .pin")).to_have_count(3)

    page.get_by_label("Invented Alma").uncheck()
    expect(page.locator("#map .pin")).to_have_text(["IB1"])
    assert len(stops(page)) == 1

    page.get_by_label("Invented Alma").check()
    page.get_by_label("All", exact=True).check()
    expect(page.locator("#map .pin")).to_have_count(4)
    assert len(stops(page)) == 4


def test_a_pin_selects_its_row_and_a_row_its_pin(new_page: NewPage) -> None:
    """Two views of one selected stop."""
    page = new_page(f"/week/{WEEK}")
    page.locator("#map .pin", has_text="I2").click()
    row = page.locator("[data-stop][aria-current=true]")
    expect(row).to_contain_text("Invented Two")

    page.locator("[data-stop]", has_text="Invented Three").first.click()
    expect(page.locator("#map .pin.is-selected")).to_have_text("IB1")
    expect(page.locator("#map .leg.is-selected")).to_have_count(1)
    expect(row).to_have_count(1)


def test_the_stops_are_reached_and_walked_with_the_keyboard(new_page: NewPage) -> None:
    """Tab reaches the table once, arrows move, Enter goes to the map, Escape lets go."""
    page = new_page(f"/week/{WEEK}")
    expect(page.locator("#map .pin")).to_have_count(3)
    page.locator(".jump a").last.focus()
    while "data-stop" not in page.evaluate("document.activeElement.outerHTML.slice(0, 40)"):
        page.keyboard.press("Tab")

    selected = page.locator("#map .pin.is-selected")
    expect(selected).to_have_text("I1")
    page.keyboard.press("ArrowDown")
    expect(selected).to_have_text("I2")
    page.keyboard.press("Enter")
    expect(page.locator("[data-stop]:focus")).to_contain_text("Invented Two")
    page.keyboard.press("End")
    expect(selected).to_have_text("IB1")
    page.keyboard.press("Escape")
    expect(selected).to_have_count(0)


def test_the_map_stays_in_sight_while_the_board_scrolls(new_page: NewPage) -> None:
    """A link to a part of the board must move the board, not the page under the map."""
    page = new_page(f"/week/{WEEK}", height=600)
    page.get_by_role("navigation", name="Parts of the week").get_by_text("Plan again").click()

    expect(page.get_by_role("button", name="Plan this week again")).to_be_in_viewport()
    expect(page.locator("#map")).to_be_in_viewport(ratio=1)
    assert page.evaluate("window.scrollY") == 0


def test_a_week_is_planned_from_the_page_with_its_progress(new_page: NewPage) -> None:
    """From the button to the routes, without a reload by hand."""
    page = new_page(f"/week/{WEEK.next}")
    expect(page.get_by_text("This week has not been planned")).to_be_visible()

    page.get_by_label("Effort").select_option("Quick look")
    page.get_by_role("button", name="Plan this week").click()

    expect(page.locator("#map .pin").first).to_be_visible(timeout=120_000)
    expect(page.locator("progress")).to_have_count(0)


def _plan_without_end(page: Page) -> None:
    """Start planning with more rounds than any test waits for."""
    page.evaluate(
        """() => { const effort = document.querySelector("select[name=iterations]");
             effort.append(new Option("endless", "100000000")); }"""
    )
    page.get_by_label("Effort").select_option("endless")
    page.get_by_role("button", name="Plan this week").click()
    expect(page.locator("[data-figures]")).to_have_text(re.compile("of 100,000,000 rounds"))


def test_planning_is_stopped_from_the_page(new_page: NewPage) -> None:
    """The button says what it does: the best plan so far stays."""
    page = new_page(f"/week/{WEEK.next.next}")
    _plan_without_end(page)

    page.get_by_role("button", name="Stop and keep the best so far").click()

    expect(page.get_by_text("this is the best plan it had found")).to_be_visible(timeout=120_000)
    expect(page.locator("#map .pin").first).to_be_visible()


def test_a_job_that_ends_takes_no_words_from_who_is_writing(new_page: NewPage) -> None:
    """The page waits until it is asked for what came of the job (here with a field of the test)."""
    page = new_page(f"/week/{WEEK.next.next.next}")
    _plan_without_end(page)
    page.evaluate("document.querySelector('main').append(document.createElement('textarea'))")
    page.locator("textarea").fill("Gate sticks, lift")

    page.evaluate("fetch(document.querySelector('.job form').action, { method: 'POST' })")

    show = page.get_by_role("button", name="Show what came of it")
    expect(show).to_be_visible(timeout=120_000)
    expect(page.locator("textarea")).to_have_value("Gate sticks, lift")
    show.click()
    expect(page.get_by_text("this is the best plan it had found")).to_be_visible()


def test_no_page_scrolls_sideways_on_a_phone(new_page: NewPage) -> None:
    """360 px is the width of a small phone."""
    for address in (
        f"/week/{WEEK}",
        f"/loads/{WEEK}",
        f"/due/{WEEK}",
        "/map",
        "/sites",
        "/technicians",
    ):
        page = new_page(address, width=360, height=740)
        width = page.evaluate("document.documentElement.scrollWidth")
        assert width == 360, address


def test_a_long_drive_fits_on_a_phone_in_the_readers_words(new_page: NewPage) -> None:
    """The table's head is not shown there, so its word stands before each drive."""
    page = new_page(f"/week/{WEEK}", width=360, height=740)
    drive = page.locator("[data-stop]:visible td[data-head]").first
    drive.evaluate("one => { one.textContent = '1 h 10'; one.dataset.head = 'Anfahrt'; }")
    assert "Anfahrt" in drive.evaluate("one => getComputedStyle(one, '::before').content")
    assert drive.evaluate("one => one.scrollWidth <= one.clientWidth")
    assert page.evaluate("document.documentElement.scrollWidth") == 360
