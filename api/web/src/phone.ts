// The technician's page. It is drawn from what is on the phone; signal only makes it newer.
// What is exported here is what the tests in a browser drive.
import { drawnAnew, isHeld, watchTouch } from "./held";
import { daysBefore, goesOn, now, rehearse, today } from "./phone/clock";
import { dayView } from "./phone/day_view";
import { button, h } from "./phone/dom";
import { sendWaiting } from "./phone/outbox";
import type { Sending } from "./phone/outbox";
import { takeOverDrafts } from "./phone/page";
import type { Page } from "./phone/page";
import { forgetRefused, sendPhotos } from "./phone/photos";
import { newest, pull } from "./phone/pull";
import { stopView } from "./phone/stop_view";
import { clearBefore, counts, entriesOf, openStore } from "./phone/store";
import type { Day } from "./phone/types";
import { _, counted } from "./words";

export * as store from "./phone/store";
export { clock, goesOn } from "./phone/clock";
export { fixed } from "./phone/numbers";
export { pressureMeaning } from "./phone/pressure";
export { changesOf } from "./phone/pull";
export { advise, cautionsOf, saturation } from "./phone/water";
export { judge } from "./phone/readings";
export { sendPhotos, sendWaiting };

const KEEP_DAYS = 14; // days that sent entries stay readable on the phone
const PULL_MS = 120_000; // milliseconds between two looks for changes while the page is open
const RETRY_MS = [3_000, 10_000, 30_000, 60_000]; // milliseconds; longer each time there is no signal
const SEEN = new Set(["changes", "refused-photos"]); // notices that go once they were read
const SIGNALS: Record<Sending | "not-noted" | "none", string> = {
  "not-noted": _("This phone is full"), sent: "", none: "", "no-signal": _("No signal"), "signed-out": _("Signed out"), trouble: _("The service does not answer"),
};

const root = document.getElementById("phone") as HTMLElement;
const bar = document.getElementById("phone-bar") as HTMLElement;
const notices = document.getElementById("phone-notices") as HTMLElement;
const channel = "BroadcastChannel" in window ? new BroadcastChannel("phone") : null;
let failures = 0;
let retry = 0;
let last: Sending | "not-noted" | "none" = "none";
let heldBack = false; // a drawing, because somebody types or taps
let begun = 0; // drawings of the screen
let shown = 0; // the number of the one that is on it
let stream: EventSource | null = null;
let followed = ""; // the day that the stream is about

/** The technician of the address, else who is signed in, else the one this phone showed last. */
async function technician(): Promise<string> {
  const named = decodeURIComponent(location.pathname.split("/")[2] ?? "");
  const before = localStorage.getItem("technician") ?? "";
  const found = named || before || (await signedIn());
  if (found !== "") localStorage.setItem("technician", found);
  return found;
}

async function signedIn(): Promise<string> {
  try {
    const reply = await fetch("/api/phone/me", { signal: AbortSignal.timeout(5_000) });
    return reply.ok ? ((await reply.json()) as { technician_id: string }).technician_id : "";
  } catch {
    return "";
  }
}

async function begin(): Promise<void> {
  let db;
  try {
    db = await openStore();
  } catch (error) {
    root.replaceChildren(
      h("h1", {}, _("Nothing can be kept here")),
      h("p", { class: "alert" }, _("This browser lets the page keep nothing ({error}), as in a private window: what you enter would be lost. Open the page in an ordinary window.", { error: String(error) })),
    );
    return;
  }
  const page: Page = { db, technicianId: await technician(), kept: undefined, entries: [], notices: new Map(), show: () => show(page), send: () => void send(page) };
  if (!window.isSecureContext) page.notices.set("insecure", [_("The address begins with http: without signal this page will not open. Ask the office for the https address.")]);
  page.kept = await newest(db, page.technicianId);
  if (page.kept?.day.rehearsal) rehearse(page.kept.day.day);
  await show(page);
  listen(page);
  void navigator.storage?.persist?.();
  void room(page);
  await fresh(page);
  await send(page);
  await register(page);
}

/** Everything on the screen, from what is on the phone. */
const show = (page: Page): Promise<void> => draw(page, () => false);

/** Show anew unless somebody is typing or tapping: then only what stands around the form. */
const showGently = (page: Page): Promise<void> => draw(page, () => isHeld(root));

/** Drawing waits for the phone's store. Meanwhile a field may be touched, or a newer drawing come first. */
async function draw(page: Page, holds: () => boolean): Promise<void> {
  const number = ++begun;
  const day = page.kept?.day;
  page.entries = day ? await entriesOf(page.db, page.technicianId, day.day) : [];
  await showBar(page);
  showNotices(page);
  const at = location.hash;
  const view = await viewOf(page, day, at);
  if (number < shown) return;
  heldBack = holds();
  if (heldBack) return;
  shown = number;
  place(view, at);
}

async function viewOf(page: Page, day: Day | undefined, at: string): Promise<HTMLElement[]> {
  if (!day) {
    return [h("h1", {}, _("Today's stops")), h("p", { class: "lead" }, page.technicianId === "" ? _("Open the address that the office gave you once.") : _("They are not on this phone yet: one look with signal brings them."))];
  }
  const visit = /^#\/stop\/(.+)$/.exec(at)?.[1];
  return [visit === undefined ? dayView(page, day) : await stopView(page, day, decodeURIComponent(visit))];
}

/** Put a view on the screen; what was open stays open, words not sent yet and the keyboard stay, and nothing jumps. */
function place(view: HTMLElement[], at: string): void {
  const isSame = root.dataset["at"] === at;
  const top = isSame ? window.scrollY : 0;
  const open = [...root.querySelectorAll("details")].map((one) => one.open);
  const words = new Map([...root.querySelectorAll("textarea")].map((one) => [one.id, one.value]));
  const pressable = (): HTMLElement[] => [...root.querySelectorAll<HTMLElement>("a[href], button:not(:disabled), summary")];
  const focused = document.activeElement;
  const where = pressable().findIndex((one) => one === focused);
  root.replaceChildren(...view);
  drawnAnew();
  if (isSame) {
    [...root.querySelectorAll("details")].forEach((one, n) => (one.open ||= open[n] ?? false));
    for (const one of root.querySelectorAll("textarea")) one.value ||= words.get(one.id) ?? "";
    if (where >= 0) again(pressable(), where, focused?.textContent)?.focus({ preventScroll: true });
  }
  root.dataset["at"] = at;
  window.scrollTo(0, top);
}

/** Where the keyboard goes on: at what says the same, or else stands in the same place. */
function again(now: HTMLElement[], where: number, words: string | null | undefined): HTMLElement | undefined {
  const there = now[Math.min(where, now.length - 1)];
  return there?.textContent === words ? there : (now.find((one) => one.textContent === words) ?? there);
}

async function showBar(page: Page): Promise<void> {
  const { waiting, photos, refused, refusedPhotos } = await counts(page.db);
  const all = waiting + photos;
  const words = all === 0 ? _("All sent") : photos === 0 ? _("{waiting} waiting", { waiting }) : counted("{waiting} waiting, {n} photo", "{waiting} waiting, {n} photos", photos, { waiting });
  const pulled = page.kept ? ` · ${_("day of {time}", { time: new Date(page.kept.pulled_at).toTimeString().slice(0, 5) })}` : "";
  bar.className = all === 0 ? "sent" : "waiting";
  bar.replaceChildren(
    h("span", { role: "status", "data-waiting": String(waiting), "data-photos": String(photos), "data-refused": String(refused) }, `${all === 0 ? "✓" : "⧗"} ${words}${SIGNALS[last] && `. ${SIGNALS[last]}`}${pulled}`),
    last === "signed-out" ? h("a", { class: "big", href: `/sign-in?next=${encodeURIComponent(location.pathname)}` }, _("Sign in")) : button(_("Look for news"), "big", () => news(page)),
  );
  if (refused > 0) page.notices.set("refused", [_("{refused} of your entries could not be used and are set aside; the office sees them. They are still on this phone.", { refused })]);
  if (refusedPhotos > 0) page.notices.set("refused-photos", [counted("The service could not use {n} photo: the office does not have it.", "The service could not use {n} photos: the office does not have them.", refusedPhotos)]);
  else page.notices.delete("refused-photos"); // read meanwhile
}

function showNotices(page: Page): void {
  if (page.kept && page.kept.day.day !== today() && underWay(page) === "") page.notices.set("old-day", [_("This is the day of {day}. Today's is not on the phone yet.", { day: page.kept.day.day })]);
  else page.notices.delete("old-day");
  if (page.kept && !page.kept.day.published) page.notices.set("draft", [_("The office has not published this day yet.")]);
  else page.notices.delete("draft");
  notices.replaceChildren(
    ...[...page.notices].map(([kind, sentences]) =>
      h("div", { class: "notice", "data-kind": kind }, sentences.map((words) => h("p", {}, words)), SEEN.has(kind) && button(_("Seen"), "big", () => seen(page, kind))),
    ),
  );
}

async function seen(page: Page, kind: string): Promise<void> {
  if (kind === "refused-photos") await forgetRefused(page.db);
  page.notices.delete(kind);
  showNotices(page);
}

/** Pull the day and tell what changed. A form that is being typed in is left as it is. */
async function fresh(page: Page): Promise<void> {
  if (page.technicianId === "") return;
  const pulled = await pull(page.db, page.technicianId, underWay(page));
  page.notices.delete("pull");
  if (pulled.state === "pulled") {
    page.kept = pulled.kept;
    tellClock(page, pulled.clock);
    tellKept(page, pulled.isKept);
    if (pulled.changes.length > 0) page.notices.set("changes", [_("Changed by the office:"), ...pulled.changes]);
    const { day } = pulled.kept.day; // the service's: the phone's clock may be wrong
    await clearBefore(page.db, daysBefore(day, KEEP_DAYS), daysBefore(day, 1)).catch(() => undefined);
    follow(page);
  } else {
    last = pulled.state;
    if (pulled.words !== "") page.notices.set("pull", [pulled.words]);
  }
  await showGently(page);
}


/** Yesterday while its shift goes on; empty otherwise, which is today. */
function underWay(page: Page): string {
  const day = page.kept?.day;
  const mark = page.entries.filter(({ content }) => content.kind.startsWith("shift-")).at(-1)?.content.kind ?? "";
  return day !== undefined && day.day < today() && goesOn(day.day, day.until_s, mark, now(), day.over_s) ? day.day : "";
}

function tellKept(page: Page, isKept: boolean): void {
  if (isKept) page.notices.delete("day-not-kept");
  else page.notices.set("day-not-kept", [_("This phone is too full to keep the day: without signal it will not be here. Free some space, then look for news.")]);
}

function tellClock(page: Page, words: string): void {
  if (words === "") page.notices.delete("clock");
  else page.notices.set("clock", [words]);
}

/** Send what waits; without signal try again later, by and by less often. */
async function send(page: Page): Promise<void> {
  window.clearTimeout(retry);
  try {
    last = await sendWaiting(page.db, (words) => tellClock(page, words));
    if (last === "sent") last = await sendPhotos(page.db);
  } catch {
    last = "not-noted"; // what was answered: it is sent again, and counts once
  }
  channel?.postMessage("moved");
  await showGently(page);
  failures = last === "sent" ? 0 : failures + 1;
  if (failures > 0) void sendClosed();
  if (failures > 0) retry = window.setTimeout(() => void send(page), RETRY_MS[Math.min(failures, RETRY_MS.length) - 1]);
}

/** Have the browser send what waits once there is signal, though the page be closed by then. */
async function sendClosed(): Promise<void> {
  const registration = (await navigator.serviceWorker?.getRegistration("/phone")) as { sync?: { register(tag: string): Promise<void> } } | undefined;
  await registration?.sync?.register("phone-outbox").catch(() => undefined); // not every browser can, or may
}

async function news(page: Page): Promise<void> {
  await send(page);
  await fresh(page);
}

/** The page is looked at again: another tab may have been used meanwhile. */
async function back(page: Page): Promise<void> {
  await takeOverDrafts(page).catch(() => undefined); // a newer page may have closed the store
  await news(page);
}

/** Changes by the office while the page is open; what came since the last pull comes at once. */
function follow(page: Page): void {
  const day = page.kept?.day;
  const isOpen = stream !== null && stream.readyState !== EventSource.CLOSED;
  if (day === undefined || (isOpen && followed === day.day)) return;
  stream?.close();
  followed = day.day;
  stream = new EventSource(`/api/days/${day.day}/stream${day.version > 0 ? `?after=${day.version}` : ""}`);
  stream.addEventListener("day", (event) => {
    const { technician_id, kind } = JSON.parse((event as MessageEvent<string>).data) as { technician_id: string | null; kind: string };
    const mine = technician_id === null || technician_id === page.technicianId;
    if (mine && ["published", "repaired", "note"].includes(kind)) void fresh(page);
  });
}

function listen(page: Page): void {
  watchTouch(() => {
    if (heldBack) void showGently(page);
  });
  window.addEventListener("hashchange", () => void show(page));
  window.addEventListener("online", () => void news(page));
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") void back(page);
  });
  window.setInterval(() => {
    if (document.visibilityState === "visible") void fresh(page);
  }, PULL_MS);
  channel?.addEventListener("message", () => void showGently(page));
}

/** Say so before the phone is full. */
async function room(page: Page): Promise<void> {
  const { quota = Infinity, usage = 0 } = (await navigator.storage?.estimate?.()) ?? {};
  if (quota - usage > 20e6) return; // bytes; about 60 photos
  page.notices.set("room", [_("This phone has little room left for what you enter. Free some space.")]);
  showNotices(page);
}

async function register(page: Page): Promise<void> {
  if (!("serviceWorker" in navigator)) return;
  try {
    await navigator.serviceWorker.register("/phone-worker.js", { scope: "/phone" });
  } catch {
    page.notices.set("worker", [_("This page could not be kept on the phone: without signal it will not open again.")]);
    showNotices(page);
  }
}

void begin();
