// The browser's database. An entry leaves it only days after the service has said that it has it.
import { openDB } from "idb";
import type { DBSchema, IDBPDatabase, IDBPTransaction, StoreNames } from "idb";

import type { Content, Day, Stop } from "./types";

export type EntryState = "waiting" | "sent" | "refused";

export interface Entry {
  /** Counts up for ever, also when older entries are cleared: the key generator never goes back. */
  number: number;
  content: Content;
  state: EntryState;
  words: string;
}

export interface Photo {
  id: string;
  blob: Blob | null;
  state: EntryState;
  words: string;
}

/** What was typed at a stop: a dead battery must not cost it, and after an undo it is there again. */
export interface Draft {
  visit_id: string;
  day: string;
  record_id: string;
  values: Record<string, string>;
  confirmed: Record<string, string>;
  photos: string[];
}

export interface KeptDay {
  key: string;
  day: Day;
  pulled_at: number;
  begun?: Stop[]; // here, and taken off the day by the office since; not in a day that an older page kept
}

interface Schema extends DBSchema {
  entries: { key: number; value: Entry; indexes: { state: EntryState } };
  photos: { key: string; value: Photo; indexes: { state: EntryState } };
  drafts: { key: string; value: Draft };
  days: { key: string; value: KeptDay };
  facts: { key: string; value: string | number };
}

export type Store = IDBPDatabase<Schema>;
type Upgrade = IDBPTransaction<Schema, StoreNames<Schema>[], "versionchange">;
export type Step = (db: Store, tx: Upgrade) => void;

/** Steps from each version to the next; one that was delivered is never changed, only followed. */
export const STEPS: Step[] = [
  (db) => {
    const entries = db.createObjectStore("entries", { keyPath: "number", autoIncrement: true });
    entries.createIndex("state", "state");
    const photos = db.createObjectStore("photos", { keyPath: "id" });
    photos.createIndex("state", "state");
    db.createObjectStore("drafts", { keyPath: "visit_id" });
    db.createObjectStore("days", { keyPath: "key" });
    db.createObjectStore("facts");
  },
];

export const NAME = "phone";
// A battery that dies in the next second must find the entry on the disk, not in a cache.
const DURABLE: IDBTransactionOptions = { durability: "strict" };

/** Open the database, bringing what an older page left up to date. */
export function openStore(steps: Step[] = STEPS): Promise<Store> {
  return openDB<Schema>(NAME, steps.length, {
    upgrade(db, from, _to, tx) {
      for (const step of steps.slice(from)) step(db, tx as Upgrade);
    },
    // A newer page in another tab waits for this one: let it go on, and read anew from it.
    blocking(_current, _blocked, event) {
      (event.target as IDBDatabase).close();
    },
  });
}

/** An id that nobody else makes (RFC 9562, version 4); also where the page is not secure. */
export function uuid(): string {
  if (typeof crypto.randomUUID === "function") return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = ((bytes[6] ?? 0) & 0x0f) | 0x40;
  bytes[8] = ((bytes[8] ?? 0) & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}

/** The id of this store, made once; a store that was cleared is another one. */
export async function phoneId(db: Store): Promise<string> {
  const tx = db.transaction("facts", "readwrite", DURABLE);
  const known = await tx.store.get("phone");
  const id = typeof known === "string" ? known : uuid();
  if (id !== known) await tx.store.put(id, "phone");
  await tx.done;
  return id;
}

/** Keep an entry; it counts as entered once this has come back. */
export async function enter(db: Store, content: Content): Promise<Entry> {
  const tx = db.transaction("entries", "readwrite", DURABLE);
  const entry: Omit<Entry, "number"> = { content, state: "waiting", words: "" };
  const number = await tx.store.add(entry as Entry); // the key generator gives the number
  const kept: Entry = { ...entry, number, content: { ...content, number } };
  await tx.store.put(kept);
  await tx.done;
  return kept;
}

/** The oldest waiting entries, at most `most`, in the order in which they were entered. */
export async function waiting(db: Store, most: number): Promise<Entry[]> {
  return (await db.getAllFromIndex("entries", "state", "waiting", most)).sort(byNumber);
}

/** All entries of a day, in the order in which they were entered. */
export async function entriesOf(db: Store, technicianId: string, day: string): Promise<Entry[]> {
  const all = await db.getAll("entries");
  return all
    .filter(({ content }) => content.technician_id === technicianId && content.day === day)
    .sort(byNumber);
}

/** Note what the service answered, altogether or not at all. */
export async function settle(
  db: Store,
  answers: { number: number; state: EntryState; words: string }[],
): Promise<void> {
  const tx = db.transaction("entries", "readwrite", DURABLE);
  for (const { number, state, words } of answers) {
    const entry = await tx.store.get(number);
    if (entry) await tx.store.put({ ...entry, state, words });
  }
  await tx.done;
}

/** How many entries and photos wait, and how many were refused. */
export async function counts(db: Store): Promise<{ waiting: number; photos: number; refused: number; refusedPhotos: number }> {
  const [waiting, photos, refused, refusedPhotos] = await Promise.all([
    db.countFromIndex("entries", "state", "waiting"),
    db.countFromIndex("photos", "state", "waiting"),
    db.countFromIndex("entries", "state", "refused"),
    db.countFromIndex("photos", "state", "refused"),
  ]);
  return { waiting, photos, refused, refusedPhotos };
}

/**
 * Clear what was sent before `day`, and days with their gate codes before `dayOfCodes`; what waits
 * or was refused stays, however old it is.
 */
export async function clearBefore(db: Store, day: string, dayOfCodes: string): Promise<void> {
  const tx = db.transaction(["entries", "days", "drafts"], "readwrite");
  for (const entry of await tx.objectStore("entries").getAll()) {
    const old = entry.state === "sent" && entry.content.day < day;
    if (old) await tx.objectStore("entries").delete(entry.number);
  }
  for (const kept of await tx.objectStore("days").getAll()) {
    if (kept.day.day < dayOfCodes) await tx.objectStore("days").delete(kept.key);
  }
  for (const draft of await tx.objectStore("drafts").getAll()) {
    if (draft.day < day) await tx.objectStore("drafts").delete(draft.visit_id);
  }
  await tx.done;
}

function byNumber(one: Entry, other: Entry): number {
  return one.number - other.number;
}
