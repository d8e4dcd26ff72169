// The day as the office has it, pulled while there is signal and kept for when there is none.
import { rehearse } from "./clock";
import { begunElsewhere } from "./stops";
import { entriesOf } from "./store";
import type { KeptDay, Store } from "./store";
import type { Change, Day } from "./types";
import { _ } from "../words";

const PATIENCE_MS = 15_000; // milliseconds

export type Pulled =
  | { state: "pulled"; kept: KeptDay; changes: string[]; clock: string; isKept: boolean }
  | { state: "no-signal" | "signed-out" | "trouble"; words: string };

/** Pull a technician's day (empty: today's); what changed since the last pull is said in words. */
export async function pull(db: Store, technicianId: string, day = ""): Promise<Pulled> {
  const path = `/api/phone/days/${encodeURIComponent(technicianId)}${day && `/${day}`}`;
  let reply: Response;
  const asked = Date.now();
  try {
    reply = await fetch(path, { cache: "no-store", redirect: "manual", signal: AbortSignal.timeout(PATIENCE_MS) });
  } catch {
    return { state: "no-signal", words: "" };
  }
  if (reply.status === 401 || reply.status === 403 || reply.type === "opaqueredirect") {
    return { state: "signed-out", words: "" };
  }
  if (!reply.ok) {
    const told = (await reply.json().catch(() => ({}))) as { detail?: string };
    return { state: "trouble", words: told.detail ?? "" };
  }
  const found = (await reply.json()) as Day;
  if (found.rehearsal) rehearse(found.day);
  const key = keyOf(technicianId, found.day);
  const before = await db.get("days", key);
  const entries = before ? await entriesOf(db, technicianId, found.day) : [];
  const begun = before ? begunElsewhere(before, found, entries).map(({ stop }) => stop) : [];
  const kept = { key, day: found, pulled_at: asked, begun };
  const isKept = await db.put("days", kept).then(() => true, () => false); // the phone may be full
  return { state: "pulled", kept, isKept, changes: before ? changesOf(before.day, found) : [], clock: clockWords(found, asked) };
}

export function keyOf(technicianId: string, day: string): string {
  return `${technicianId} ${day}`;
}

/** The newest day of a technician on this phone. */
export async function newest(db: Store, technicianId: string): Promise<KeptDay | undefined> {
  const all = await db.getAll("days");
  const own = all.filter(({ day }) => day.technician_id === technicianId);
  return own.sort((one, other) => one.day.day.localeCompare(other.day.day)).at(-1);
}

/** What is different and why, one sentence for each stop and each reason. */
export function changesOf(before: Day, after: Day): string[] {
  const old = new Map(before.stops.map((stop) => [stop.visit_id, stop]));
  const kept = new Set(after.stops.map((stop) => stop.visit_id));
  const found: string[] = [];
  for (const stop of before.stops) {
    if (!kept.has(stop.visit_id)) found.push(_("{name} is no longer on your day.", { name: stop.name }));
  }
  for (const stop of after.stops) {
    const was = old.get(stop.visit_id);
    if (!was) found.push(_("New: {name}, stop {number}.", { name: stop.name, number: stop.number }));
    else if (was.number !== stop.number) found.push(_("{name} is now stop {number}, it was {before}.", { name: stop.name, number: stop.number, before: was.number }));
    else if (Math.abs(was.start_s - stop.start_s) >= 600) found.push(_("{name} has a new time.", { name: stop.name }));
  }
  const reasons = after.changes.filter((one) => one.number > before.version && one.why !== "").map(reason);
  return found.length > 0 ? [...found, ...new Set(reasons)] : [...new Set(reasons)];
}

function reason({ who, why }: Change): string {
  return `${who}: ${why}`;
}

/** A sentence where the phone's clock is off by more than five minutes. */
function clockWords(day: Day, asked: number): string {
  if (day.rehearsal) return "";
  const off = Math.round((asked - Date.parse(day.now)) / 60_000);
  if (Math.abs(off) <= 5) return "";
  return off > 0
    ? _("The clock of this phone is {minutes} minutes ahead: set it to automatic time.", { minutes: off })
    : _("The clock of this phone is {minutes} minutes behind: set it to automatic time.", { minutes: -off });
}
