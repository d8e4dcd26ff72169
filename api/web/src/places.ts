// The places of a week at which a visit can be dropped, read from its tables.
import type { Where } from "./desk";
import { _ } from "./words";

export interface Place extends Where {
  position: number;
  words: string;
  element: HTMLElement; // where the mark is drawn
  side: "before" | "after";
}

/** Every place for a visit in the routes of a technician and day, in order; its own rows left out. */
export function placesIn(page: ParentNode, technician: string, day: string, visit: string): Place[] {
  const of = `[data-technician="${CSS.escape(technician)}"][data-day="${day}"]`;
  const idle = page.querySelector<HTMLElement>(`[data-idle]${of}`);
  if (idle) return [{ technician, day, position: 0, words: _("first stop"), element: idle, side: "after" }];
  const rows = [...page.querySelectorAll<HTMLElement>(`[data-route]${of} [data-stop]`)].filter(
    (row) => row.dataset["stop"] !== visit,
  );
  const names = rows.map((row) => row.dataset["name"] ?? "");
  const places = rows.map<Place>((element, n) => ({
    technician, day, position: n, words: _("before {name}, stop {number}", { name: names[n] ?? "", number: n + 1 }), element, side: "before",
  }));
  const last = rows[rows.length - 1];
  if (last) {
    const words = _("last, after {name}", { name: names[names.length - 1] ?? "" });
    places.push({ technician, day, position: rows.length, words, element: last, side: "after" });
  }
  return places;
}

/** The routes and idle days that stand in the tables, in their order. */
export function trucks(page: ParentNode): HTMLElement[] {
  return [...page.querySelectorAll<HTMLElement>("[data-route], [data-idle]")];
}

/** Draw the mark of a place, and no other. */
export function mark(page: ParentNode, place: Place | null): void {
  for (const one of page.querySelectorAll(".drop-before, .drop-after")) one.classList.remove("drop-before", "drop-after");
  place?.element.classList.add(`drop-${place.side}`);
}

/** The place under a point of the window, if any. */
export function placeAt(page: HTMLElement, x: number, y: number, visit: string): Place | null {
  const under = document.elementFromPoint(x, y);
  const truck = under?.closest<HTMLElement>("[data-route], [data-idle]");
  if (!truck || !page.contains(truck)) return null;
  const places = placesIn(page, truck.dataset["technician"] ?? "", truck.dataset["day"] ?? "", visit);
  const row = under?.closest<HTMLElement>("[data-stop]");
  if (!row) return places[places.length - 1] ?? null;
  const box = row.getBoundingClientRect();
  const rows = [...truck.querySelectorAll<HTMLElement>("[data-stop]")].filter((one) => one.dataset["stop"] !== visit);
  const at = rows.indexOf(row);
  if (at < 0) return null; // over itself
  return places[y < box.top + box.height / 2 ? at : at + 1] ?? null;
}
