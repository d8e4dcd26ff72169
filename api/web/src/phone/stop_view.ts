// One stop: what is needed at the gate, the work with its cautions, and what can be entered.
import { clock, duration, now, timeOf } from "./clock";
import { caution } from "./day_view";
import { button, h } from "./dom";
import { attempted, formView, photoField } from "./form_view";
import { draftOf, photosMade, put } from "./page";
import type { Page } from "./page";
import { lastWords } from "./readings";
import { skippedRecord } from "./record";
import type { Draft } from "./store";
import { begunElsewhere, standings } from "./stops";
import type { Standing } from "./stops";
import type { Content, Day, Stop } from "./types";
import { distance } from "./units";
import { _ } from "../words";

const REASONS: [string, string][] = [
  ["gate-locked", _("Gate locked")],
  ["dog", _("Dog")],
  ["lightning", _("Lightning")],
  ["owners-wish", _("Owner's wish")],
  ["other", _("Other")],
];

export async function stopView(page: Page, day: Day, visitId: string): Promise<HTMLElement> {
  const own = standings(day, page.entries).find(({ stop }) => stop.visit_id === visitId);
  const moved = page.kept && !own ? begunElsewhere(page.kept, day, page.entries) : [];
  const one = own ?? moved.find(({ stop }) => stop.visit_id === visitId);
  if (!one) {
    return h("article", {}, back(), h("h1", {}, _("No longer on your day")), h("p", {}, _("The office has moved this stop. What you entered is kept.")));
  }
  const draft = await draftOf(page, day, visitId);
  const { stop, state } = one;
  return h(
    "article",
    { class: "phone-stop" },
    back(),
    h("h1", {}, h("span", { class: "ordinal" }, String(stop.number)), ` ${stop.name}`),
    h("p", { class: "when" }, h("b", {}, clock(day.day, stop.start_s)), `–${clock(day.day, stop.leave_s)} · ${_("drive {time}, {length}", { time: duration(stop.drive_s), length: distance(stop.drive_m, day.customary) })}`),
    !own && h("p", { class: "alert" }, _("The office has moved this stop. You had begun it: what you enter here is kept, and the office is told.")),
    one.told.map((words) => h("p", { class: "alert" }, words)),
    gate(stop),
    state === "planned" && stop.hold !== undefined && stop.hold !== "" && caution(stop.hold),
    (state === "planned" || state === "started") && stop.crew !== undefined && stop.crew !== "" && caution(stop.crew),
    state === "planned" && button(_("Start: I am at the gate"), "big primary", () => start(page, day, stop)),
    facts(day, stop),
    work(stop),
    state === "started" && formView(page, day, one, draft),
    (state === "planned" || state === "started") && skip(page, day, one, draft),
    state !== "planned" && undo(page, day, one),
  );
}

function back(): HTMLElement {
  return h("a", { class: "big back", href: "#/" }, _("‹ All stops"));
}

function gate(stop: Stop): HTMLElement {
  const place = `${stop.lat.toFixed(6)},${stop.lon.toFixed(6)}`;
  const line = (term: string, value: string, style = ""): HTMLElement | null =>
    value === "" ? null : h("div", { class: style }, h("dt", {}, term), h("dd", {}, value));
  return h(
    "div",
    {},
    h("a", { class: "big go", href: `geo:${place}` }, h("span", {}, stop.address || _("Gate at {place}", { place })), h("b", {}, _("Open in maps"))),
    h(
      "dl",
      { class: "phone-gate" },
      line(_("Gate code"), stop.gate_code, "code"),
      line(_("Gate"), stop.gate_note),
      line(_("Dog"), stop.dog_note, "dog"),
      line(_("Equipment pad"), stop.pad_note),
    ),
  );
}

function facts(day: Day, stop: Stop): HTMLElement {
  const last = stop.last.map(({ kind, value, on }) =>
    h("li", {}, h("span", {}, day.rules.limits[kind]?.title ?? kind), h("b", {}, lastWords(day, kind, value)), h("span", {}, on)),
  );
  return h(
    "details",
    { class: "card" },
    h("summary", {}, _("The pool and its last readings")),
    h("ul", { class: "facts" }, stop.facts.map((words) => h("li", {}, words))),
    last.length > 0 ? h("ul", { class: "last" }, last) : h("p", {}, _("No reading is known.")),
  );
}

function work(stop: Stop): HTMLElement | null {
  if (stop.work.length + stop.upkeep.length === 0) return null;
  return h(
    "section",
    { class: "card" },
    h("h2", {}, _("Work of today")),
    stop.work.map((one) => h("div", { class: "job" }, h("h3", {}, one.title), one.parts !== "" && h("p", {}, _("Take: {parts}", { parts: one.parts })), one.note !== "" && h("p", {}, one.note))),
    stop.upkeep.map((one) =>
      h(
        "div",
        { class: "job" },
        h("h3", {}, _("{title}, {minutes} min", { title: one.title, minutes: one.minutes })),
        one.because !== "" && h("p", {}, _("Because: {because}.", { because: one.because })),
        one.caution !== "" && caution(one.caution),
      ),
    ),
  );
}

async function start(page: Page, day: Day, stop: Stop): Promise<void> {
  await put(page, day, "started", { visit_id: stop.visit_id, site_id: stop.site_id });
}

function skip(page: Page, day: Day, one: Standing, draft: Draft): HTMLElement {
  const { stop } = one;
  const note = h("textarea", { rows: "2", id: "skip-note", maxlength: "1800" });
  const fault = h("p", { class: "alert", role: "alert", hidden: true });
  const act = async (code: string, title: string): Promise<void> => {
    const found = one.state === "started" ? attempted({ day, draft }) : { judged: [], seen: [], note: "" };
    fault.hidden = typeof found !== "string";
    if (typeof found === "string") {
      fault.textContent = found;
      return;
    }
    const at = one.startedAt || now().toISOString();
    if (!(await photosMade(draft.visit_id))) return;
    const said = note.value.trim();
    const why = said === "" ? title : `${title}: ${said}`;
    const record = skippedRecord(day, stop, draft, at, why, found);
    const more: Partial<Content> = { visit_id: stop.visit_id, site_id: stop.site_id, reason: code, note: said, record };
    if (await put(page, day, "skipped", more)) location.hash = "#/";
  };
  return h(
    "details",
    { class: "card skip" },
    h("summary", {}, _("Skip this stop")),
    h("label", { for: "skip-note" }, _("Note (may stay empty)")),
    note,
    photoField(page, draft),
    h("p", {}, _("Skip it, because:")),
    fault,
    h("div", { class: "choices" }, REASONS.map(([code, title]) => button(title, "big", () => act(code, title)))),
  );
}

function undo(page: Page, day: Day, one: Standing): HTMLElement {
  const { stop, state } = one;
  const words = { started: _("Started"), done: _("Done"), skipped: _("Skipped ({reason})", { reason: one.reason }), planned: "" }[state];
  const act = async (): Promise<void> => {
    const record_id = state === "started" ? "" : one.recordId;
    await put(page, day, "undone", { visit_id: stop.visit_id, site_id: stop.site_id, record_id });
  };
  return h(
    "section",
    { class: "card" },
    h("p", {}, `${one.at ? _("{state} at {time}", { state: words, time: timeOf(one.at) }) : words}${one.waiting > 0 ? `, ${_("waiting to be sent")}` : ""}.`),
    button(_("Undo “{state}”, it was a mistake", { state }), "big", act),
  );
}
