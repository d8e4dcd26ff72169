// What a filter's pressure says: dispatch/phone/pressure.py in the phone's language.
import { fixed } from "./numbers";
import type { FilterFacts } from "./types";
import { readingWords } from "./units";

export interface PressureMeaning {
  words: string;
  due: boolean;
  caution: string;
}

export function pressureMeaning(
  facts: FilterFacts,
  kpa: number,
  rpm: number | null,
  sameSpeed: number,
  customary: boolean,
): PressureMeaning {
  const { clean_kpa: clean, clean_rpm: cleanRpm } = facts;
  const made = (words: string): PressureMeaning => ({ words, due: false, caution: "" });
  if (clean === null || (facts.variable_speed && cleanRpm === null)) {
    return made("No clean pressure is known: read it again right after the next cleaning.");
  }
  if (cleanRpm !== null && !(rpm !== null && Math.abs(rpm - cleanRpm) <= sameSpeed * cleanRpm)) {
    return made(`Only a pressure at ${fixed(cleanRpm, 0).replaceAll(",", "")} rpm can be compared: read it there, and enter the speed.`);
  }
  const told = (value: number): string => readingWords(value, "kPa", customary);
  if (kpa - clean >= facts.rise_kpa) {
    return { words: `${facts.deed} now: ${told(kpa)} against ${told(clean)} clean.`, due: true, caution: facts.caution };
  }
  return made(`${told(kpa)} against ${told(clean)} clean: nothing to do before ${told(clean + facts.rise_kpa)}.`);
}
