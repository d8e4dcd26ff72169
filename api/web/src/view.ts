// A map on a page: its controls, how it fits what it shows, what it says when it cannot be drawn.
import L from "./leaflet";

export function makeMap(element: HTMLElement): L.Map {
  const map = L.map(element, { zoomControl: false, minZoom: 9, maxZoom: 19 });
  const customary = element.dataset["customary"] === "yes";
  map.attributionControl.setPrefix(false);
  L.control.zoom({ position: "topright" }).addTo(map);
  L.control.scale({ imperial: customary, metric: !customary }).addTo(map);
  return map;
}

/** Fill the map with the bounds; only this may leave whole zooms, where names are sharpest. */
export function fit(map: L.Map, bounds: L.LatLngBounds, padding = 28): void {
  map.options.zoomSnap = 0.25;
  map.fitBounds(bounds, { padding: [padding, padding], animate: false });
  map.options.zoomSnap = 1;
}

/** Words in the place of a map that cannot be drawn. */
export function fallback(element: HTMLElement, error: unknown): void {
  const words = document.createElement("p");
  words.className = "map-fault";
  words.textContent = error instanceof Error ? error.message : String(error);
  element.append(words);
}
