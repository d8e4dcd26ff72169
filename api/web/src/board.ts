// The dispatcher's day is read anew as soon as anything happens on it, and so is what is said beside
// the buttons that publish it.
import { isHeld, watchTouch } from "./held";
import { _ } from "./words";

const live = document.querySelector<HTMLElement>("[data-live]");
const office = document.querySelector<HTMLElement>("[data-live-also]");
let asked = 0;
let heldBack = false; // news, because somebody writes or presses here

async function refresh(shown: HTMLElement): Promise<void> {
  const number = ++asked;
  const answer = await fetch(window.location.href);
  if (!answer.ok) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const fresh = page.querySelector<HTMLElement>("[data-live]");
  if (!fresh || number < asked) return; // a newer answer is on its way
  heldBack = isHeld(shown);
  if (heldBack) return;
  place(shown, fresh);
  const beside = page.querySelector<HTMLElement>("[data-live-also]");
  if (office && beside) place(office, beside);
  const told = document.querySelector<HTMLElement>("[data-told]");
  if (told) told.textContent = _("The day has changed and is shown anew.");
}

/** Put the fresh part in; the keyboard stays where it was, and so do words not sent yet and what is unfolded. */
function place(shown: HTMLElement, fresh: HTMLElement): void {
  const focused = shown.contains(document.activeElement) ? nameOf(document.activeElement as HTMLElement) : "";
  const words = new Map([...shown.querySelectorAll<HTMLInputElement>("input[type=text]")].map((one) => [nameOf(one), one.value]));
  const open = new Set([...shown.querySelectorAll<HTMLDetailsElement>("details[data-fold][open]")].map((one) => one.dataset["fold"]));
  shown.replaceChildren(...fresh.childNodes);
  shown.dataset["version"] = fresh.dataset["version"] ?? "";
  for (const one of shown.querySelectorAll<HTMLDetailsElement>("details[data-fold]")) one.open = open.has(one.dataset["fold"]);
  for (const one of shown.querySelectorAll<HTMLInputElement>("input[type=text]")) one.value ||= words.get(nameOf(one)) ?? "";
  if (focused !== "") [...shown.querySelectorAll<HTMLElement>("a, button")].find((one) => nameOf(one) === focused)?.focus({ preventScroll: true });
}

/** What an element is for, the same in every version of the page. */
function nameOf(one: HTMLElement): string {
  const form = one.closest("form")?.getAttribute("action") ?? "";
  const value = one instanceof HTMLButtonElement ? one.value : "";
  return [one.tagName, form, one.getAttribute("href") ?? "", one.getAttribute("name") ?? "", value].join(" ");
}

if (live && !("still" in live.dataset)) {
  const again = (): void => {
    if (heldBack) void refresh(live);
  };
  const events = new EventSource(`/api/days/${live.dataset["live"]}/stream?after=${live.dataset["version"]}`);
  events.addEventListener("day", () => void refresh(live));
  watchTouch(again);
  live.addEventListener("focusout", () => window.setTimeout(again));
  window.addEventListener("pagehide", () => events.close());
}
