// The dispatcher's day is read anew as soon as anything happens on it.
import { _ } from "./words";

const live = document.querySelector<HTMLElement>("[data-live]");

async function refresh(shown: HTMLElement): Promise<void> {
  if (shown.contains(document.activeElement) && document.activeElement?.matches("input")) return; // somebody writes
  const answer = await fetch(window.location.href);
  if (!answer.ok) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const fresh = page.querySelector<HTMLElement>("[data-live]");
  if (!fresh) return;
  shown.replaceChildren(...fresh.childNodes);
  shown.dataset["version"] = fresh.dataset["version"] ?? "";
  const told = document.querySelector<HTMLElement>("[data-told]");
  if (told) told.textContent = _("The day has changed and is shown anew.");
}

if (live && !("still" in live.dataset)) {
  const events = new EventSource(`/api/days/${live.dataset["live"]}/stream?after=${live.dataset["version"]}`);
  events.addEventListener("day", () => void refresh(live));
  window.addEventListener("pagehide", () => events.close());
}
