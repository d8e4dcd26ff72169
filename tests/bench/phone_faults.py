"""Random sequences of faults between a phone and the service; nothing may be lost or doubled.

Run as `python -m tests.bench.phone_faults --runs 500`. Prints how many sequences ended well, what
happened in them, and what was wrong with any; ends with code 1 where anything was.
"""

from __future__ import annotations

import argparse
import shutil
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

from tests.browser.conftest import CHROMIUM, SWITCHES
from tests.browser.phone_company import PhoneService, make_company
from tests.browser.phone_faults import faults_found, phones

STEPS = 14
FRESH_AFTER = 40  # sequences on one database; a day's history is read whole for each entry
RESTART_EVERY = 4  # every so many sequences may kill the service among its steps


def main() -> None:
    """Run the sequences and print figures."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--runs", type=int, default=500)
    words.add_argument("--first", type=int, default=1000, help="seed of the first sequence")
    given = words.parse_args()
    chromium = next((path for name in CHROMIUM if (path := shutil.which(name))), None)
    if chromium is None:
        sys.exit("No chromium is installed.")
    began = time.perf_counter()
    tally: Counter[str] = Counter()
    wrong: list[str] = []
    with tempfile.TemporaryDirectory() as kept, sync_playwright() as playwright:
        secrets = make_company(Path(kept))
        browser = playwright.chromium.launch(executable_path=chromium, args=list(SWITCHES))
        for first in range(given.first, given.first + given.runs, FRESH_AFTER):
            last = min(first + FRESH_AFTER, given.first + given.runs)
            with tempfile.TemporaryDirectory() as folder:
                shutil.copytree(Path(kept) / "data", Path(folder) / "data")
                service = PhoneService(Path(folder), secrets)
                _run(browser, service, range(first, last), tally, wrong)
            spent = time.perf_counter() - began
            done = last - given.first
            print(f"{done:5d} sequences, {len(wrong)} wrong, {spent:.0f} s", flush=True)
        browser.close()
    for name, count in tally.most_common():
        print(f"{count:7d} {name}")
    for one in wrong:
        print(one)
    sys.exit(1 if wrong else 0)


def _run(
    browser: Browser, service: PhoneService, seeds: range, tally: Counter[str], wrong: list[str]
) -> None:
    service.start()
    company = service.company()
    try:
        with phones(browser, service) as make:
            for seed in seeds:
                run = make(seed)
                run.run(STEPS, restarts=seed % RESTART_EVERY == 0)
                run.enter()
                found = faults_found(company, run, run.settle())
                tally.update(run.faults)
                tally["entries kept by the phone"] += len(run.kept)
                wrong += [f"seed {seed}: {one}; {run.faults}" for one in found]
    finally:
        company.engine.dispose()
        service.kill()


if __name__ == "__main__":
    main()
