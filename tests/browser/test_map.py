from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import NewPage
from tests.grid_town import write_grid
from tests.town import drawn_town

STOPPED = "The building from grid.osm was stopped; the map below is still in use"

HOLD_THE_ANSWER = """() => {
  const add = XMLHttpRequest.prototype.addEventListener;
  XMLHttpRequest.prototype.addEventListener = function (type, listener) {
    const held = (event) => {
      window.answer = () => listener(event);
      document.documentElement.dataset.answered = "yes";
    };
    add.call(this, type, type === "load" ? held : listener);
  };
}"""


def choose(page: Page, file: Path) -> None:
    """Choose an extract and press the button."""
    page.get_by_label("OpenStreetMap extract").set_input_files(file)
    page.get_by_role("button", name="Build").click()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_streets_are_drawn_with_what_they_hold(new_page: NewPage, scheme: str) -> None:
    """Seven streets of 2.0 km are 1.2 miles; metric here, as the company names no country."""
    page = new_page("/map", scheme=scheme)

    expect(page.locator("#map canvas").first).to_be_visible()
    expect(page.locator(".figures")).to_contain_text("2.0 km")
    expect(page.locator(".facts")).to_contain_text("drawn.osm")
    expect(page.locator("#map")).to_contain_text("© OpenStreetMap contributors")


def test_a_map_is_built_from_the_page_with_its_progress(new_page: NewPage, tmp_path: Path) -> None:
    """From the file to the new map, without a reload by hand. The same town again harms nobody."""
    page = new_page("/map")
    choose(page, drawn_town().write(tmp_path))

    expect(page.locator("[data-job]")).to_contain_text("Building the map from drawn.osm")
    expect(page.get_by_text("The map has been built from drawn.osm")).to_be_visible(timeout=120_000)
    expect(page.locator("#map canvas").first).to_be_visible()


def test_a_build_is_stopped_from_the_page(new_page: NewPage, tmp_path: Path) -> None:
    """The wrong file, noticed too late."""
    page = new_page("/map")
    choose(page, write_grid(tmp_path / "grid.osm", 300))  # takes far longer than a click
    page.locator("[data-job]").get_by_role("button", name="Stop").click()

    expect(page.get_by_text(STOPPED)).to_be_visible(timeout=120_000)
    expect(page.locator(".facts")).to_contain_text("drawn.osm")


def test_a_stop_before_the_page_knows_of_the_job_is_not_lost(
    new_page: NewPage, tmp_path: Path
) -> None:
    """All is sent and the service builds, but its answer is still on the way."""
    page = new_page("/map")
    page.evaluate(HOLD_THE_ANSWER)
    choose(page, write_grid(tmp_path / "grid.osm", 300))
    expect(page.locator("html[data-answered]")).to_have_count(1)
    page.locator("#sending").get_by_role("button", name="Stop").click()
    page.evaluate("window.answer()")

    expect(page.get_by_text(STOPPED)).to_be_visible(timeout=120_000)


def test_a_broken_extract_is_told_and_the_map_stays(new_page: NewPage, tmp_path: Path) -> None:
    """The sentence of the failure, where the reader is."""
    broken = tmp_path / "broken.osm.pbf"
    broken.write_bytes(b"not a map")
    page = new_page("/map")
    choose(page, broken)

    expect(page.get_by_role("alert").first).to_contain_text(
        "broken.osm.pbf did not become a map.", timeout=120_000
    )
    expect(page.locator(".facts")).to_contain_text("drawn.osm")


def test_a_file_over_the_limit_is_not_sent(new_page: NewPage, tmp_path: Path) -> None:
    """Nobody should wait for hours to read that the file is too large."""
    page = new_page("/map")
    page.locator("#upload").evaluate("(form) => { form.dataset.mostBytes = '100'; }")
    choose(page, drawn_town().write(tmp_path))

    expect(page.locator("#upload-fault")).to_contain_text("'drawn.osm' is larger than 4 GB")
    expect(page.locator("#upload")).to_be_visible()


def test_a_map_is_built_without_scripts(new_page: NewPage, tmp_path: Path) -> None:
    """The form, the progress and the end of it are plain pages."""
    page = new_page("/map", scripts=False)
    choose(page, drawn_town().write(tmp_path))

    expect(page.get_by_text("Building the map from drawn.osm")).to_be_visible()
    expect(page.get_by_text("The map has been built from drawn.osm")).to_be_visible(timeout=120_000)
