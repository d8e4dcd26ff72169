// What readings ask for, computed without signal: dispatch/water/advice.py in the phone's language.
// A test runs both over the same water and compares every word.
import { carbonate, dose, phStep, toReplace } from "./dose";
import type { Answer } from "./dose";
import { fixed, rounded } from "./numbers";
import type { Product, Range, Rules } from "./types";
import { _, counted } from "../words";

export type Standing = "below the least" | "a little low" | "ideal" | "a little high" | "above the most";

export interface Last {
  value: number;
  /** Day of the reading, ISO 8601. */
  on: string;
}

export type Lasts = Record<string, Last>;

export interface Finding {
  kind: string;
  standing: Standing | null;
  words: string;
  answers: Answer[];
  old: boolean;
}

export interface Pool {
  volumeL: number | null;
  customary: boolean;
}

type Help = [string, Answer[]];

const CHLORINE_PER_CYA = 1 / 20; // ppm of free chlorine for each ppm of cyanuric acid
const DAY_MS = 86_400_000;
const OLD_CYA = _("The cyanuric acid it is reckoned with was read too long ago: test it too.");
const TOO_OLD = _("Too old to dose by: test again.");

/** Findings for every last reading that has a range, in the order of the ranges. */
export function advise(last: Lasts, rules: Rules, pool: Pool, today: string): Finding[] {
  const found = rules.targets
    .filter((target) => target.kind in last)
    .map((target) => {
      const cya = last["cyanuric-acid"]?.value ?? 0;
      const used = target.kind === "free-chlorine" ? chlorineTarget(target, cya) : target;
      return finding(last, used, rules, pool, today);
    });
  const combined = combinedChlorine(last, rules, today);
  return combined ? [...found, combined] : found;
}

/** What to mind at all that the findings ask for: one product at a time where there are several. */
export function cautionsOf(findings: Finding[], rules: Rules): string[] {
  const asked = findings.flatMap(({ answers }) => answers).length;
  return asked > 1 && rules.one_at_a_time_caution ? [rules.one_at_a_time_caution] : [];
}

function finding(last: Lasts, target: Range, rules: Rules, pool: Pool, today: string): Finding {
  const { kind } = target;
  const one = last[kind] as Last;
  const standing = standingOf(target, one.value);
  if (isOld(kind, one.on, rules, today)) {
    return { kind, standing, words: TOO_OLD, answers: [], old: true };
  }
  const [words, answers] = help(last, target, standing, rules, pool, today);
  const byOldCya = isByOldCya(last, target, answers, rules, today);
  return { kind, standing, words: byOldCya ? `${words} ${OLD_CYA}` : words, answers, old: false };
}

/** Whether a range of chlorine or a step of pH hangs on cyanuric acid of too long ago. */
function isByOldCya(last: Lasts, { kind, least, ideal_low }: Range, answers: Answer[], rules: Rules, today: string): boolean {
  const cya = last["cyanuric-acid"];
  if (!cya || cya.value === 0 || !isOld("cyanuric-acid", cya.on, rules, today)) return false;
  if (kind === "ph") return answers.length > 0;
  return kind === "free-chlorine" && cya.value * CHLORINE_PER_CYA >= (ideal_low ?? least ?? 0);
}

function isOld(kind: string, on: string, rules: Rules, today: string): boolean {
  return daysSince(on, today) > (rules.oldest_days[kind] ?? rules.others_oldest_days);
}

function daysSince(on: string, today: string): number {
  return Math.round((Date.parse(today) - Date.parse(on)) / DAY_MS);
}

function standingOf({ least, ideal_low, ideal_high, most }: Range, value: number): Standing {
  if (least !== null && value < least) return "below the least";
  if (most !== null && value > most) return "above the most";
  if (ideal_low !== null && value < ideal_low) return "a little low";
  if (ideal_high !== null && value > ideal_high) return "a little high";
  return "ideal";
}

function aim({ least, ideal_low, ideal_high, most }: Range): number {
  if (ideal_low !== null && ideal_high !== null) return (ideal_low + ideal_high) / 2;
  return ideal_low ?? least ?? ideal_high ?? most ?? NaN;
}

function chlorineTarget(target: Range, cya: number): Range {
  const need = cya * CHLORINE_PER_CYA;
  if (need <= (target.ideal_low ?? target.least ?? 0)) return target;
  const lift = need - (target.ideal_low ?? need);
  const high = (target.ideal_high || need) + lift;
  return { ...target, ideal_low: Math.max(target.ideal_low ?? 0, need), ideal_high: high, most: Math.max(target.most ?? 0, high) };
}

function help(last: Lasts, target: Range, standing: Standing, rules: Rules, pool: Pool, today: string): Help {
  if (standing === "ideal") return [_("Nothing to do."), []];
  const value = (last[target.kind] as Last).value;
  if (target.kind === "ph") {
    const [low, high] = rules.unsafe_ph ?? [-Infinity, Infinity];
    const [words, answers] = phHelp(last, value, target, rules, pool, today);
    return [low <= value && value <= high ? words : `${rules.close_caution} ${words}`, answers];
  }
  if (standing === "a little high" || standing === "above the most") return highHelp(value, target, standing, rules, pool);
  const name = rules.raised_by[target.kind];
  if (name === undefined) return [_("Nothing is dosed for it."), []];
  const words = isUnsafe(target.kind, standing) ? rules.close_caution : _("Raise it at this visit or the next.");
  if (pool.volumeL === null) return [_("{words} Give the pool's volume to see a dose.", { words }), []];
  const product = rules.products[name] as Product;
  return [words, [dose(product, pool.volumeL, aim(target) - value, rules, pool.customary)]];
}

function phHelp(last: Lasts, value: number, target: Range, rules: Rules, pool: Pool, today: string): Help {
  const alkalinity = last["total-alkalinity"];
  if (pool.volumeL === null || alkalinity === undefined) {
    return [_("Give the pool's volume and its alkalinity to see an estimate."), []];
  }
  if (isOld("total-alkalinity", alkalinity.on, rules, today)) return [_("The alkalinity is too old to estimate by: test it too."), []];
  const buffers = { alkalinity: alkalinity.value, cya: last["cyanuric-acid"]?.value ?? 0, borate: last["borate"]?.value ?? 0 };
  const step = phStep(buffers, value, aim(target), pool.volumeL, rules, pool.customary);
  return typeof step === "string" ? [step, []] : [_("Half of the estimate first, circulate, test again."), [step]];
}

function highHelp(value: number, target: Range, standing: Standing, rules: Rules, pool: Pool): Help {
  const { kind, ideal_high } = target;
  if (kind === "free-chlorine") {
    const words = _("Add none; it falls by itself.");
    return [isUnsafe(kind, standing) ? `${words} ${rules.close_caution}` : words, []];
  }
  if (kind === "total-alkalinity") return [_("It falls a little with each dose of acid for pH; never by one large dose."), []];
  if (!rules.only_by_dilution.includes(kind) || ideal_high === null) return [_("Add none."), []];
  if (standing === "a little high" || pool.volumeL === null) return [_("Add none; only fresh water brings it down."), []];
  const title = (rules.limits[kind]?.title ?? kind).toLowerCase();
  return [_("Only replacing water brings it down."), [toReplace(title, value, ideal_high, pool.volumeL, rules)]];
}

function combinedChlorine(last: Lasts, rules: Rules, today: string): Finding | null {
  const free = last["free-chlorine"];
  const total = last["total-chlorine"];
  if (!free || !total || free.on !== total.on) return null;
  const kind = "total-chlorine";
  const combined = rounded(total.value - free.value, 2);
  const old = isOld(kind, total.on, rules, today);
  const of = `${fixed(combined, 1)} ppm`;
  const made = (standing: Standing | null, words: string): Finding => ({ kind, standing, words, answers: [], old });
  if (old) return made(null, TOO_OLD);
  if (combined < 0) return made(null, _("Less total than free chlorine ({of} combined): test again.", { of }));
  if (combined <= rules.combined_most_ppm) return made(null, _("Combined chlorine {of}: nothing to do.", { of }));
  return made(
    "above the most",
    _("Combined chlorine {of} is above {most} (ANSI/APSP/ICC-11, 2019, from memory): breakpoint is about {breakpoint} ppm of free chlorine (a dosage chart).", { of, most: rules.combined_most_ppm, breakpoint: rounded(10 * combined, 0) }),
  );
}

function isUnsafe(kind: string, standing: Standing): boolean {
  return kind === "free-chlorine" && (standing === "below the least" || standing === "above the most");
}

const TEMPERATURE_FACTORS: [number, number][] = [
  [32, 0], [37, 0.1], [46, 0.2], [53, 0.3], [60, 0.4], [66, 0.5], [76, 0.6], [84, 0.7], [94, 0.8], [105, 0.9], [128, 1],
]; // °F, factor: the trade's table

export interface Index {
  text: string;
  meaning: string;
  /** How old the readings are that were made before today; empty where all are of today. */
  ages: string;
}

export const INDEX_NEEDS = ["ph", "water-temperature", "calcium-hardness", "total-alkalinity"];
const INDEX_HEEDS = ["cyanuric-acid", "borate", "tds", "salt"]; // where they were read

/** The saturation index by the trade's table, as text with its meaning; null where it has none. */
export function saturation(last: Lasts, rules: Rules, today: string): Index | null {
  const [ph, celsius, calcium, alkalinity] = INDEX_NEEDS.map((kind) => last[kind]?.value);
  if (ph === undefined || celsius === undefined || calcium === undefined || alkalinity === undefined) return null;
  if (celsius < 0 || celsius > 100 || ph < 3 || ph > 11 || Math.min(calcium, alkalinity) < 1) return null;
  const carbonates = carbonate({ alkalinity, cya: last["cyanuric-acid"]?.value ?? 0, borate: last["borate"]?.value ?? 0 }, ph);
  if (carbonates < 1) return null;
  const solids = last["tds"]?.value || last["salt"]?.value || 1000; // ppm; 1,000 where neither was read
  const constant = solids <= 1000 ? 12.1 : solids <= 2000 ? 12.2 : 12.3;
  const index = ph + temperatureFactor(celsius * 1.8 + 32) + (Math.log10(calcium) - 0.4) + Math.log10(carbonates) - constant;
  const text = rounded(index, 1) === 0 ? fixed(0, 1) : fixed(index, 1, true);
  const unused = last["tds"]?.value ? "salt" : ""; // solids hold the salt
  const used = [...INDEX_NEEDS, ...INDEX_HEEDS].flatMap((kind) => (last[kind] && kind !== unused ? [{ kind, on: last[kind].on }] : []));
  const ages = used.filter(({ on }) => on !== today).map(({ kind, on }) => ageWords(kind, on, rules, today));
  const tooOld = used.some(({ kind, on }) => isOld(kind, on, rules, today));
  return {
    text,
    meaning: tooOld ? _("Not all of it was read lately enough to judge the water by: test again.") : meaningOf(index),
    ages: ages.length > 0 ? _("Read on other days: {ages}.", { ages: ages.join(", ") }) : "",
  };
}

function ageWords(kind: string, on: string, rules: Rules, today: string): string {
  const title = rules.limits[kind]?.title ?? kind;
  return counted("{title} {n} day ago", "{title} {n} days ago", daysSince(on, today), { title });
}

function temperatureFactor(fahrenheit: number): number {
  const right = TEMPERATURE_FACTORS.findIndex(([degrees]) => degrees > fahrenheit);
  if (right === -1) return 1;
  if (right === 0) return 0;
  const [lowF, low] = TEMPERATURE_FACTORS[right - 1] as [number, number];
  const [highF, high] = TEMPERATURE_FACTORS[right] as [number, number];
  return low + ((high - low) * (fahrenheit - lowF)) / (highF - lowF);
}

function meaningOf(index: number): string {
  if (index < -0.3) {
    return _("Below -0.3: the water takes calcium up and can etch plaster (Service Industry News, 2021).");
  }
  if (index > 0.5) {
    return _("Above +0.5: the water can leave scale, first in heaters and salt cells (Service Industry News, 2021).");
  }
  return _("Within -0.3 to +0.5: balanced (Service Industry News, 2021).");
}
