// Photos: made small on the phone, named by their bytes, and sent after the entries, so that a
// large picture never holds up a reading. The new picture has no place and device in it.
import type { Photo, Store } from "./store";
import type { Sending } from "./outbox";
import { _ } from "../words";

const LONGEST_PX = 1600; // pixels; readable gauges at about 300 kB; common practice
const QUALITY = 0.82;
const PATIENCE_MS = 120_000; // milliseconds for one photo on a poor line
const LOCK = "phone-photos";

/** Keep a photo on the phone; its id is the SHA-256 of its bytes, as the service names it. */
export async function keepPhoto(db: Store, file: Blob): Promise<Photo> {
  const blob = await shrunk(file);
  const digest = await crypto.subtle.digest("SHA-256", await blob.arrayBuffer());
  const id = [...new Uint8Array(digest)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  const known = await db.get("photos", id);
  if (known) return known;
  const photo: Photo = { id, blob, state: "waiting", words: "" };
  const tx = db.transaction("photos", "readwrite", { durability: "strict" });
  await tx.store.put(photo);
  await tx.done;
  return photo;
}

async function shrunk(file: Blob): Promise<Blob> {
  const picture = await createImageBitmap(file);
  const scale = Math.min(1, LONGEST_PX / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(picture.width * scale));
  canvas.height = Math.max(1, Math.round(picture.height * scale));
  canvas.getContext("2d")?.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  const made = await new Promise<Blob | null>((done) => canvas.toBlob(done, "image/jpeg", QUALITY));
  if (!made) throw new Error(_("The photo cannot be read."));
  return made;
}

/** No longer tell of photos that the service could not use. */
export async function forgetRefused(db: Store): Promise<void> {
  for (const photo of await db.getAllFromIndex("photos", "state", "refused")) await db.delete("photos", photo.id);
}

/** Send all photos that wait, one after the other. */
export async function sendPhotos(db: Store): Promise<Sending> {
  const send = async (): Promise<Sending> => {
    for (const id of await db.getAllKeysFromIndex("photos", "state", "waiting")) {
      const state = await sendOne(db, id);
      if (state !== "sent") return state;
    }
    return "sent";
  };
  return "locks" in navigator ? await navigator.locks.request(LOCK, send) : await send();
}

async function sendOne(db: Store, id: string): Promise<Sending> {
  const photo = await db.get("photos", id);
  if (!photo?.blob || photo.state !== "waiting") return "sent";
  const form = new FormData();
  form.append("file", photo.blob, `${id}.jpg`);
  try {
    const reply = await fetch("/api/photos", {
      method: "POST",
      body: form,
      redirect: "manual",
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
    if (reply.ok) {
      await db.put("photos", { id, blob: null, state: "sent", words: "" });
      return "sent";
    }
    if (reply.status === 413 || reply.status === 422) {
      await db.put("photos", { ...photo, state: "refused", words: _("The service cannot use this photo.") });
      return "sent";
    }
    return reply.status === 401 || reply.status === 403 || reply.type === "opaqueredirect" ? "signed-out" : "trouble";
  } catch {
    return "no-signal";
  }
}
