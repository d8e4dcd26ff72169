"""Every page of the service, found from its routes, and what is looked at on each.

By hand, `python -m tests.browser.every_page FOLDER --data DATA` serves the company of the data
folder DATA, as the demo's, opens each of its pages at every width and in both colour schemes,
writes pictures of them to FOLDER and prints what is wrong. It adds an invented record where there
is none.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from datetime import time as clock
from pathlib import Path
from typing import Any
from uuid import uuid4

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Browser, Page, sync_playwright
from playwright.sync_api import TimeoutError as PlaywrightTimeout

from api.app import create_app
from api.callers import cookie_of
from api.known_routes import routes_of
from dispatch.actions import day, people, read_plan, records, table_import, visit_link
from dispatch.actions.take_in import take_in_record
from dispatch.clock import IsoWeek
from dispatch.settings import Settings
from dispatch.store.db import make_engine, transaction
from dispatch.store.directory import open_directory
from tests.browser.conftest import SWITCHES, chromium_path, serving
from tests.signed_in import OWNER, session_of

WIDTHS, SCHEMES = (360, 768, 1440), ("light", "dark")
HEIGHTS = {360: 740, 768: 1024, 1440: 900}  # pixels; a phone, a tablet, a laptop
NO_PAGE = re.compile(r"/api/|/healthz|/readyz|/metrics|/calendar/|.*\.(js|csv)$")
WANTED = {  # where the route alone is not enough
    "/day/{day}/repair": "?kind=technician-out&technician_id={technician_id}&time=07:00",
    "/import/{noun}/{name}": "/import/{noun}/{upload}",
}
PATIENCE_MS = 120_000  # with a busy machine, not a measure
GRAVE = frozenset({"serious", "critical"})
FINDINGS = """async () => (await axe.run(document, {resultTypes: ["violations"]})).violations.map(
  ({id, impact, nodes}) => ({id, impact, where: nodes.slice(0, 3).map((one) =>
    `${one.target.join(" ")} ${(one.any[0] ?? one.all[0] ?? one.none[0])?.message ?? ""}`)}))"""
TOO_WIDE = """() => {
  const room = document.documentElement.clientWidth;
  const wide = [...document.querySelectorAll("body *")].filter(
    (one) => one.checkVisibility() && !one.closest("#map *, .scroll *")
      && one.getBoundingClientRect().right > room + 1);
  return document.documentElement.scrollWidth > room
    ? ["the page", ...wide.slice(0, 3).map((one) => one.outerHTML.slice(0, 100))] : [];
}"""


@dataclass(frozen=True, slots=True)
class PageOf:
    """A page: its route as the router has it, and an address at which it can be seen."""

    route: str
    address: str

    @property
    def name(self) -> str:
        """A name for the file of its picture."""
        return re.sub(r"\W+", "-", self.route).strip("-") or "first"


def pages_of(settings: Settings, places: Mapping[str, str]) -> list[PageOf]:
    """Every page there is; a page whose address asks for something new raises KeyError."""
    app = create_app(settings)
    found = []
    for one in routes_of(app):
        if one.method == "GET" and not NO_PAGE.match(one.path):
            wanted = WANTED.get(one.path, one.path)
            address = (one.path if wanted.startswith("?") else "") + wanted
            found.append(PageOf(one.path, address.format_map(places)))
    app.state.engine.dispose()
    app.state.directory.dispose()
    return sorted(found, key=lambda one: one.route)


def places_in(settings: Settings, week: IsoWeek) -> dict[str, str]:
    """What the addresses of pages name, in a company whose `week` is planned; makes what lacks."""
    engine = make_engine(settings)
    directory = open_directory(settings, engine)
    now = settings.now()
    with transaction(engine) as session:
        route = read_plan.week_plan(session, week).routes[0]
        stop = route.stops[0]
        if route.day not in day.published_days(session):
            day.publish_day(session, settings, route.day, who="Invented Desk", at=now)
        if not records.records_between(session, settings):
            take_in_record(session, settings, _record(stop.site_id, route.technician_id, settings))
        record = records.records_between(session, settings)[0].record
        token = visit_link.visit_token(session, settings, route.day, stop.visit_id)
    with transaction(directory) as session:
        secret = people.invite(session, OWNER.id, now)
    upload = table_import.keep_upload(settings, "Client,Street\nInvented Nine,2 ab street\n")
    for one in (engine, directory):
        one.dispose()
    return {
        "week": str(week), "day": route.day.isoformat(), "technician_id": route.technician_id,
        "site_id": record.site_id, "record_id": record.id, "name": "improve", "noun": "sites",
        "kind": "sand-change", "token": token, "secret": secret, "upload": upload,
    }  # fmt: skip


def page_for_all(browser: Browser, cookies: list[Any]) -> tuple[Page, list[str]]:
    """A page in which others are opened one after another, and the list of what it complains of.

    One for all has read scripts and styles before, and what axe-core needs is sent to it once.
    """
    page = browser.new_page(reduced_motion="reduce")
    page.context.add_cookies(cookies)
    page.add_init_script(AXE_SCRIPT)
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(f"script: {error}"))
    page.on(
        "console",
        lambda said: (
            faults.append(f"console: {said.text}") if said.type in {"error", "warning"} else None
        ),
    )
    return page, faults


def open_page(
    page: Page, said: list[str], base: str, one: PageOf, *, width: int, scheme: str
) -> list[str]:
    """Open `one` in `page`, which says `said`; what is wrong with it, one line for each fault."""
    page.set_viewport_size({"width": width, "height": HEIGHTS[width]})
    page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    said.clear()
    try:
        answer = page.goto(base + one.address, timeout=PATIENCE_MS)
    except PlaywrightTimeout:
        return [f"did not load within {PATIENCE_MS // 1000} s"]
    found = look_at(page)
    if answer is None or answer.status != 200:
        found.append(f"answered {answer.status if answer else 'nothing'}")
    return [*said, *found]


def look_at(page: Page) -> list[str]:
    """What is wrong with what stands in the browser: serious findings, and scrolling sideways."""
    faults = [
        f"{one['impact']} {one['id']}: {'; '.join(one['where'])}"
        for one in page.evaluate(FINDINGS)
        if one["impact"] in GRAVE
    ]
    if wide := page.evaluate(TOO_WIDE):
        faults.append(f"scrolls sideways: {wide}")
    return faults


def _record(site_id: str, technician_id: str, settings: Settings) -> dict[str, Any]:
    """An invented record of yesterday."""
    yesterday = settings.today() - timedelta(days=1)
    arrived = datetime.combine(yesterday, clock(9), settings.zone)
    return {
        "id": str(uuid4()),
        "site_id": site_id,
        "technician_id": technician_id,
        "day": yesterday.isoformat(),
        "arrived_at": arrived.isoformat(),
        "left_at": (arrived + timedelta(minutes=32)).isoformat(),
        "readings": [
            {"kind": "free-chlorine", "value": 2.5, "unit": "ppm", "method": "drops"},
            {"kind": "ph", "value": 7.5},
            {"kind": "filter-pressure", "value": 18, "unit": "psi", "method": "gauge"},
        ],
        "work": ["brushed"],
        "products": [{"product": "bleach", "amount": 32, "unit": "fl oz", "strength": 125}],
        "note": "Gate sticks.",
    }


def main() -> None:
    """Take pictures of every page; see the module."""
    words = argparse.ArgumentParser(description="Pictures and faults of every page.")
    words.add_argument("folder", type=Path, help="where the pictures go")
    words.add_argument("--data", type=Path, required=True, help="data folder of the company")
    words.add_argument("--week", help="planned ISO week; the latest when left out")
    words.add_argument("--only", default="", help="pages whose route contains this")
    words.add_argument("--skip", default="", help="no pages whose route contains this")
    words.add_argument("--widths", default=",".join(map(str, WIDTHS)))
    words.add_argument("--schemes", default=",".join(SCHEMES))
    given = words.parse_args()
    settings = Settings(data_dir=given.data)
    engine = make_engine(settings)
    with transaction(engine, read_only=True) as session:
        latest = read_plan.planned_weeks(session)[-1]
    cookie = {"name": cookie_of(settings), "value": session_of(engine, settings)}
    engine.dispose()
    week = IsoWeek.parse(given.week) if given.week else latest
    pages = [
        one
        for one in pages_of(settings, places_in(settings, week))
        if given.only in one.route and not (given.skip and given.skip in one.route)
    ]
    given.folder.mkdir(parents=True, exist_ok=True)
    with serving(settings.data_dir, settings.today()) as base, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=list(SWITCHES))
        page, said = page_for_all(browser, [{**cookie, "url": base}])
        for width in map(int, given.widths.split(",")):
            for scheme in given.schemes.split(","):
                for one in pages:
                    faults = open_page(page, said, base, one, width=width, scheme=scheme)
                    page.wait_for_timeout(300)  # ms; the map is drawn after the page has loaded
                    file = given.folder / f"{one.name}-{width}-{scheme}.png"
                    page.screenshot(path=file, full_page=True)
                    for fault in faults:
                        sys.stdout.write(f"{one.address} {width} {scheme}: {fault}\n")
                    sys.stdout.flush()
        browser.close()


if __name__ == "__main__":
    main()
