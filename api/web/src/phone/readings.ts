// Readings as they are typed: what cannot be, what is odd and asked once, and what they mean.
import { isGrouped, parse, short } from "./numbers";
import { pressureMeaning } from "./pressure";
import type { PressureMeaning } from "./pressure";
import type { Day, Limits, Stop } from "./types";
import { kept, readingWords, shown } from "./units";
import { advise, INDEX_NEEDS, saturation } from "./water";
import type { Finding, Index, Lasts } from "./water";
import { _ } from "../words";

export interface Judged {
  kind: string;
  /** As typed, with the unit it was typed in. */
  value: number;
  unit: string;
  /** In the unit the kind is kept in. */
  kept: number;
  /** Why it cannot be; empty where it can. */
  fault: string;
  /** Why it is odd; empty where it is not. */
  odd: string;
}

export interface Meaning {
  findings: Finding[];
  pressure: PressureMeaning | null;
  index: Index | null;
}

/** The value that was typed, judged; null where the field is empty. */
export function judge(kind: string, text: string, unit: string, limits: Limits): Judged | null {
  if (text.trim() === "") return null;
  const value = parse(text);
  const made = { kind, value, unit, kept: NaN, fault: "", odd: "" };
  if (isGrouped(text)) return { ...made, fault: _("“{text}” can be read in two ways: write it as {digits}, without a mark between thousands.", { text: text.trim(), digits: text.replace(/\D/g, "") }) };
  if (Number.isNaN(value)) return { ...made, fault: _("“{text}” is no number: write it as {example}.", { text: text.trim(), example: 7.4 }) };
  const inKept = kept(value, unit);
  const [least, most] = limits.possible;
  const [low, high] = limits.usual;
  const end = (one: number): string => short(shown(one, unit));
  const span = (from: number, to: number): string => _("{from} to {to} {unit}", { from: end(from), to: end(to), unit }).trim();
  if (inKept < least || inKept > most) {
    return { ...made, kept: inKept, fault: _("{title} of {value} {unit} is not possible: {span}.", { title: limits.title, value: short(value), unit, span: span(least, most) }) };
  }
  const odd = inKept < low || inKept > high ? _("{value} {unit} is outside the usual {span}.", { value: short(value), unit, span: span(low, high) }) : "";
  return { ...made, kept: inKept, odd: odd.replace("  ", " ") };
}

/** What the readings of now mean beside the last ones; only what was read now is judged. */
export function meaningOf(day: Day, stop: Stop, judged: Judged[]): Meaning {
  const fit = judged.filter((one) => one.fault === "");
  const last: Lasts = {};
  for (const { kind, value, on } of stop.last) last[kind] = { value, on };
  for (const one of fit) last[one.kind] = { value: one.kept, on: day.day };
  const read = new Set(fit.map((one) => one.kind));
  const pool = { volumeL: stop.pool_volume_l, customary: day.customary };
  const findings = advise(last, day.rules, pool, day.day).filter((one) => read.has(one.kind));
  const value = (kind: string): number | null => fit.find((one) => one.kind === kind)?.kept ?? null;
  const kpa = value("filter-pressure");
  const pressure =
    kpa === null || stop.filter === null
      ? null
      : pressureMeaning(stop.filter, kpa, value("pump-speed"), day.rules.same_speed, day.customary);
  const index = INDEX_NEEDS.some((kind) => read.has(kind))
    ? saturation(last, day.rules, day.day)
    : null;
  return { findings, pressure, index };
}

/** A last reading as it is shown beside its field. */
export function lastWords(day: Day, kind: string, value: number): string {
  return readingWords(value, day.rules.limits[kind]?.unit ?? "", day.customary);
}
