// A closed area is chosen by pressing its middle on the map; the fields beside it say the same.
import { addBasemap } from "./basemap";
import L from "./leaflet";
import { fallback, fit, makeMap } from "./view";

const DIGITS = 5; // of a degree: about a metre

function draw(element: HTMLElement, form: HTMLFormElement): void {
  const field = (name: string) => form.elements.namedItem(name) as HTMLInputElement;
  const [south = 0, west = 0, north = 0, east = 0] = (element.dataset["bounds"] ?? "").split(",").map(Number);
  const map = makeMap(element);
  const circle = L.circle([0, 0], { radius: 1, className: "closed-area", interactive: false });
  const show = (): void => {
    const [lat, lon, radius] = ["lat", "lon", "radius"].map((name) => Number(field(name).value || NaN));
    if ([lat, lon, radius].every(Number.isFinite)) circle.setLatLng([lat!, lon!]).setRadius(radius! * Number(element.dataset["unitM"] ?? "1")).addTo(map);
    else circle.remove();
  };
  map.on("click", ({ latlng }: L.LeafletMouseEvent) => {
    field("lat").value = latlng.lat.toFixed(DIGITS);
    field("lon").value = latlng.lng.toFixed(DIGITS);
    show();
  });
  form.addEventListener("input", show);
  fit(map, L.latLngBounds([south, west], [north, east]), 12);
  show();
  addBasemap(map, "/api/map/basemap.pmtiles", element.dataset["credit"] ?? "").catch((error: unknown) =>
    fallback(element, error),
  );
}

for (const element of document.querySelectorAll<HTMLElement>("[data-area]")) {
  const form = element.closest("form");
  const folded = element.closest("details");
  if (!form) continue;
  // a map that is not shown has no size, so it is drawn when the form is opened, if it is not yet
  if (!folded || folded.open) draw(element, form);
  else folded.addEventListener("toggle", () => draw(element, form), { once: true });
}
