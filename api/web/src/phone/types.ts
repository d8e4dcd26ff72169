// What the service answers; units end the names as everywhere: metric, seconds after local midnight.

export interface Limits {
  title: string;
  unit: string;
  possible: [number, number];
  usual: [number, number];
  /** Units the value may be entered in, the one offered first at the front. */
  units: string[];
}

export interface Range {
  kind: string;
  least: number | null;
  ideal_low: number | null;
  ideal_high: number | null;
  most: number | null;
  source: string;
}

export interface Product {
  title: string;
  effect: string;
  effect_title: string;
  per_ppm: number;
  strength: number;
  strength_unit: string;
  raises: boolean;
  bag_kg: number | null;
  /** Pure substance in one litre at the usual strength, kg; null where it is no liquid. */
  pure_kg_per_l: number | null;
  besides: [string, number][];
  cautions: string[];
  units: string[];
}

export interface Rules {
  limits: Record<string, Limits>;
  targets: Range[];
  products: Record<string, Product>;
  raised_by: Record<string, string>;
  only_by_dilution: string[];
  oldest_days: Record<string, number>;
  others_oldest_days: number;
  combined_most_ppm: number;
  general_caution: string;
  close_caution: string;
  one_at_a_time_caution?: string; // missing in a day that an older page kept
  unsafe_ph?: [number, number]; // missing in a day that an older page kept
  drain_caution: string;
  same_speed: number;
  seen: [string, string][];
}

export interface FilterFacts {
  kind: string;
  deed: string;
  rise_kpa: number;
  caution: string;
  clean_kpa: number | null;
  clean_rpm: number | null;
  variable_speed: boolean;
}

export interface LastReading {
  kind: string;
  value: number;
  on: string;
}

export interface Upkeep {
  kind: string;
  title: string;
  minutes: number;
  because: string;
  caution: string;
  parts: Part[];
}

export interface Part {
  name: string;
  quantity: number;
  mass_kg: number;
}

export interface Stop {
  visit_id: string;
  site_id: string;
  number: number;
  name: string;
  address: string;
  lat: number;
  lon: number;
  gate_code: string;
  gate_note: string;
  dog_note: string;
  pad_note: string;
  record_id?: string; // of another phone's entry; not in a day kept from before it was sent
  crew?: string; // that nobody does it alone; not in a day that an older page kept
  hold?: string; // not in a day that the phone has kept from before there were any
  facts: string[];
  sanitizer: string;
  pool_volume_l: number | null;
  drive_s: number;
  drive_m: number;
  start_s: number;
  leave_s: number;
  state: StopState;
  work: { title: string; kind: string; note: string; parts: string }[];
  upkeep: Upkeep[];
  last: LastReading[];
  filter: FilterFacts | null;
}

export type StopState = "planned" | "started" | "done" | "skipped";

export interface Change {
  number: number;
  kind: string;
  at: string;
  who: string;
  why: string;
}

export interface LoadProduct {
  title: string;
  amount: string;
  packages: number;
  package: string;
  gross_kg: number;
  tub: string;
}

export interface Day {
  technician_id: string;
  name: string;
  day: string;
  now: string;
  rehearsal: boolean;
  published: boolean;
  version: number;
  why_empty: string;
  next_day: string | null; // with a published route, where this one has none
  shift_started_at?: string | null; // as the service knows it; a day kept by an older page has none
  shift_ended_at?: string | null;
  start_s: number | null;
  end_s: number | null;
  until_s: number; // when shift and route are to end; beyond 86,400 in a night shift
  over_s?: number; // when a shift that nobody ended is over; not in a day that an older page kept
  break_after: number | null;
  break_start_s: number | null;
  break_s: number;
  supply_after: number | null;
  supply_start_s: number | null;
  return_drive_s: number;
  stops: Stop[];
  parts: Part[];
  products: LoadProduct[];
  mass_kg: number;
  waste_kg: number;
  payload_kg: number;
  too_much: string[];
  load_cautions: string[];
  cautions: string[];
  changes: Change[];
  customary: boolean;
  rules: Rules;
}

export type Kind =
  | "shift-started"
  | "shift-ended"
  | "started"
  | "done"
  | "skipped"
  | "undone"
  | "alive"
  | "note";

/** What is sent; `number` is given by the store. */
export interface Content {
  id: string;
  number?: number;
  technician_id: string;
  day: string;
  kind: Kind;
  at: string;
  visit_id?: string;
  site_id?: string;
  reason?: string;
  note?: string;
  record?: Record<string, unknown>;
  record_id?: string;
}

export interface Answer {
  id: string;
  outcome: "taken" | "already" | "refused";
  words: string;
}
