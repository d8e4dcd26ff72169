// The dispatcher's week: map, filter and table share one choice and one selected stop; after a
// change by hand the parts of the page are fetched anew, and map and selection stay where they are.
import { addBasemap } from "./basemap";
import { Carrying } from "./carry";
import { Desk } from "./desk";
import { Dragging } from "./drag";
import { filterTables, followFilter, passes, type Choice } from "./filter";
import { MoveDialog } from "./move_dialog";
import { readRoutes, RouteLayers, type Legs } from "./routes";
import { Selection } from "./selection";
import { fallback, fit, makeMap } from "./view";
import { _ } from "./words";

const CLOSE_UP = 16; // zoom at which single houses are told apart
const PARTS = ["head", "notes", "board"];

class Week {
  private layers: RouteLayers | null = null;
  private map: ReturnType<typeof makeMap> | null = null;
  private selection: Selection;
  private choice: Choice | null = null;

  constructor(
    private readonly page: HTMLElement,
    private readonly element: HTMLElement,
    private readonly form: HTMLFormElement,
  ) {
    this.selection = this.select();
  }

  /** Draw the map; without one the tables work all the same. */
  async start(): Promise<void> {
    try {
      this.map = makeMap(this.element);
      this.layers = new RouteLayers(this.map, readRoutes(this.page), await this.legs(), (key) => this.selection.pick(key));
    } finally {
      followFilter(this.form, (choice) => this.show(choice, true));
    }
    await addBasemap(this.map, "/api/map/basemap.pmtiles", this.element.dataset["credit"] ?? "");
  }

  /** Show a day in table and map alike. */
  showDay(day: string): void {
    this.form.querySelector<HTMLInputElement>(`[name=day][value="${day}"]`)?.click();
  }

  /** Fetch the page anew and put its parts in the place of the old ones. */
  async refresh(focus: string): Promise<void> {
    const answer = await fetch(`/week/${this.page.dataset["week"]}`);
    if (!answer.ok) throw new Error(_("The week could not be read again: reload the page."));
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
    const week = fresh.querySelector<HTMLElement>("[data-week]");
    const board = this.page.querySelector<HTMLElement>("[data-part=board]");
    const [inner, outer] = [board?.scrollTop ?? 0, window.scrollY];
    for (const name of PARTS) {
      const part = week?.querySelector(`[data-part=${name}]`);
      if (part) this.page.querySelector(`[data-part=${name}]`)?.replaceWith(part);
    }
    this.page.dataset["version"] = week?.dataset["version"] ?? "";
    this.selection = this.select();
    if (this.choice) this.show(this.choice, false);
    this.page.querySelector<HTMLElement>("[data-part=board]")!.scrollTop = inner;
    window.scrollTo(0, outer);
    if (focus) this.selection.focus(focus);
    if (this.layers) {
      this.layers.replace(readRoutes(this.page), await this.legs());
      if (this.choice) this.show(this.choice, false);
      if (focus) this.layers.select(focus);
    }
  }

  private select(): Selection {
    return new Selection(this.page, (key, zoom) => {
      const at = this.layers?.select(key);
      if (at && zoom) this.map?.setView(at, Math.max(this.map.getZoom(), CLOSE_UP));
      else if (at) this.map?.panInside(at, { padding: [48, 48] });
    });
  }

  private show(choice: Choice, fits: boolean): void {
    this.choice = choice;
    filterTables(this.page, choice);
    this.layers?.show(
      (mark) => passes(choice, mark.technician, mark.day),
      (bounds) => fits && this.map && fit(this.map, bounds),
    );
    this.selection.keepOneTabStop();
  }

  private async legs(): Promise<Legs> {
    const answer = await fetch(`/api/weeks/${this.page.dataset["week"]}/routes.geojson`);
    if (!answer.ok) throw new Error(((await answer.json()) as { detail: string }).detail);
    return (await answer.json()) as Legs;
  }
}

function sendForms(page: HTMLElement, desk: Desk): void {
  page.addEventListener("submit", (event) => {
    const form = event.target as HTMLFormElement;
    const address = form.dataset["desk"];
    if (!address && !("carry" in form.dataset)) return;
    event.preventDefault();
    const fields = Object.fromEntries([...new FormData(form)].map(([name, value]) => [name, String(value)]));
    if (!address) {
      void desk.carry(fields["upkeep_id"] ?? "", fields["visit_id"] ?? "");
      return;
    }
    void desk.send(address, fields);
  });
}

const page = document.querySelector<HTMLElement>("[data-week]");
const element = document.getElementById("map");
const form = document.querySelector<HTMLFormElement>("#filter");
if (page && element && form) {
  const week = new Week(page, element, form);
  const desk = new Desk(page, (focus) => week.refresh(focus));
  if (page.querySelector("#move")) {
    sendForms(page, desk);
    new Dragging(page, desk);
    new Carrying(page, desk, (day) => week.showDay(day));
    new MoveDialog(page, desk);
  }
  week.start().catch((error: unknown) => fallback(element, error));
}
