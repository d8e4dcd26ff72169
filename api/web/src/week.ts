// The dispatcher's week: map, filter and table share one choice and one selected stop.
import { addBasemap } from "./basemap";
import { filterTables, followFilter, passes } from "./filter";
import { readRoutes, RouteLayers } from "./routes";
import { Selection } from "./selection";
import { fallback, fit, makeMap } from "./view";

const CLOSE_UP = 16; // zoom at which single houses are told apart

async function start(page: HTMLElement, element: HTMLElement, form: HTMLFormElement): Promise<void> {
  const map = makeMap(element);
  const answer = await fetch(`/api/weeks/${page.dataset["week"]}/routes.geojson`);
  if (!answer.ok) throw new Error(((await answer.json()) as { detail: string }).detail);
  let layers: RouteLayers | null = null;
  const selection = new Selection(page, (key, zoom) => {
    const at = layers?.select(key);
    if (at && zoom) map.setView(at, Math.max(map.getZoom(), CLOSE_UP));
    else if (at) map.panInside(at, { padding: [48, 48] });
  });
  layers = new RouteLayers(map, readRoutes(page), await answer.json(), (key) => selection.pick(key));
  const shown = layers;
  followFilter(form, (choice) => {
    filterTables(page, choice);
    shown.show(
      (mark) => passes(choice, mark.technician, mark.day),
      (bounds) => fit(map, bounds),
    );
    selection.keepOneTabStop();
  });
  await addBasemap(map, "/api/map/basemap.pmtiles", element.dataset["credit"] ?? "");
}

const page = document.querySelector<HTMLElement>("[data-week]");
const element = document.getElementById("map");
const form = document.querySelector<HTMLFormElement>("#filter");
if (page && element && form) {
  start(page, element, form).catch((error: unknown) => {
    fallback(element, error);
    if (form) followFilter(form, (choice) => filterTables(page, choice));
  });
}
