// What all views share: the state of the page, and the deeds that change it.
import { now } from "./clock";
import { enter, uuid } from "./store";
import type { Draft, Entry, KeptDay, Store } from "./store";
import type { Content, Day, Kind } from "./types";
import { _ } from "../words";

export interface Page {
  db: Store;
  technicianId: string;
  kept: KeptDay | undefined;
  entries: Entry[];
  /** What to tell above everything else, by kind, so that a newer sentence replaces an older one. */
  notices: Map<string, string[]>;
  /** Shows everything anew. */
  show: () => Promise<void>;
  /** Begins to send, without waiting for it. */
  send: () => void;
}

/** Enter something for the day; false where the phone could not keep it, which is then told. */
export async function put(page: Page, day: Day, kind: Kind, more: Partial<Content> = {}): Promise<boolean> {
  const content: Content = {
    id: uuid(),
    technician_id: page.technicianId,
    day: day.day,
    kind,
    at: now().toISOString(),
    ...more,
  };
  try {
    await enter(page.db, content);
    page.notices.delete("not-kept");
  } catch (error) {
    const full = error instanceof DOMException && error.name === "QuotaExceededError";
    page.notices.set("not-kept", [
      full
        ? _("This was NOT kept: the phone's storage is full. Free some space, then enter it again.")
        : _("This was NOT kept: the browser could not write it ({error}). Write it down, and reload the page.", { error: String(error) }),
    ]);
    await page.show();
    return false;
  }
  page.send();
  await page.show();
  return true;
}

// One draft for each stop, whatever is drawn anew meanwhile: two would overwrite each other.
const drafts = new Map<string, Draft>();
const unkept = new Set<Draft>(); // of which the store does not have the newest

/** The draft of a stop, begun where there is none. */
export async function draftOf(page: Page, day: Day, visitId: string): Promise<Draft> {
  const begun = { visit_id: visitId, day: day.day, record_id: uuid(), values: {}, confirmed: {}, photos: [] };
  const kept = drafts.get(visitId) ?? (await page.db.get("drafts", visitId)) ?? begun;
  const draft = drafts.get(visitId) ?? kept; // another view may have come first while this one read
  drafts.set(visitId, draft);
  return draft;
}

// Photos of a stop that are still being made small: they belong to its record.
const making = new Map<string, Promise<unknown>>();
const ending = new Set<string>(); // stops whose record waits for them

/** Have the record of a stop wait for a photo. */
export function waitsFor(visitId: string, photo: Promise<unknown>): void {
  making.set(visitId, Promise.all([making.get(visitId), photo]));
}

/** Wait until all photos of a stop are in its draft; false where another press waits already. */
export async function photosMade(visitId: string): Promise<boolean> {
  if (ending.has(visitId)) return false;
  ending.add(visitId);
  await making.get(visitId);
  ending.delete(visitId);
  return true;
}

/** Take over what another tab typed meanwhile, before this one goes on and would write over it. */
export async function takeOverDrafts(page: Page): Promise<void> {
  for (const draft of drafts.values()) {
    const kept = await page.db.get("drafts", draft.visit_id);
    if (kept && !unkept.has(draft)) Object.assign(draft, kept);
  }
}

/** Keep what was typed; a phone that is full is told of when something is entered. */
export async function keepDraft(page: Page, draft: Draft): Promise<void> {
  unkept.add(draft);
  await page.db.put("drafts", draft).then(() => unkept.delete(draft), () => undefined);
}
