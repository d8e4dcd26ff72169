"""The technician's page in a browser: in the sun, with one gloved hand, without signal."""

from __future__ import annotations

import base64
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from api.callers import COOKIE
from dispatch.actions.day import history, repair_options, take_option
from dispatch.actions.phone_entries import entries_of
from dispatch.day.events import DayEvent, EventKind
from dispatch.day.triggers import LateStart
from dispatch.store.days import add_day_events
from dispatch.store.records import read_records
from tests.browser.phone_company import PhoneService, wait_until
from tests.browser.phone_faults import KEPT_BY_THE_PHONE
from tests.town import MONDAY

THUMB_PX = 48  # least side of what is touched with gloves
LEAST_CONTRAST = 7.0  # of text in sunlight (WCAG 2.2, 1.4.6)
STOP = "/phone/T1#/stop/S2%2F2026-W49%2F1"
PIXEL = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="
)  # a picture of one pixel
CONTRASTS = """() => {
  const parts = (text) => (text.match(/[\\d.]+/g) ?? []).map(Number);
  const light = (text) => {
    const [r, g, b] = parts(text).map((part) => part / 255).map((part) =>
      part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ground = (element) => {
    for (let at = element; at; at = at.parentElement) {
      const colour = getComputedStyle(at).backgroundColor;
      if (parts(colour)[3] !== 0) return colour;
    }
    return "rgb(255, 255, 255)";
  };
  return [...document.querySelectorAll("body *")]
    .filter((one) => one.checkVisibility() &&
      [...one.childNodes].some((node) => node.nodeType === 3 && node.data.trim() !== ""))
    .map((one) => {
      const pair = [light(getComputedStyle(one).color), light(ground(one))].sort((a, b) => b - a);
      return [(pair[0] + 0.05) / (pair[1] + 0.05), one.textContent.slice(0, 40)];
    });
}"""
PH_IN_THE_STORE = """() => new Promise((done) => {
  const opening = indexedDB.open("phone");
  opening.onsuccess = () => {
    const asked = opening.result.transaction("drafts").objectStore("drafts").getAll();
    asked.onsuccess = () => {
      opening.result.close();
      done(asked.result.some(({ values }) => values["reading ph"] === "7,4"));
    };
  };
})"""
NEWS = """() => new BroadcastChannel("phone").postMessage("moved")"""  # as another tab does
DRAWN_MS = 500  # time enough for the page to be drawn anew
OpenPhone = Callable[..., Page]


@pytest.fixture
def open_phone(chromium: Browser, phone_service: PhoneService) -> Iterator[OpenPhone]:
    """Opens the page on a phone of its own."""
    contexts: list[BrowserContext] = []

    def make(address: str = "/phone/T1", scheme: str = "light", signed_in: bool = True) -> Page:
        context = chromium.new_context(
            viewport={"width": 360, "height": 740},
            color_scheme=scheme,  # type: ignore[arg-type]
            has_touch=True,
        )
        contexts.append(context)
        if signed_in:
            sign_in(context, phone_service)
        page = context.new_page()
        page.goto(phone_service.address + address)
        return page

    yield make
    for context in contexts:
        for page in context.pages:  # an answer may still be on its way to what a test put between
            page.unroute_all(behavior="ignoreErrors")
        context.close()


def sign_in(context: BrowserContext, service: PhoneService) -> None:
    """Sign a browser in as the technician."""
    cookie = {"name": COOKIE, "value": service.secrets["alma"], "url": service.address}
    context.add_cookies([cookie])  # type: ignore[list-item]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_page_is_big_and_clear_enough(open_phone: OpenPhone, scheme: str) -> None:
    """Gloves, sun, 360 px: nothing hides, nothing is small, nothing is grey on grey."""
    page = open_phone(scheme=scheme)
    expect(page.locator(".stop-row")).to_have_count(2)
    _check_page(page)
    page.locator(".stop-row a").nth(1).click()
    if page.locator(".phone-form").count() == 0:
        page.get_by_role("button", name="Start: I am at the gate").click()
    page.locator(".phone-form").wait_for()
    page.evaluate(
        "() => document.querySelectorAll('details').forEach((one) => { one.open = true; })"
    )
    _check_page(page)
    page.get_by_role("button", name=re.compile("^Undo")).click()
    expect(page.get_by_role("button", name="Start: I am at the gate")).to_be_visible()
    expect(page.get_by_role("status")).to_contain_text("All sent")  # else it is lost with the phone


def _check_page(page: Page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth") == 360
    targets = page.locator(
        "button, a, summary, select, input:not([type=checkbox]), label:has(input)"
    )
    for target in targets.all():
        box = target.bounding_box()
        if (
            box is None
            or not target.is_visible()
            or "quiet" in (target.get_attribute("class") or "")
        ):
            continue
        assert box["height"] >= THUMB_PX, target.inner_text()
        assert box["width"] >= THUMB_PX, target.inner_text()
    poor = [one for one in page.evaluate(CONTRASTS) if one[0] < LEAST_CONTRAST]
    assert poor == []


def test_a_visit_is_entered_without_signal_and_sent_with_it(
    open_phone: OpenPhone,
    phone_service: PhoneService,
) -> None:
    """Opened in the morning, used in a dead spot, reloaded there, sent on the way home."""
    page = open_phone()
    expect(page.locator(".stop-row")).to_have_count(2)
    assert page.evaluate(KEPT_BY_THE_PHONE)
    page.context.set_offline(True)
    page.goto(phone_service.address + STOP)
    page.reload()  # from what the phone keeps
    page.get_by_role("button", name="Start: I am at the gate").click()
    page.get_by_label("pH", exact=True).fill("7,4")
    page.get_by_label("Filter pressure", exact=True).fill("600")
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.get_by_role("alert")).to_contain_text("not possible")
    page.get_by_label("Filter pressure", exact=True).fill("20")
    page.get_by_label("Filter pressure", exact=True).blur()
    expect(page.locator(".said .alert")).to_contain_text("Is it right?")
    wait_until(page, PH_IN_THE_STORE)  # a slow disk may take a moment
    page.reload()  # what was typed is still there
    expect(page.get_by_label("pH", exact=True)).to_have_value("7,4")
    page.get_by_role("button", name="It is right").click()
    page.locator("input[type=file]").first.set_input_files(
        {"name": "gauge.png", "mimeType": "image/png", "buffer": PIXEL}
    )
    expect(page.locator(".phone-form .photo")).to_contain_text("1 photo kept")
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.locator(".stop-row.done .waiting")).to_be_visible()
    expect(page.get_by_role("status")).to_contain_text("2 waiting, 1 photo. No signal")
    page.context.set_offline(False)
    expect(page.get_by_role("status")).to_contain_text("All sent")
    company = phone_service.company()
    with company.reading() as session:
        (kept,) = read_records(session, company.settings.zone, site_id="S2")
        assert [one.value for one in kept.record.readings] == [7.4, 20]
        assert len(kept.record.photos) == 1
        assert kept.record.arrived_at is not None
        events = [
            one for one in history(session, company.settings, MONDAY) if one.who == "Invented Alma"
        ]
        assert [str(one.kind) for one in events[-2:]] == ["started", "done"]
    company.engine.dispose()


def test_drawing_anew_takes_no_field_away_from_who_types(open_phone: OpenPhone) -> None:
    """News may come just as a field is touched: what is typed next must not be lost."""
    page = open_phone()
    page.get_by_text("Tell the office").click()
    expect(page.get_by_label("Note", exact=True)).to_be_visible()
    expect(page.get_by_role("status")).to_contain_text("All sent")
    kept = page.get_by_label("Note", exact=True).evaluate(
        """async (field) => {
          const [later, sender] = [new BroadcastChannel("phone"), new BroadcastChannel("phone")];
          const touched = new Promise((resolve) => {
            later.onmessage = () => { field.focus(); setTimeout(resolve, 500); };
          });
          sender.postMessage("moved");  // as another tab does: the page begins to draw itself anew
          await touched;
          return field.isConnected && document.activeElement === field;
        }"""
    )
    assert kept


def test_drawing_anew_takes_no_button_away_from_under_a_finger(open_phone: OpenPhone) -> None:
    """What was sent is noted while the finger is on the next thing: its tap must count."""
    page = open_phone()
    expect(page.get_by_role("status")).to_contain_text("All sent")
    page.get_by_text("Tell the office").hover()
    page.mouse.down()
    page.evaluate(NEWS)
    page.wait_for_timeout(DRAWN_MS)
    page.mouse.up()
    expect(page.get_by_label("Note", exact=True)).to_be_visible()
    before = page.locator(".stop-row").first.element_handle()
    page.evaluate(NEWS)  # and afterwards the page is drawn anew as ever
    expect(page.get_by_role("status")).to_contain_text("All sent")
    wait_until(page, "(row) => !row.isConnected", before)


def test_a_note_begun_outlasts_a_drawing_anew(open_phone: OpenPhone) -> None:
    """Typed, the hand taken away, something came in: the words stand there until they are sent."""
    page = open_phone()
    page.get_by_text("Tell the office").click()
    expect(page.get_by_role("status")).to_contain_text("All sent")
    note = page.get_by_label("Note", exact=True)
    note.fill("the dog was out")
    note.blur()
    page.wait_for_timeout(DRAWN_MS)
    before = page.locator(".stop-row").first.element_handle()
    page.evaluate(NEWS)
    wait_until(page, "(row) => !row.isConnected", before)
    expect(note).to_have_value("the dog was out")
    page.get_by_role("button", name="Send the note").click()
    expect(note).to_have_value("")
    expect(page.get_by_role("status")).to_contain_text("All sent")


def test_entries_wait_while_nobody_is_signed_in(
    open_phone: OpenPhone,
    phone_service: PhoneService,
) -> None:
    """A session that ended in the field costs nothing: sign in, and what waits is sent."""
    page = open_phone()
    expect(page.locator(".stop-row")).to_have_count(2)
    page.context.clear_cookies()
    page.get_by_text("Tell the office").click()
    page.get_by_label("Note", exact=True).fill("the side gate squeaks")
    page.get_by_role("button", name="Send the note").click()
    expect(page.get_by_role("status")).to_contain_text("1 waiting. Signed out")
    expect(page.get_by_role("link", name="Sign in")).to_be_visible()
    sign_in(page.context, phone_service)
    page.reload()
    expect(page.get_by_role("status")).to_contain_text("All sent")
    company = phone_service.company()
    with company.reading() as session:
        notes = [one.content.get("note") for one in entries_of(session)]
        assert notes.count("the side gate squeaks") == 1
    company.engine.dispose()


def test_a_newer_page_keeps_what_waits(open_phone: OpenPhone) -> None:
    """A new version brings its database up to date and finds the entries of the old one."""
    page = open_phone("/phone", signed_in=False)
    found = page.evaluate(
        """async () => {
          const { store } = await import("/static/phone.js");
          const old = await store.openStore();
          const content = { id: store.uuid(), technician_id: "T1", day: "2026-11-30",
                            kind: "note", at: "2026-11-30T10:00:00Z" };
          await store.enter(old, content);
          const more = [...store.STEPS, (db) => db.createObjectStore("more")];
          const newer = await store.openStore(more);
          return [newer.version, [...newer.objectStoreNames].includes("more"),
                  (await store.waiting(newer, 9)).map((one) => one.content.id === content.id)];
        }"""
    )
    assert found == [2, True, [True]]


def test_a_browser_that_keeps_nothing_says_so(
    chromium: Browser,
    phone_service: PhoneService,
) -> None:
    """Better no form than one whose entries are lost with the window."""
    page = chromium.new_page()
    page.add_init_script(
        "indexedDB.open = () => { throw new DOMException('not in a private window'); };"
    )
    page.goto(f"{phone_service.address}/phone/T1")
    expect(page.locator("#phone")).to_contain_text("what you enter would be lost")
    page.close()


def test_a_full_phone_says_that_the_entry_was_not_kept(open_phone: OpenPhone) -> None:
    """The technician must know before driving on."""
    page = open_phone()
    page.evaluate(
        """() => { IDBObjectStore.prototype.add = () => {
             throw new DOMException("no room", "QuotaExceededError"); }; }"""
    )
    page.get_by_text("Tell the office").click()
    page.get_by_role("button", name="I am all right").click()
    expect(page.locator("[data-kind=not-kept]")).to_contain_text(
        "NOT kept: the phone's storage is full"
    )


def test_what_the_office_changed_is_told_with_its_reason(open_phone: OpenPhone) -> None:
    """A stop that comes, goes or moves is named, and who changed it and why."""
    page = open_phone("/phone", signed_in=False)
    found = page.evaluate(
        """async () => {
          const { changesOf } = await import("/static/phone.js");
          const stop = (visit_id, number, start_s) =>
            ({ visit_id, number, start_s, name: visit_id });
          const before = { version: 3, changes: [],
                           stops: [stop("A", 1, 0), stop("B", 2, 3600), stop("C", 3, 7200)] };
          const after = { version: 5,
                          stops: [stop("A", 1, 0), stop("C", 2, 4200), stop("D", 3, 9000)],
                          changes: [{ number: 2, who: "Desk", why: "old" },
                                    { number: 5, who: "Desk", why: "Ben is ill" }] };
          return [changesOf(before, after), changesOf(after, after)];
        }"""
    )
    assert found == [
        [
            "B is no longer on your day.",
            "C is now stop 2, it was 3.",
            "New: D, stop 3.",
            "Desk: Ben is ill",
        ],
        [],
    ]


def test_a_note_of_the_office_is_shown(
    open_phone: OpenPhone,
    phone_service: PhoneService,
) -> None:
    """The day is pulled anew while the page is open, and says what is new."""
    page = open_phone()
    expect(page.locator(".stop-row")).to_have_count(2)
    company = phone_service.company()
    at = datetime(2026, 11, 30, 9, tzinfo=UTC)
    note = DayEvent(
        "7c7e0d2e-51a3-4e5b-9b7a-33c5be6b0d11", MONDAY, EventKind.NOTE, at, at, "Invented Desk",
        "T1", why="Mind the wet paint at the first gate",
    )  # fmt: skip
    with company.writing() as session:
        add_day_events(session, [note])
    company.engine.dispose()
    page.get_by_role("button", name="Look for news").click()
    expect(page.locator("[data-kind=changes]")).to_contain_text("Invented Desk: Mind the wet paint")
    page.get_by_role("button", name="Seen").click()
    expect(page.locator("[data-kind=changes]")).to_have_count(0)


def test_the_page_can_be_installed(open_phone: OpenPhone) -> None:
    """Browsers ask for a manifest with a name, a start, and icons of 192 and 512 px."""
    page = open_phone("/phone", signed_in=False)
    found = page.evaluate(
        """async () => {
          const href = document.querySelector("link[rel=manifest]").href;
          const manifest = await (await fetch(href)).json();
          const sizes = await Promise.all(manifest.icons.map(async ({ src }) => {
            const picture = await createImageBitmap(await (await fetch(src)).blob());
            return [picture.width, picture.height];
          }));
          return [manifest.display, manifest.start_url, manifest.name !== "", sizes];
        }"""
    )
    assert found == ["standalone", "/phone", True, [[192, 192], [512, 512]]]


def test_a_repair_reaches_the_open_page_without_a_touch(
    open_phone: OpenPhone,
    phone_service: PhoneService,
) -> None:
    """The office lets T1 start at eleven: the page says what changed and why, as it happens."""
    page = open_phone()
    expect(page.locator(".stop-row")).to_have_count(2)
    expect(page.locator("[data-kind=changes]")).to_have_count(0)
    before = page.locator(".stop-row").first.inner_text()
    company = phone_service.company()
    settings, now = company.settings, datetime(2026, 11, 30, 6, tzinfo=UTC)
    with company.writing() as session:
        offer = repair_options(session, settings, MONDAY, LateStart("T1", 11 * 3600), now=now)
        kept = next(one for one in offer.options if one.key == "keep-order")
        choice = replace(kept.choice, why="The truck would not start")
        take_option(
            session, settings, MONDAY, choice, expected_version=offer.version, who="Desk", now=now
        )
    company.engine.dispose()
    told = page.locator("[data-kind=changes]")
    expect(told).to_contain_text(re.compile("has a new time|is now stop"))
    expect(told).to_contain_text("Desk: The truck would not start")
    assert page.locator(".stop-row").first.inner_text() != before
