// The record of a visit, as `POST /api/records` takes it, from what was typed.
import type { Judged } from "./readings";
import type { Draft } from "./store";
import type { Day, Stop } from "./types";

export interface ProductLine {
  product: string;
  amount: number;
  unit: string;
}

/** What is known of a visit that was given up. */
export interface Attempt {
  judged: Judged[];
  seen: string[];
  note: string;
}

export interface Done extends Attempt {
  arrivedAt: string;
  leftAt: string;
  work: string[];
  products: ProductLine[];
  upkeep: string[];
}

/** The record of a visit that was made. */
export function recordOf(day: Day, stop: Stop, draft: Draft, done: Done): Record<string, unknown> {
  return {
    ...base(day, stop, draft),
    arrived_at: done.arrivedAt,
    left_at: done.leftAt,
    ...found(done, draft),
    work: done.work,
    products: done.products,
    upkeep: done.upkeep.map((kind) => ({ kind })),
  };
}

/** The record of an attempt: nothing was done, why, and what was read and seen before. */
export function skippedRecord(day: Day, stop: Stop, draft: Draft, at: string, why: string, attempt: Attempt): Record<string, unknown> {
  return { ...base(day, stop, draft), arrived_at: at, skipped: why, ...found(attempt, draft) };
}

function found({ judged, seen, note }: Attempt, { photos }: Draft): Record<string, unknown> {
  return { readings: judged.map(({ kind, value, unit }) => ({ kind, value, unit, method: "phone" })), seen, photos, note };
}

function base(day: Day, stop: Stop, draft: Draft): Record<string, unknown> {
  return {
    id: draft.record_id,
    site_id: stop.site_id,
    technician_id: day.technician_id,
    day: day.day,
    visit_id: stop.visit_id,
  };
}
