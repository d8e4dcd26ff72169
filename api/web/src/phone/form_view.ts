// What is read and done at a stop; every key is kept at once, and odd values are asked once.
import { afterTap } from "../held";
import { now } from "./clock";
import { caution } from "./day_view";
import type { Answer } from "./dose";
import { button, h } from "./dom";
import { parse } from "./numbers";
import { keepDraft, photosMade, put, waitsFor } from "./page";
import type { Page } from "./page";
import { keepPhoto } from "./photos";
import { judge, lastWords, meaningOf } from "./readings";
import type { Judged } from "./readings";
import { recordOf } from "./record";
import type { Attempt, ProductLine } from "./record";
import type { Draft } from "./store";
import type { Standing } from "./stops";
import type { Day, Limits, Stop } from "./types";
import { cautionsOf } from "./water";
import { _, counted, N_ } from "../words";

const ALWAYS = ["free-chlorine", "total-chlorine", "ph", "total-alkalinity", "water-temperature"];
const WORK = [N_("Brushed"), N_("Skimmed"), N_("Vacuumed"), N_("Baskets emptied"), N_("Equipment looked at")];
const STANDINGS: Record<string, string> = {
  "below the least": N_("below the least"), "a little low": N_("a little low"), ideal: N_("ideal"), "a little high": N_("a little high"),
  "above the most": N_("above the most"),
};

const MOST_PHOTOS = 60; // of a record, as the service takes it (MOST_LINES)

const CLEAN = "filter-pressure clean"; // the field of the pressure right after a cleaning

/** A field with what was typed in it; all but one have the name of their kind. */
interface Entered extends Judged {
  name: string;
}

interface Typed {
  day: Day;
  draft: Draft;
}

interface Form extends Typed {
  page: Page;
  one: Standing;
  meaning: HTMLElement;
  fault: HTMLElement;
}

export function formView(page: Page, day: Day, one: Standing, draft: Draft): HTMLElement {
  const meaning = h("section", { class: "meaning", "aria-live": "polite" });
  const fault = h("p", { class: "alert", role: "alert", hidden: true });
  const form: Form = { page, day, one, draft, meaning, fault };
  showMeaning(form);
  const kinds = Object.keys(day.rules.limits);
  const first = kinds.filter((kind) => isFirst(kind, one.stop));
  return h(
    "section",
    { class: "phone-form" },
    h("h2", {}, _("Readings")),
    first.map((kind) => readingField(form, kind)),
    h("details", {}, h("summary", {}, _("More readings")), kinds.filter((kind) => !first.includes(kind)).map((kind) => readingField(form, kind))),
    meaning,
    h("h2", {}, _("Done")),
    WORK.map((words) => check(form, `work ${words}`, _(words))),
    one.stop.work.map(({ title }) => check(form, `work ${title}`, title)),
    one.stop.upkeep.map((upkeep) => [upkeep.caution !== "" && caution(upkeep.caution), check(form, `upkeep ${upkeep.kind}`, upkeep.title)]).flat(),
    extraCleaning(form),
    h("details", {}, h("summary", {}, _("Products added")), products(form)),
    h("details", {}, h("summary", {}, _("Seen")), day.rules.seen.map(([code, words]) => check(form, `seen ${code}`, words))),
    h("label", { for: "visit-note" }, _("Note")),
    area(form, "visit-note", "note"),
    photoField(page, draft),
    fault,
    button(_("Done"), "big primary", () => done(form)),
  );
}

function isFirst(kind: string, stop: Stop): boolean {
  if (kind === "filter-pressure") return stop.filter !== null;
  if (kind === "pump-speed") return stop.filter !== null && (stop.filter.clean_rpm !== null || stop.filter.variable_speed);
  return ALWAYS.includes(kind) || (kind === "salt" && stop.sanitizer === "salt");
}

function kindOf(name: string): string {
  return name === CLEAN ? "filter-pressure" : name;
}

function readingField(form: Form, name: string, words = ""): HTMLElement {
  const { day, draft, one } = form;
  const kind = kindOf(name);
  const limits = day.rules.limits[kind] as Limits;
  const id = idOf(name);
  const said = h("div", { class: "said", "aria-live": "polite" });
  const input = h("input", {
    id, inputmode: "decimal", autocomplete: "off", enterkeyhint: "next", value: draft.values[`reading ${name}`] ?? "",
  });
  const unit = unitField(form, name, limits, words || limits.title);
  const judged = (): void => afterTap(() => sayJudged(form, name, said));
  const keep = (): void => {
    draft.values[`reading ${name}`] = input.value;
    void keepDraft(form.page, draft);
    showMeaning(form);
  };
  input.addEventListener("input", keep);
  input.addEventListener("change", judged);
  unit.addEventListener("change", judged);
  judged();
  const last = words === "" && one.stop.last.find((known) => known.kind === kind);
  return h(
    "div",
    { class: "reading-row" },
    h("label", { for: id }, words || limits.title, last && h("small", {}, ` ${_("last {value}", { value: lastWords(day, kind, last.value) })}`)),
    input,
    unit,
    said,
  );
}

function idOf(name: string): string {
  return `r-${name.replace(" ", "-")}`;
}

function unitField(form: Form, of: string, limits: Limits, title: string): HTMLElement {
  if (limits.units.length === 1) return h("span", { class: "unit" }, limits.units[0] ?? "");
  const name = `unit ${of}`;
  const chosen = form.draft.values[name] ?? limits.units[0];
  const options = limits.units.map((unit) => h("option", { selected: unit === chosen }, unit));
  const field = h("select", { "aria-label": _("Unit of {title}", { title }) }, options);
  field.addEventListener("change", () => {
    form.draft.values[name] = field.value;
    void keepDraft(form.page, form.draft);
    showMeaning(form);
  });
  return field;
}

function judgedOf({ day, draft }: Typed, name: string): Entered | null {
  const kind = kindOf(name);
  const limits = day.rules.limits[kind] as Limits;
  const found = judge(kind, draft.values[`reading ${name}`] ?? "", draft.values[`unit ${name}`] ?? limits.units[0] ?? "", limits);
  return found && { ...found, name };
}

/** All that was typed; the pressure of the clean filter comes last, as it was read last. */
function allJudged(typed: Typed): Entered[] {
  return [...Object.keys(typed.day.rules.limits), CLEAN].flatMap((name) => judgedOf(typed, name) ?? []);
}

/** What of all that was ticked begins so, without that beginning. */
function ticked({ draft }: Typed, prefix: string): string[] {
  return Object.entries(draft.values).flatMap(([name, value]) => (value === "yes" && name.startsWith(prefix) ? [name.slice(prefix.length)] : []));
}

/** What was read and seen before a visit was given up, or why it cannot be given up like that. */
export function attempted(typed: Typed): Attempt | string {
  const judged = allJudged(typed);
  const wrong = judged.find(({ fault }) => fault !== "");
  if (wrong) return wrong.fault;
  const added = addedProducts(typed);
  if (typeof added === "string") return added;
  if (added.length + ticked(typed, "work ").length + ticked(typed, "upkeep ").length > 0) {
    return _("Work or products are entered above, so the stop is not skipped: press Done, and say in the note what was left.");
  }
  return { judged, seen: ticked(typed, "seen "), note: (typed.draft.values["note"] ?? "").trim() };
}

/** Whether an odd value was said to be right before; it is asked once. */
function isConfirmed(draft: Draft, one: Entered): boolean {
  return draft.confirmed[one.name] === `${one.value} ${one.unit}`;
}

function sayJudged(form: Form, name: string, said: HTMLElement): void {
  const one = judgedOf(form, name);
  said.replaceChildren();
  if (one?.fault) said.append(h("p", { class: "alert" }, one.fault));
  if (!one?.odd || isConfirmed(form.draft, one)) return;
  const right = button(_("It is right"), "big", () => {
    form.draft.confirmed[name] = `${one.value} ${one.unit}`;
    void keepDraft(form.page, form.draft);
    said.replaceChildren();
  });
  const wrong = button(_("Mend it"), "big", () => document.getElementById(idOf(name))?.focus());
  said.append(h("p", { class: "alert" }, _("{odd} Is it right?", { odd: one.odd })), h("div", { class: "pair" }, right, wrong));
}

function showMeaning(form: Form): void {
  const { findings, pressure, index } = meaningOf(form.day, form.one.stop, allJudged(form).filter(({ name }) => name !== CLEAN));
  const limits = form.day.rules.limits;
  form.meaning.replaceChildren(
    ...(pressure ? [h("div", { class: pressure.due ? "finding due" : "finding" }, h("h3", {}, _("Filter")), h("p", {}, pressure.words), pressure.caution !== "" && caution(pressure.caution))] : []),
    ...cautionsOf(findings, form.day.rules).map((words) => caution(words)),
    ...findings.map(({ kind, standing, words, answers }) =>
      h(
        "div",
        { class: standing !== null && standing !== "ideal" ? "finding due" : "finding" },
        h("h3", {}, `${limits[kind]?.title ?? kind}${standing ? `: ${_(STANDINGS[standing] ?? standing)}` : ""}`),
        h("p", {}, words),
        answers.map(answerView),
      ),
    ),
    ...(index ? [h("div", { class: "finding" }, h("h3", {}, _("Saturation index {text}", { text: index.text })), h("p", {}, index.meaning), index.ages !== "" && h("p", {}, index.ages))] : []),
  );
}

function answerView({ title, text, notes, cautions, half }: Answer): HTMLElement {
  return h(
    "div",
    { class: "answer" },
    cautions.slice(1).map((words) => caution(words)),
    h("p", {}, h("b", {}, `${title}: ${text}`), ` ${half ? _("at most, then circulate and test again.") : _("at most. Half of it first, circulate, test again.")}`),
    notes.map((words) => h("p", { class: "small" }, words)),
    cautions.slice(0, 1).map((words) => h("p", { class: "small" }, words)),
  );
}

function check(form: Form, name: string, words: string): HTMLElement {
  const box = h("input", { type: "checkbox", checked: form.draft.values[name] === "yes" });
  box.addEventListener("change", () => {
    form.draft.values[name] = box.checked ? "yes" : "";
    void keepDraft(form.page, form.draft);
  });
  return h("label", { class: "check-row" }, box, h("span", {}, words));
}

/**
 * Cleaning the filter where the day does not name it, because today's pressure may ask for it, and the
 * pressure that it leaves: what was read before it must not be taken for that of the clean filter.
 */
function extraCleaning(form: Form): HTMLElement[] {
  const { filter, upkeep } = form.one.stop;
  if (filter === null) return [];
  const clean = readingField(form, CLEAN, _("Filter pressure right after cleaning"));
  if (upkeep.some(({ kind }) => kind === filter.kind)) return [clean];
  return [caution(filter.caution), check(form, `upkeep ${filter.kind}`, filter.deed), clean];
}

function area(form: Form, id: string, name: string): HTMLTextAreaElement {
  const field = h("textarea", { id, rows: "2", maxlength: "2000" }, form.draft.values[name] ?? "");
  field.addEventListener("input", () => {
    form.draft.values[name] = field.value;
    void keepDraft(form.page, form.draft);
  });
  return field;
}

function products(form: Form): HTMLElement[] {
  return Object.entries(form.day.rules.products).map(([name, product]) => {
    const input = h("input", { inputmode: "decimal", autocomplete: "off", id: `p-${name}`, value: form.draft.values[`product ${name}`] ?? "" });
    const chosen = form.draft.values[`product-unit ${name}`] ?? product.units[0];
    const unit = h("select", { "aria-label": _("Unit of {title}", { title: product.title }) }, product.units.map((one) => h("option", { selected: one === chosen }, one)));
    const warning = h("div", {});
    const keep = (): void => {
      form.draft.values[`product ${name}`] = input.value;
      form.draft.values[`product-unit ${name}`] = unit.value;
      void keepDraft(form.page, form.draft);
      warning.replaceChildren(...(input.value === "" ? [] : product.cautions.map((words) => caution(words))));
    };
    input.addEventListener("focus", () => warning.replaceChildren(...product.cautions.map((words) => caution(words))));
    input.addEventListener("input", keep);
    unit.addEventListener("change", keep);
    return h("div", { class: "reading-row" }, h("label", { for: `p-${name}` }, product.title), input, unit, warning);
  });
}

function addedProducts({ day, draft }: Typed): ProductLine[] | string {
  const lines: ProductLine[] = [];
  for (const [name, product] of Object.entries(day.rules.products)) {
    const text = draft.values[`product ${name}`] ?? "";
    if (text.trim() === "") continue;
    const amount = parse(text);
    if (!(amount > 0)) return _("The amount of {title} “{text}” is no number above 0: write it without a mark between thousands.", { title: product.title, text });
    lines.push({ product: name, amount, unit: draft.values[`product-unit ${name}`] ?? product.units[0] ?? "" });
  }
  return lines;
}

function photosKept({ photos }: Draft): string {
  return counted("{n} photo kept", "{n} photos kept", photos.length);
}

export function photoField(page: Page, draft: Draft): HTMLElement {
  const said = h("span", { class: "small" }, draft.photos.length > 0 ? photosKept(draft) : "");
  const input = h("input", { type: "file", accept: "image/*", capture: "environment", class: "quiet" });
  const keep = async (file: File): Promise<void> => {
    if (draft.photos.length >= MOST_PHOTOS) {
      said.textContent = _("A visit has {most} photos at most: this one was not kept.", { most: MOST_PHOTOS });
      return;
    }
    said.textContent = _("The photo is being made ready …");
    try {
      const photo = await keepPhoto(page.db, file);
      if (!draft.photos.includes(photo.id)) draft.photos.push(photo.id);
      await keepDraft(page, draft);
      said.textContent = photosKept(draft);
      page.send();
    } catch {
      said.textContent = _("The photo was not kept: it cannot be read, or the phone is full. The rest is.");
    }
  };
  input.addEventListener("change", () => {
    const file = input.files?.[0];
    if (file) waitsFor(draft.visit_id, keep(file));
    input.value = ""; // the same picture may be chosen again
  });
  return h("label", { class: "big photo" }, `${_("Take a photo")} `, input, said);
}

async function done(form: Form): Promise<void> {
  const { page, day, one, draft, fault } = form;
  const judged = allJudged(form);
  const open = judged.find((each) => each.fault !== "" || (each.odd !== "" && !isConfirmed(draft, each)));
  const added = addedProducts(form);
  if (open || typeof added === "string") {
    fault.hidden = false;
    fault.textContent = typeof added === "string" ? added : open?.fault || _("{odd} Say above whether it is right.", { odd: open?.odd ?? "" });
    fault.scrollIntoView({ block: "center" });
    return;
  }
  const leaving = now().toISOString();
  if (!(await photosMade(draft.visit_id))) return;
  const arrivedAt = one.startedAt || one.at || leaving;
  const record = recordOf(day, one.stop, draft, {
    arrivedAt,
    leftAt: leaving < arrivedAt ? arrivedAt : leaving, // the clock may have been set back meanwhile
    judged,
    work: ticked(form, "work "),
    products: added,
    upkeep: ticked(form, "upkeep "),
    seen: ticked(form, "seen "),
    note: (draft.values["note"] ?? "").trim(),
  });
  const { stop } = one;
  if (await put(page, day, "done", { visit_id: stop.visit_id, site_id: stop.site_id, record })) location.hash = "#/";
}
