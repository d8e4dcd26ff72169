// Moving a stop with the keyboard: cut (X), choose a place (arrows), drop (Enter), or let go
// (Escape). Undo and redo by their usual keys.
import type { Desk } from "./desk";
import { mark, placesIn, trucks, type Place } from "./places";
import { _ } from "./words";

export class Carrying {
  private visit = "";
  private name = "";
  private places: Place[] = [];
  private at = 0;

  constructor(
    private readonly page: HTMLElement,
    private readonly desk: Desk,
    private readonly showDay: (day: string) => void,
  ) {
    page.addEventListener("keydown", (event) => this.onKey(event), { capture: true });
    window.addEventListener("keydown", (event) => this.onUndoKey(event));
  }

  private onKey(event: KeyboardEvent): void {
    const row = (event.target as Element).closest<HTMLElement>("[data-visit]");
    if (!this.visit) {
      if (!row || (event.target as Element).matches("input, select, textarea")) return;
      if (event.key.toLowerCase() === "x" && !event.altKey) this.cut(row);
      else if (event.key === "Delete") void this.desk.takeOut(row.dataset["visit"] ?? "");
      else return;
    } else if (!this.step(event.key)) return;
    event.preventDefault();
    event.stopPropagation();
  }

  private cut(row: HTMLElement): void {
    this.visit = row.dataset["visit"] ?? "";
    this.name = row.dataset["name"] ?? "";
    row.classList.add("is-cut");
    const truck = row.closest<HTMLElement>("[data-route]") ?? trucks(this.page).find((one) => !one.hidden);
    this.go(truck, 0);
    this.tell(_("{name} is cut. Up and down choose a place, left and right another route, Enter drops it, Escape lets go.", { name: this.name }));
  }

  /** Whether the key was one of ours. */
  private step(key: string): boolean {
    if (key === "ArrowDown") this.choose(this.at + 1);
    else if (key === "ArrowUp") this.choose(this.at - 1);
    else if (key === "ArrowRight") this.nextTruck(1);
    else if (key === "ArrowLeft") this.nextTruck(-1);
    else if (key === "Enter" || key.toLowerCase() === "v") this.drop();
    else if (key === "Escape") this.letGo(_("Nothing was moved."));
    else return false;
    return true;
  }

  private nextTruck(by: number): void {
    const all = trucks(this.page);
    const place = this.places[this.at];
    const now = all.findIndex((one) => one.dataset["technician"] === place?.technician && one.dataset["day"] === place?.day);
    this.go(all[Math.min(all.length - 1, Math.max(0, now + by))], 0);
  }

  private go(truck: HTMLElement | undefined, at: number): void {
    if (!truck) return;
    const { technician = "", day = "" } = truck.dataset;
    if (truck.hidden || truck.closest<HTMLElement>("[data-day-table]")?.hidden) this.showDay(day);
    this.places = placesIn(this.page, technician, day, this.visit);
    if (this.places.length === 0) this.places = [{ technician, day, position: 0, words: _("only stop"), element: truck, side: "after" }];
    this.choose(at);
  }

  private choose(at: number): void {
    this.at = Math.min(this.places.length - 1, Math.max(0, at));
    const place = this.places[this.at];
    if (!place) return;
    mark(this.page, place);
    place.element.scrollIntoView({ block: "nearest" });
    const truck = place.element.closest<HTMLElement>("[data-route], [data-idle]");
    const who = truck?.querySelector("h3, .soft")?.parentElement?.querySelector("h3")?.textContent ?? truck?.textContent ?? "";
    this.tell(`${who.trim().replace(/\s+/g, " ")}, ${place.day}: ${place.words}`);
  }

  private drop(): void {
    const place = this.places[this.at];
    const visit = this.visit;
    this.letGo("");
    if (place) void this.desk.move(visit, place);
  }

  private letGo(words: string): void {
    this.visit = "";
    mark(this.page, null);
    this.page.querySelector(".is-cut")?.classList.remove("is-cut");
    this.tell(words);
  }

  private tell(words: string): void {
    this.desk.say(words);
  }

  private onUndoKey(event: KeyboardEvent): void {
    if (!(event.ctrlKey || event.metaKey) || (event.target as Element).matches("input, select, textarea")) return;
    const key = event.key.toLowerCase();
    const deed = key === "z" && !event.shiftKey ? "undo" : key === "y" || (key === "z" && event.shiftKey) ? "redo" : "";
    const form = this.page.querySelector<HTMLFormElement>(`[data-deed="${deed}"]`);
    if (!form || form.querySelector("button")?.disabled) return;
    event.preventDefault();
    form.requestSubmit();
  }
}
