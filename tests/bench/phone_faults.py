"""Random sequences of faults between a phone and the service; nothing may be lost or doubled.

Run as `python -m tests.bench.phone_faults --runs 500`. Prints how many sequences ended well, what
happened in them, and what was wrong with any; ends with code 1 where anything was.

The sequences run in child processes, a few on each database. A sequence that does not end in
`SEQUENCE_AT_MOST_S` counts as wrong and is told with the line of the test it hung in; the others go
on in a new child.
"""

from __future__ import annotations

import argparse
import json
import os
import signal
import subprocess
import sys
import tempfile
import threading
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from greenlet import getcurrent, greenlet
from playwright.sync_api import Browser, sync_playwright

from tests.browser.conftest import SWITCHES, chromium_path
from tests.browser.phone_company import PhoneService, make_company
from tests.browser.phone_faults import Faults, faults_found, phones

STEPS = 14
FRESH_AFTER = 40  # sequences on one database; a day's history is read whole for each entry
RESTART_EVERY = 4  # every so many sequences may kill the service among its steps
SEQUENCE_AT_MOST_S = 120  # a sequence takes about 4 s; the longest wait within one is 30 s


def main() -> None:
    """Run the sequences and print figures."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--runs", type=int, default=500)
    words.add_argument("--first", type=int, default=1000, help="seed of the first sequence")
    words.add_argument("--child", action="store_true", help="run them in this process")
    given = words.parse_args()
    seeds = range(given.first, given.first + given.runs)
    if given.child:
        _run_here(seeds)
    else:
        _run_in_children(seeds)


def _run_in_children(seeds: range) -> None:
    began = time.perf_counter()
    tally: Counter[str] = Counter()
    wrong: list[str] = []
    left = seeds
    while left:
        done = 0
        for ended in _child(left[:FRESH_AFTER]):
            done += 1
            tally.update(ended["happened"])
            for one in ended["wrong"]:
                wrong.append(one)
                print(one, flush=True)
        left = left[done:]
        spent = time.perf_counter() - began
        ran = len(seeds) - len(left)
        print(f"{ran:5d} sequences, {len(wrong)} wrong, {spent:.0f} s", flush=True)
    for name, count in tally.most_common():
        print(f"{count:7d} {name}")
    sys.exit(1 if wrong else 0)


def _child(seeds: range) -> Iterator[dict[str, list[str]]]:
    """What each of `seeds` came to, until the first that did not end."""
    words = [sys.executable, "-m", "tests.bench.phone_faults", "--child"]
    words += ["--first", str(seeds.start), "--runs", str(len(seeds))]
    with tempfile.TemporaryFile("w+") as said:
        child = subprocess.Popen(  # noqa: S603 - our own words
            words, stdout=subprocess.PIPE, stderr=said, text=True, start_new_session=True
        )
        assert child.stdout is not None
        seed = seeds.start
        for line in child.stdout:
            yield json.loads(line)
            seed += 1
        child.wait()
        with suppress(ProcessLookupError):  # a browser and a service that it left behind
            os.killpg(child.pid, signal.SIGKILL)
        if seed < seeds.stop:
            said.seek(0)
            yield {"happened": [], "wrong": [f"seed {seed} did not end:\n{said.read()}"]}


def _run_here(seeds: range) -> None:
    """Run the sequences on one database and print a line of JSON for each."""
    chromium = chromium_path()
    if not chromium:
        sys.exit("No chromium is installed.")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        secrets = make_company(Path(folder))
        browser = playwright.chromium.launch(executable_path=chromium, args=list(SWITCHES))
        _run(browser, PhoneService(Path(folder), secrets), seeds)
        browser.close()


def _run(browser: Browser, service: PhoneService, seeds: range) -> None:
    service.start()
    company = service.company()
    try:
        with phones(browser, service) as make:
            for seed in seeds:
                deeds: list[str] = []
                with _ended_in_time(deeds):
                    run = make(seed)
                    run.faults = deeds
                    run.run(STEPS, restarts=seed % RESTART_EVERY == 0)
                    run.enter()
                    found = faults_found(company, run, run.settle())
                _print_ended(seed, run, found)
    finally:
        company.engine.dispose()
        service.kill()


@contextmanager
def _ended_in_time(deeds: list[str]) -> Iterator[None]:
    """Ends the process where what is done within takes too long, and says where it was."""
    watch = threading.Timer(SEQUENCE_AT_MOST_S, _give_up, [getcurrent(), deeds])
    watch.start()
    try:
        yield
    finally:
        watch.cancel()


def _give_up(waiting: greenlet, deeds: list[str]) -> None:
    running = sys._current_frames()[threading.main_thread().ident or 0]  # not in the browser's call
    where = traceback.format_stack(waiting.gr_frame or running)
    print(deeds, *where, sep="\n", file=sys.stderr, flush=True)
    os._exit(1)


def _print_ended(seed: int, run: Faults, found: list[str]) -> None:
    happened = [*run.faults, *["entries kept by the phone"] * len(run.kept)]
    wrong = [f"seed {seed}: {one}; {run.faults}" for one in found]
    print(json.dumps({"happened": happened, "wrong": wrong}), flush=True)


if __name__ == "__main__":
    main()
