// The day: what to load, the stops in their order, the next one first in sight.
import { clock, duration, longDay, timeOf } from "./clock";
import { button, h } from "./dom";
import { put } from "./page";
import type { Page } from "./page";
import { begunElsewhere, gone, standings } from "./stops";
import type { Standing } from "./stops";
import type { Day } from "./types";
import { mass } from "./units";
import { _ } from "../words";

const WORDS = { planned: _("to do"), started: _("under way"), done: _("done"), skipped: _("skipped") } as const;
const MARKS = { planned: "○", started: "▶", done: "✓", skipped: "✕" } as const;

export function dayView(page: Page, day: Day): HTMLElement {
  const all = standings(day, page.entries);
  const next = all.find(({ state }) => state === "started") ?? all.find(({ state }) => state === "planned");
  return h(
    "article",
    { class: "phone-day" },
    h("p", { class: "over" }, day.name),
    h("h1", {}, longDay(day.day)),
    day.stops.length === 0 && h("p", { class: "lead" }, day.why_empty || _("There is no stop on this day.")),
    day.stops.length === 0 && !!day.next_day && nextDay(day, day.next_day),
    day.stops.length > 0 && figures(day, all),
    shift(page, day),
    load(day),
    h("ol", { class: "stops" }, all.flatMap((one, n) => [...pauses(day, n), row(day, one, one === next)]), pauses(day, all.length)),
    moved(page, day),
    note(page, day),
    h("section", { class: "cautions" }, h("h2", {}, _("Usual cautions")), day.cautions.map((words) => h("p", {}, words))),
  );
}

/** Where to look on a day off; the phone itself keeps the day at hand only. */
function nextDay(day: Day, next: string): HTMLElement {
  const href = `/day/${encodeURIComponent(day.technician_id)}/${next}`;
  return h("p", {}, h("a", { href }, _("See {day}, the next day published for you", { day: longDay(next) })));
}

function figures(day: Day, all: Standing[]): HTMLElement {
  const left = all.filter(({ state }) => state === "planned" || state === "started").length;
  const figure = (term: string, value: string): HTMLElement => h("div", {}, h("dt", {}, term), h("dd", {}, value));
  return h(
    "dl",
    { class: "phone-figures" },
    figure(_("leave"), day.start_s === null ? "–" : clock(day.day, day.start_s)),
    figure(_("back"), day.end_s === null ? "–" : clock(day.day, day.end_s)),
    figure(_("left to do"), _("{left} of {all}", { left, all: all.length })),
  );
}

/** Beginning and end of the shift: the office watches over whoever works alone. */
function shift(page: Page, day: Day): HTMLElement | null {
  if (day.stops.length === 0) return null;
  const last = page.entries.filter(({ content }) => content.kind.startsWith("shift-")).at(-1)?.content;
  const ended = last ? last.kind === "shift-ended" && last.at : day.shift_ended_at;
  const started = last?.at ?? day.shift_started_at; // on another phone, where this one entered nothing
  if (ended) return h("p", { class: "line" }, _("Day ended at {time}.", { time: timeOf(ended) }));
  if (!started) return button(_("Start the day"), "big primary", () => put(page, day, "shift-started"));
  return h(
    "div",
    { class: "pair" },
    h("p", { class: "line" }, _("Started at {time}.", { time: timeOf(started) })),
    button(_("End the day"), "big", () => put(page, day, "shift-ended")),
  );
}

function load(day: Day): HTMLElement | null {
  if (day.parts.length + day.products.length === 0) return null;
  const key = `load ${day.technician_id} ${day.day}`;
  const checked = new Set(JSON.parse(localStorage.getItem(key) ?? "[]") as string[]);
  const item = (id: string, words: string, kg: number): HTMLElement => {
    const box = h("input", { type: "checkbox", checked: checked.has(id) });
    box.addEventListener("change", () => {
      if (box.checked) checked.add(id);
      else checked.delete(id);
      localStorage.setItem(key, JSON.stringify([...checked]));
    });
    return h("li", {}, h("label", {}, box, h("span", {}, words), h("b", {}, mass(kg, day.customary))));
  };
  const total = _("{mass} of {payload}", { mass: mass(day.mass_kg, day.customary), payload: mass(day.payload_kg, day.customary) });
  return h(
    "details",
    { class: "phone-load" },
    h("summary", {}, _("Load this morning"), h("small", {}, total)),
    day.too_much.map((words) => h("p", { class: "alert", role: "alert" }, words)),
    h(
      "ul",
      {},
      day.parts.map((part) => item(`part ${part.name}`, `${part.quantity} × ${part.name}`, part.mass_kg)),
      day.products.map((one) =>
        item(`product ${one.title}`, _("{packages} × {package} of {title} ({amount}), {tub}", { packages: one.packages, package: one.package, title: one.title, amount: one.amount, tub: one.tub }), one.gross_kg),
      ),
    ),
    day.waste_kg > 0 && h("p", {}, _("{mass} comes back.", { mass: mass(day.waste_kg, day.customary) })),
    day.load_cautions.map((words) => caution(words)),
  );
}

export function caution(words: string): HTMLElement {
  return h("p", { class: "caution" }, h("b", {}, `${_("Caution.")} `), words);
}

function row(day: Day, one: Standing, isNext: boolean): HTMLElement {
  const { stop, state } = one;
  return h(
    "li",
    { class: `stop-row ${state}${isNext ? " next" : ""}` },
    h(
      "a",
      { href: `#/stop/${encodeURIComponent(stop.visit_id)}` },
      h("span", { class: "ordinal" }, String(stop.number)),
      h(
        "span",
        { class: "what" },
        h("b", {}, stop.name),
        h("span", {}, `${clock(day.day, stop.start_s)} · ${_("drive {time}", { time: duration(stop.drive_s) })}`),
        stop.upkeep.length + stop.work.length > 0 &&
          h("span", { class: "extra" }, [...stop.work, ...stop.upkeep].map(({ title }) => title).join(", ")),
      ),
      h(
        "span",
        { class: "state" },
        h("span", { class: "mark", "aria-hidden": "true" }, MARKS[state]),
        ` ${isNext && state === "planned" ? _("next") : WORDS[state]}`,
        one.waiting > 0 && h("span", { class: "waiting" }, _("waiting")),
      ),
    ),
  );
}

/** Meal and supply stop between so many stops and the next one, in the order in which they are made. */
function pauses(day: Day, before: number): HTMLElement[] {
  const made: [number, string][] = [];
  if (day.break_after === before && day.break_start_s !== null) {
    made.push([day.break_start_s, _("{time} break, {duration}", { time: clock(day.day, day.break_start_s), duration: duration(day.break_s) })]);
  }
  if (day.supply_after === before && day.supply_start_s !== null) {
    made.push([day.supply_start_s, _("{time} supply stop: take on chemicals again", { time: clock(day.day, day.supply_start_s) })]);
  }
  return made.sort(([a], [b]) => a - b).map(([, words]) => h("li", { class: "pause" }, words));
}

/** What was entered at stops that the office has taken off the day. */
function moved(page: Page, day: Day): HTMLElement | null {
  const entries = gone(day, page.entries);
  if (entries.length === 0) return null;
  const begun = page.kept ? begunElsewhere(page.kept, day, page.entries) : [];
  return h(
    "section",
    { class: "card" },
    h("h2", {}, _("Entered here, moved by the office")),
    h("p", {}, _("What you entered is kept. The office knows.")),
    begun.map(({ stop }) => h("a", { class: "big", href: `#/stop/${encodeURIComponent(stop.visit_id)}` }, _("Finish {name}, which you had begun", { name: stop.name }))),
    h("ul", {}, entries.map(({ content, words }) => h("li", {}, `${timeOf(content.at)} ${_(content.kind.replaceAll("-", " "))}${words && `: ${words}`}`))),
  );
}

function note(page: Page, day: Day): HTMLElement {
  const text = h("textarea", { rows: "2", id: "office-note", maxlength: "2000" });
  const send = async (): Promise<void> => {
    const words = text.value.trim();
    if (words === "" || !(await put(page, day, "note", { note: words }))) return;
    for (const one of document.querySelectorAll<HTMLTextAreaElement>("#office-note")) one.value = ""; // drawn anew meanwhile
  };
  return h(
    "details",
    { class: "card" },
    h("summary", {}, _("Tell the office")),
    h("label", { for: "office-note" }, _("Note")),
    text,
    button(_("Send the note"), "big", send),
    button(_("I am all right"), "big", () => put(page, day, "alive")),
  );
}
