// Sending what waits: oldest first, in small batches, by one tab at a time, until all is answered.
// Nothing here decides that an entry is done with but the service's answer to it.
import { phoneId, settle, waiting } from "./store";
import type { Entry, EntryState, Store } from "./store";
import type { Answer } from "./types";
import { _ } from "../words";

export type Sending = "sent" | "no-signal" | "signed-out" | "trouble";

export const BATCH = 20; // entries; a technician's day has about 40
const PATIENCE_MS = 20_000; // milliseconds until a call without an answer is given up
const LOCK = "phone-outbox";
const UNREADABLE = new Set([400, 413, 415, 422]);

interface Reply {
  received_at: string;
  clock: string;
  entries: Answer[];
}

/** Send all that waits; `heard` is told the service's word on the phone's clock. */
export async function sendWaiting(db: Store, heard: (clock: string) => void = () => {}): Promise<Sending> {
  const send = (): Promise<Sending> => sendAll(db, heard);
  // Without locks (an old browser) two tabs may send the same; the service counts it once.
  return "locks" in navigator ? await navigator.locks.request(LOCK, send) : await send();
}

async function sendAll(db: Store, heard: (clock: string) => void): Promise<Sending> {
  const phone = await phoneId(db);
  let most = BATCH;
  for (;;) {
    const batch = await waiting(db, most);
    if (batch.length === 0) return "sent";
    const answer = await post(phone, batch);
    if (typeof answer === "string") return answer;
    if ("unreadable" in answer) {
      if (batch.length > 1) {
        most = 1; // find the one that cannot be read, so that the others pass
        continue;
      }
      const only = batch[0] as Entry;
      await settle(db, [{ number: only.number, state: "refused", words: answer.unreadable }]);
    } else {
      heard(answer.clock);
      if (!(await note(db, batch, answer.entries))) return "trouble";
    }
  }
}

/** Write the answers down; false where there was none for any of the batch. */
async function note(db: Store, batch: Entry[], answers: Answer[]): Promise<boolean> {
  const byId = new Map(answers.map((one) => [one.id, one]));
  const settled = batch.flatMap((entry) => {
    const answer = byId.get(entry.content.id);
    if (!answer) return [];
    const state: EntryState = answer.outcome === "refused" ? "refused" : "sent";
    return [{ number: entry.number, state, words: answer.words }];
  });
  await settle(db, settled);
  return settled.length > 0;
}

async function post(
  phone: string,
  batch: Entry[],
): Promise<Reply | { unreadable: string } | Exclude<Sending, "sent">> {
  const body = JSON.stringify({
    phone,
    sent_at: new Date().toISOString(),
    entries: batch.map((entry) => entry.content),
  });
  try {
    const reply = await fetch("/api/phone/entries", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body,
      redirect: "manual",
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
    if (reply.status === 401 || reply.status === 403 || reply.type === "opaqueredirect") return "signed-out";
    if (UNREADABLE.has(reply.status)) return { unreadable: await sentence(reply) };
    return reply.ok ? ((await reply.json()) as Reply) : "trouble";
  } catch {
    return "no-signal"; // or an answer that was lost on the way: sent again, it counts once
  }
}

async function sentence(reply: Response): Promise<string> {
  try {
    return ((await reply.json()) as { detail?: string }).detail ?? _("The service answered {status}.", { status: reply.status });
  } catch {
    return _("The service answered {status}.", { status: reply.status });
  }
}
