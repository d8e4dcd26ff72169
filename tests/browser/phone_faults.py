"""Random sequences of faults between a phone and the service, and what must be true afterwards.

A sequence enters things at the stops of a day while the network is cut, answers are lost after the
service has committed, calls never arrive, the page is reloaded, the tab is killed, a second tab
sends as well, and the service is killed and started again. In the end there is signal, and then
all that the phone said it has kept must be in the service once, in its order.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from playwright.sync_api import Browser, BrowserContext, CDPSession, Page, Route
from playwright.sync_api import Error as BrowserError

from api.callers import COOKIE
from dispatch.actions.day import history
from dispatch.actions.phone_entries import entries_of
from dispatch.day.events import OF_VISIT, DayEvent, EventKind
from dispatch.store.phone_entries import KeptEntry
from dispatch.store.records import read_records
from tests.browser.phone_company import PhoneService
from tests.town import MONDAY, Company

ENTRIES = "**/api/phone/entries"
VISITS = ("S1/2026-W49/1", "S2/2026-W49/1")
OF_PHONES = OF_VISIT | {EventKind.NOTE, EventKind.SHIFT_STARTED}
CLOSES_MS = 2_000  # milliseconds until the browser is asked once more to close a tab
ASKED_TO_CLOSE = 10  # times at most
LEAVES_SENT_MS = 20_000  # milliseconds for the last sending on a busy machine

ENTER = """async (contents) => {
  const { store } = await import("/static/phone.js");
  const db = await store.openStore();
  for (const content of contents) {
    await store.enter(db, content);
    window.kept = [...(window.kept ?? []), content.id];
  }
  db.close();
  return contents.map(({ id }) => id);
}"""
SEND = """async () => {
  const { store, sendWaiting } = await import("/static/phone.js");
  const db = await store.openStore();
  const state = await sendWaiting(db);
  db.close();
  return state;
}"""
KEPT_BY_THE_PHONE = """async () => {
  for (let n = 0; n < 600 && navigator.serviceWorker.controller === null; n += 1) {
    await new Promise((done) => setTimeout(done, 50));
  }
  return navigator.serviceWorker.controller !== null;
}"""
LEFT = """async () => {
  const { store } = await import("/static/phone.js");
  const db = await store.openStore();
  const left = await store.counts(db);
  const phone = await store.phoneId(db);
  const all = (await db.getAll("entries")).map(({ number, content, state }) =>
    ({ number, id: content.id, state }));
  db.close();
  return { ...left, phone, all };
}"""


class Tabs:
    """Opens and closes the tabs of a browser.

    A tab that is asked to close right after it was told to load again sometimes stays open for good
    (about once in 30 times), and the library's own `close` then waits for ever; asking once more
    closes it.
    """

    def __init__(self, browser: Browser, context: BrowserContext) -> None:
        self.context = context
        self.asked: CDPSession = browser.new_browser_cdp_session()
        self.targets: dict[Page, str] = {}

    def open(self) -> Page:
        """A new tab."""
        page = self.context.new_page()
        session = self.context.new_cdp_session(page)
        self.targets[page] = session.send("Target.getTargetInfo")["targetInfo"]["targetId"]
        return page

    def close(self, page: Page) -> None:
        """Close a tab without a word to it, whatever it is doing."""
        close = {"targetId": self.targets[page]}
        for _ in range(ASKED_TO_CLOSE):
            with suppress(BrowserError), page.expect_event("close", timeout=CLOSES_MS):
                self.asked.send("Target.closeTarget", close)
            if page.is_closed():
                return
        raise TimeoutError(f"The tab {page.url} does not close.")

    def close_all(self) -> None:
        """Close every tab."""
        for page in self.context.pages:  # those that are open
            self.close(page)


@dataclass
class Faults:
    """One sequence of a phone of its own.

    `attempted` are the ids of all that was tried to be entered in the order of entering; `kept`
    are those that the phone said it had kept.
    """

    service: PhoneService
    tabs: Tabs
    chance: random.Random
    attempted: list[str] = field(default_factory=list)
    records: set[str] = field(default_factory=set)
    kept: set[str] = field(default_factory=set)
    faults: list[str] = field(default_factory=list)
    page: Page | None = None
    second: Page | None = None

    @property
    def context(self) -> BrowserContext:
        """What all tabs of the phone share."""
        return self.tabs.context

    def open_page(self) -> Page:
        """The tab, opened anew where it is gone."""
        if self.page is None or self.page.is_closed():
            self.page = self.tabs.open()
            self._visit(self.page)
        return self.page

    def _visit(self, page: Page) -> None:
        with suppress(BrowserError):  # without signal and not kept on the phone yet
            page.goto(f"{self.service.address}/phone/T1", wait_until="commit")

    def run(self, steps: int, *, restarts: bool) -> None:
        """Do `steps` random things; `restarts` allows for killing the service among them."""
        page = self.open_page()
        assert page.evaluate(KEPT_BY_THE_PHONE), "the page was not kept on the phone"
        things: list[Callable[[], None]] = [
            self.enter, self.enter, self.enter, self.send, self.cut, self.lose_answers,
            self.lose_calls, self.refuse_calls, self.mend, self.reload, self.kill_tab,
            self.enter_and_kill, self.second_tab,
        ]  # fmt: skip
        if restarts:
            things.append(self.restart)
        for _ in range(steps):
            deed = self.chance.choice(things)
            self.faults.append(deed.__name__)
            deed()

    def enter(self) -> None:
        """Enter a few things and wait until the phone has kept them."""
        contents = [self._content() for _ in range(self.chance.randint(1, 3))]
        self.attempted += [content["id"] for content in contents]
        self.kept |= set(self.open_page().evaluate(ENTER, contents))

    def enter_and_kill(self) -> None:
        """Enter and kill the tab in the middle: what came back is kept, the rest may be."""
        page = self.open_page()
        contents = [self._content() for _ in range(3)]
        self.attempted += [content["id"] for content in contents]
        page.evaluate(f"(contents) => {{ void ({ENTER})(contents); }}", contents)
        self.kept |= set(page.evaluate("window.kept ?? []"))
        self.tabs.close(page)

    def send(self) -> None:
        """Send, whatever comes of it, without waiting for it."""
        self.open_page().evaluate(f"() => {{ void ({SEND})(); }}")

    def cut(self) -> None:
        """No signal at all."""
        self.context.set_offline(True)

    def lose_answers(self) -> None:
        """The service takes the entries in and commits; its answer never arrives."""

        def lose(route: Route) -> None:
            with suppress(BrowserError):
                route.fetch()
            with suppress(BrowserError):
                route.abort("connectionreset")

        self._route(lose)

    def lose_calls(self) -> None:
        """What the phone sends never arrives."""
        self._route(lambda route: route.abort("timedout"))

    def refuse_calls(self) -> None:
        """The service answers that it cannot just now."""
        self._route(lambda route: route.fulfill(status=503, body="busy"))

    def mend(self) -> None:
        """Signal again."""
        self.context.set_offline(False)
        self.context.unroute_all(behavior="ignoreErrors")

    def reload(self) -> None:
        """The page is loaded again, perhaps in the middle of a call."""
        with suppress(BrowserError):
            self.open_page().reload(wait_until="commit")

    def kill_tab(self) -> None:
        """The tab is closed without a word, perhaps in the middle of a call."""
        self.tabs.close(self.open_page())

    def second_tab(self) -> None:
        """Another tab of the same phone sends as well."""
        if self.second is None or self.second.is_closed():
            self.second = self.tabs.open()
            self._visit(self.second)
        with suppress(BrowserError):
            self.second.evaluate(f"() => {{ void ({SEND})(); }}")

    def restart(self) -> None:
        """The service loses its power and comes back."""
        self.service.kill()
        self.service.start()

    def settle(self) -> dict[str, Any]:
        """Signal is back for good: open the page and wait until nothing waits."""
        self.mend()
        self.tabs.close_all()
        page = self.open_page()
        page.locator('[data-waiting="0"]').wait_for(state="attached", timeout=LEAVES_SENT_MS)
        left: dict[str, Any] = page.evaluate(LEFT)
        return left

    def _route(self, act: Callable[[Route], None]) -> None:
        self.context.unroute_all(behavior="ignoreErrors")
        self.context.route(ENTRIES, act)

    def _content(self) -> dict[str, Any]:
        kind = self.chance.choice(["started", "done", "skipped", "undone", "note", "shift-started"])
        content: dict[str, Any] = {
            "id": self._uuid(),
            "technician_id": "T1",
            "day": MONDAY.isoformat(),
            "kind": kind,
            "at": datetime(2026, 11, 30, 8, len(self.attempted) % 60, tzinfo=UTC).isoformat(),
            "note": f"entry {len(self.attempted)}",
        }
        if kind in ("note", "shift-started"):
            return content
        visit = self.chance.choice(VISITS)
        content |= {"visit_id": visit, "site_id": visit[:2]}
        if kind == "skipped":
            content["reason"] = self.chance.choice(["gate-locked", "dog", "lightning"])
        if kind == "done":
            content["record"] = self._record(visit)
        return content

    def _record(self, visit: str) -> dict[str, Any]:
        record_id = self._uuid()
        self.records.add(record_id)
        return {
            "id": record_id,
            "site_id": visit[:2],
            "technician_id": "T1",
            "day": MONDAY.isoformat(),
            "visit_id": visit,
            "arrived_at": "2026-11-30T08:00:00Z",
            "left_at": "2026-11-30T08:30:00Z",
            "readings": [{"kind": "ph", "value": 7.4, "unit": "", "method": "phone"}],
        }

    def _uuid(self) -> str:
        return str(UUID(int=self.chance.getrandbits(128), version=4))


@contextmanager
def phones(browser: Browser, service: PhoneService) -> Iterator[Callable[[int], Faults]]:
    """Makes phones by their seeds, each with an empty store, on which the technician is signed in.

    They share a browser's context, so that the page itself need be kept only once.
    """
    context = browser.new_context(viewport={"width": 360, "height": 740})
    context.add_cookies(
        [{"name": COOKIE, "value": service.secrets["alma"], "url": service.address}]
    )

    def make(seed: int) -> Faults:
        context.set_offline(False)
        context.unroute_all(behavior="ignoreErrors")
        tabs.close_all()
        page = tabs.open()
        page.goto(f"{service.address}/static/mark.svg")
        page.evaluate("() => new Promise((done) => {"
                      " indexedDB.deleteDatabase('phone').onsuccess = done; })")  # fmt: skip
        tabs.close(page)
        return Faults(service, tabs, random.Random(seed))

    tabs = Tabs(browser, context)
    try:
        yield make
    finally:
        tabs.close_all()
        context.close()


def faults_found(company: Company, run: Faults, left: dict[str, Any]) -> list[str]:
    """What is wrong after a sequence; empty where nothing was lost, doubled or out of order."""
    with company.reading() as session:
        everything = entries_of(session)
        taken = [one for one in everything if one.phone == left["phone"]]
        events = history(session, company.settings, MONDAY)
        records = [one.record.id for one in read_records(session, company.settings.zone)]
    ids = [one.id for one in taken]
    found = []
    if lost := run.kept - set(ids):
        found.append(f"{len(lost)} entries are lost")
    if len(ids) != len(set(ids)):
        found.append("an entry was taken twice")
    if strange := set(ids) - set(run.attempted):
        found.append(f"{len(strange)} entries that nobody entered")
    if [one.number for one in taken] != sorted(one.number for one in taken):
        found.append("entries were taken out of their order")
    place = {name: n for n, name in enumerate(run.attempted)}
    places = [place[one] for one in ids if one in place]
    if places != sorted(places):
        found.append("entries were taken in another order than that of entering")
    of_run = [event.id for event in events if event.id in set(run.attempted)]
    if of_run != ids:
        found.append(f"{len(ids)} entries made {len(of_run)} events, or in another order")
    found += _strays(everything, events, records)
    wanted = {one.content["record"]["id"] for one in taken if one.content.get("record")}
    own = [one for one in records if one in run.records]
    if sorted(own) != sorted(wanted):
        found.append(f"{len(wanted)} records were sent and {len(own)} are kept")
    if [one for one in left["all"] if one["state"] != "sent"]:
        found.append("the phone believes that something is not sent")
    return found


def _strays(everything: list[KeptEntry], events: list[DayEvent], records: list[str]) -> list[str]:
    """What was made of entries a second time, under ids that no entry has."""
    of_phones = {one.id for one in events if one.kind in OF_PHONES and one.technician_id == "T1"}
    sent = {one.content["record"]["id"] for one in everything if one.content.get("record")}
    more_events, more_records = of_phones - {one.id for one in everything}, set(records) - sent
    found = [f"{len(more_events)} events that no entry made"] if more_events else []
    return [*found, f"{len(more_records)} records of no entry"] if more_records else found
