"""Every page in a browser: no serious finding, nothing beyond the edge, usable by keyboard.

Each page is opened once, in one of the combinations of width and scheme in turn; the module
`every_page`, run by hand, opens all of them in all combinations.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import cycle, product
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from api.callers import COOKIE
from tests.browser.conftest import serving
from tests.browser.every_page import (
    SCHEMES,
    WIDTHS,
    PageOf,
    open_page,
    page_for_all,
    pages_of,
    places_in,
)
from tests.signed_in import session_of
from tests.town import TODAY, WEEK, planned_company

BY_KEYBOARD = (
    "/people", "/standing", "/standing/study/{name}", "/balance/{week}", "/what-if",
    "/import/{noun}", "/import/{noun}/{name}", "/export", "/new-customer", "/day/{day}/notices",
)  # fmt: skip
FOCUSED = """() => {
  const one = document.activeElement;
  if (!one || one === document.body) return null;
  const style = getComputedStyle(one), box = one.getBoundingClientRect();
  const ring = (style.outlineStyle !== "none" && parseFloat(style.outlineWidth) > 0)
    || style.boxShadow !== "none";
  one.setAttribute("data-reached", "");
  return {what: one.outerHTML.slice(0, 80), ring, height: box.height};
}"""
UNREACHED = """() => [...document.querySelectorAll(
    "a[href], button, input:not([type=hidden]), select, textarea, summary")]
  .filter((one) => one.checkVisibility() && !one.disabled && !one.hasAttribute("data-reached")
    && one.tabIndex >= 0 && !(one.type === "radio" && !one.checked))
  .map((one) => one.outerHTML.slice(0, 80))"""


@dataclass(frozen=True)
class Looked:
    """A running service with something on every page."""

    base: str
    cookies: list[Any]
    pages: list[PageOf]


@pytest.fixture(scope="module")
def looked(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Looked]:
    """The service of a planned company, a day published and a record kept."""
    company = planned_company(tmp_path_factory.mktemp("every-page"))
    secret = session_of(company.engine, company.settings)
    pages = pages_of(company.settings, places_in(company.settings, WEEK))
    company.engine.dispose()
    with serving(company.settings.data_dir, TODAY) as base:
        yield Looked(base, [{"name": COOKIE, "value": secret, "url": base}], pages)


def test_every_page_fits_and_has_no_serious_finding(chromium: Browser, looked: Looked) -> None:
    """A page nobody thought of when it was made must not be the one that cannot be read."""
    faults = []
    page, said = page_for_all(chromium, looked.cookies)
    for one, (width, scheme) in zip(looked.pages, cycle(product(WIDTHS, SCHEMES)), strict=False):
        found = open_page(page, said, looked.base, one, width=width, scheme=scheme)
        faults += [f"{one.address} {width} px {scheme}: {fault}" for fault in found]
    page.close()
    assert not faults, "\n".join(faults)


def test_what_can_be_done_on_a_page_can_be_done_by_keyboard(
    chromium: Browser, looked: Looked
) -> None:
    """Tab reaches every control, and it is to be seen where one is."""
    faults = []
    page = chromium.new_page(viewport={"width": 1440, "height": 900})
    page.context.add_cookies(looked.cookies)
    for one in looked.pages:
        if one.route in BY_KEYBOARD:
            page.goto(looked.base + one.address)
            faults += [f"{one.address}: {fault}" for fault in walk(page)]
    page.close()
    assert not faults, "\n".join(faults)


def walk(page: Page, *, most: int = 150) -> list[str]:
    """Tab through a page with everything folded open; what is not reached, or not seen there."""
    page.evaluate("document.querySelectorAll('main details').forEach((one) => one.open = true)")
    faults = []
    for _ in range(most):
        page.keyboard.press("Tab")
        at = page.evaluate(FOCUSED)
        if at is None:
            break
        if not at["ring"] or not at["height"]:
            faults.append(f"focus is not seen on {at['what']}")
    return faults + [f"Tab does not reach {one}" for one in page.evaluate(UNREACHED)]
