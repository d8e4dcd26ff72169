"""The first page of a company in a browser with nothing kept: bytes over the wire, and seconds.

`python -m tests.bench.first_page --data DATA` serves the company of the data folder DATA, as the
demo's, opens the page of its latest planned week several times, each time with an empty cache,
and prints what was fetched, when the tables could be used (scripts have run and nothing keeps
the page busy) and when the map had its routes. Wanted: under 300 kB and 1 s.
"""

from __future__ import annotations

import argparse
import statistics
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

from api.callers import cookie_of
from dispatch.actions.read_plan import planned_weeks
from dispatch.settings import Settings
from dispatch.store.db import make_engine, transaction
from tests.browser.conftest import SWITCHES, chromium_path, serving
from tests.signed_in import session_of

MOST_B, MOST_S = 300_000, 1.0
TIMES = """() => {
  const [page] = performance.getEntriesByType("navigation");
  const paint = performance.getEntriesByName("first-contentful-paint")[0];
  return {answer: page.responseEnd / 1000, painted: (paint?.startTime ?? NaN) / 1000,
          usable: page.domContentLoadedEventEnd / 1000};
}"""
DRAWN = "() => document.querySelector('#map .pin') && performance.now() / 1000"


def main() -> None:
    """Measure and print."""
    words = argparse.ArgumentParser(description="Bytes and seconds of the first page.")
    words.add_argument("--data", type=Path, required=True, help="data folder of the company")
    words.add_argument("--runs", type=int, default=5)
    given = words.parse_args()
    settings = Settings(data_dir=given.data)
    engine = make_engine(settings)
    with transaction(engine, read_only=True) as session:
        address = f"/week/{planned_weeks(session)[-1]}"
    secret = session_of(engine, settings)
    engine.dispose()
    with serving(settings.data_dir, settings.today()) as base, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=list(SWITCHES))
        cookie = {"name": cookie_of(settings), "value": secret, "url": base}
        runs = [opened(browser, base + address, cookie) for _ in range(given.runs + 1)][1:]
        browser.close()
    sizes, _ = runs[-1]
    for name, size in sorted(sizes.items(), key=lambda one: -one[1]):
        print(f"{size / 1000:8.1f} kB  {name}")
    total = statistics.median(sum(sizes.values()) for sizes, _ in runs)
    print(f"{total / 1000:8.1f} kB  altogether; wanted: at most {MOST_B / 1000:.0f} kB")
    for name in ("answer", "painted", "usable", "map"):
        seconds = sorted(times[name] for _, times in runs)
        print(f"{statistics.median(seconds):8.2f} s   {name} (median; {seconds[0]:.2f} to "
              f"{seconds[-1]:.2f})")  # fmt: skip
    print(f"wanted: usable within {MOST_S:.0f} s")


def opened(
    browser: Browser, address: str, cookie: dict[str, str]
) -> tuple[dict[str, float], dict[str, float]]:
    """Bytes over the wire by what was fetched, and seconds since the page was asked for."""
    context = browser.new_context(viewport={"width": 1440, "height": 900})
    context.add_cookies([cookie])  # type: ignore[list-item]
    page = context.new_page()
    names: dict[str, str] = {}
    sizes: dict[str, float] = {}
    wire = context.new_cdp_session(page)
    wire.send("Network.enable")
    wire.on(
        "Network.requestWillBeSent",
        lambda told: names.update({told["requestId"]: told["request"]["url"]}),
    )

    def finished(told: dict[str, object]) -> None:
        name = names.get(str(told["requestId"]), "").partition("?")[0].split("/", 3)[-1]
        sizes[name] = sizes.get(name, 0.0) + float(str(told["encodedDataLength"]))

    wire.on("Network.loadingFinished", finished)
    page.goto(address)
    drawn = page.wait_for_function(DRAWN, timeout=60_000).json_value()
    page.wait_for_load_state("networkidle")
    times = {**page.evaluate(TIMES), "map": float(drawn)}
    context.close()
    return sizes, times


if __name__ == "__main__":
    main()
