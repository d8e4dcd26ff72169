// What a filter's pressure says: dispatch/phone/pressure.py in the phone's language.
import { rounded } from "./numbers";
import type { FilterFacts } from "./types";
import { readingWords } from "./units";
import { _ } from "../words";

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
  if (facts.variable_speed && cleanRpm === null) {
    return made(_("No clean pressure with its pump speed is known: read both right after the next cleaning."));
  }
  if (clean === null) {
    return made(_("No clean pressure is known: read it again right after the next cleaning."));
  }
  if (cleanRpm !== null && !(rpm !== null && Math.abs(rpm - cleanRpm) <= sameSpeed * cleanRpm)) {
    return made(_("Only a pressure at {cleanRpm} rpm can be compared: read it there, and enter the speed.", { cleanRpm: rounded(cleanRpm, 0) }));
  }
  const told = (value: number): string => readingWords(value, "kPa", customary);
  if (kpa - clean >= facts.rise_kpa) {
    return { words: _("{deed} now: {kpa} against {clean} clean.", { deed: facts.deed, kpa: told(kpa), clean: told(clean) }), due: true, caution: facts.caution };
  }
  return made(_("{kpa} against {clean} clean: nothing to do before {again}.", { kpa: told(kpa), clean: told(clean), again: told(clean + facts.rise_kpa) }));
}
