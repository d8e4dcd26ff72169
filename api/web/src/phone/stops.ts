// Where each stop stands: what this phone entered counts, sent or not; else what the office knows.
import type { Entry, KeptDay } from "./store";
import type { Day, Stop, StopState } from "./types";

export interface Standing {
  stop: Stop;
  state: StopState;
  /** When the present state was entered here; empty where it was not. */
  at: string;
  /** When service was started here; empty where it was not. */
  startedAt: string;
  recordId: string;
  reason: string;
  /** Entries of this stop that the office has not got yet. */
  waiting: number;
  /** What the service said to entries of this stop. */
  told: string[];
}

const STATES: Record<string, StopState> = { started: "started", done: "done", skipped: "skipped" };

/** The standing of every stop of the day, entries applied in their order. */
export function standings(day: Day, entries: Entry[]): Standing[] {
  return day.stops.map((stop) => standing(stop, entries.filter((one) => one.content.visit_id === stop.visit_id)));
}

/** Stops that were begun here and are on the day no longer: what is typed there can still be entered. */
export function begunElsewhere({ day, begun = [] }: KeptDay, after: Day, entries: Entry[]): Standing[] {
  const here = new Set(after.stops.map((stop) => stop.visit_id));
  const left = [...day.stops, ...begun].filter((stop) => !here.has(stop.visit_id));
  return standings({ ...day, stops: left }, entries).filter(({ state, startedAt }) => state === "started" && startedAt !== "");
}

/** Stops that were entered here and are on the day no longer: the office moved them meanwhile. */
export function gone(day: Day, entries: Entry[]): Entry[] {
  const here = new Set(day.stops.map((stop) => stop.visit_id));
  return entries.filter(({ content }) => content.visit_id !== undefined && !here.has(content.visit_id));
}

function standing(stop: Stop, entries: Entry[]): Standing {
  const first = { state: stop.state, at: "", startedAt: "", recordId: stop.record_id ?? "", reason: "" };
  let now = first;
  const before: (typeof first)[] = [];
  for (const { content } of entries) {
    const state = STATES[content.kind];
    if (state) {
      before.push(now);
      const startedAt = state === "started" ? content.at : now.startedAt;
      const recordId = typeof content.record?.["id"] === "string" ? content.record["id"] : now.recordId;
      now = { state, at: content.at, startedAt, recordId, reason: content.reason ?? "" };
    } else if (content.kind === "undone") {
      const last = before.pop() ?? { ...first, state: undone(now.state) };
      now = { ...last, recordId: now.recordId };
    }
  }
  const told = entries.filter(({ words }) => words !== "").map(({ words }) => words);
  return { stop, ...now, waiting: entries.filter((one) => one.state === "waiting").length, told };
}

/** What a state that the office knows falls back to. */
function undone(state: StopState): StopState {
  return state === "done" ? "started" : "planned";
}
