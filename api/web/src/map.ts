// The street map alone, as it was built.
import { addBasemap } from "./basemap";
import L from "./leaflet";
import { fallback, fit, makeMap } from "./view";

const element = document.getElementById("map");
if (element) {
  const [south = 0, west = 0, north = 0, east = 0] = (element.dataset["bounds"] ?? "").split(",").map(Number);
  const map = makeMap(element);
  fit(map, L.latLngBounds([south, west], [north, east]), 12);
  addBasemap(map, "/api/map/basemap.pmtiles", element.dataset["credit"] ?? "").catch((error: unknown) =>
    fallback(element, error),
  );
}
