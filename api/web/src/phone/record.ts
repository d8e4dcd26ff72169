// The record of a visit, as `POST /api/records` takes it, from what was typed.
import type { Judged } from "./readings";
import type { Draft } from "./store";
import type { Day, Stop } from "./types";

export interface ProductLine {
  product: string;
  amount: number;
  unit: string;
}

export interface Done {
  arrivedAt: string;
  leftAt: string;
  judged: Judged[];
  work: string[];
  products: ProductLine[];
  upkeep: string[];
  seen: string[];
  note: string;
}

/** The record of a visit that was made. */
export function recordOf(day: Day, stop: Stop, draft: Draft, done: Done): Record<string, unknown> {
  return {
    ...base(day, stop, draft),
    arrived_at: done.arrivedAt,
    left_at: done.leftAt,
    readings: done.judged.map(({ kind, value, unit }) => ({ kind, value, unit, method: "phone" })),
    work: done.work,
    products: done.products,
    upkeep: done.upkeep.map((kind) => ({ kind })),
    seen: done.seen,
    photos: draft.photos,
    note: done.note,
  };
}

/** The record of an attempt: nothing was done, and why. */
export function skippedRecord(day: Day, stop: Stop, draft: Draft, at: string, why: string): Record<string, unknown> {
  return { ...base(day, stop, draft), arrived_at: at, skipped: why, photos: draft.photos };
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
