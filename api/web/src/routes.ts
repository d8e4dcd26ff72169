// Routes on the map: one coloured, dashed line with its own stops for each technician and day.
import L from "./leaflet";

export interface StopMark {
  key: string;
  label: string;
  words: string;
  place: L.LatLngTuple;
}

export interface RouteMark {
  technician: string;
  day: string;
  look: string; // classes that carry colour and dash
  letters: string;
  depots: L.LatLngTuple[];
  stops: StopMark[];
}

interface LegProperties {
  technician_id: string;
  day: string;
  leg: number; // 1 leads to the first stop, the last one home
}

type Legs = GeoJSON.FeatureCollection<GeoJSON.LineString | null, LegProperties>;

/** What the table says of routes and stops, as the map needs it. */
export function readRoutes(root: ParentNode): RouteMark[] {
  return [...root.querySelectorAll<HTMLElement>("[data-route]")].map((section) => ({
    technician: section.dataset["technician"] ?? "",
    day: section.dataset["day"] ?? "",
    look: section.dataset["look"] ?? "",
    letters: section.dataset["letters"] ?? "",
    depots: [place(section.dataset["start"]), place(section.dataset["end"])],
    stops: [...section.querySelectorAll<HTMLElement>("[data-stop]")].map((row) => ({
      key: row.dataset["stop"] ?? "",
      label: row.dataset["label"] ?? "",
      words: row.dataset["words"] ?? "",
      place: place(row.dataset["place"]),
    })),
  }));
}

function place(text = "0,0"): L.LatLngTuple {
  const [lat = 0, lon = 0] = text.split(",").map(Number);
  return [lat, lon];
}

/** One route's layers; `legs[0]` leads to the first stop, the last one home. */
class DrawnRoute {
  readonly group = L.layerGroup();
  readonly bounds: L.LatLngBounds;
  private readonly legs: L.Polyline[];
  private readonly markers = new Map<string, L.Marker>();

  constructor(
    readonly mark: RouteMark,
    lines: L.LatLngTuple[][],
    onPick: (key: string) => void,
  ) {
    this.bounds = L.latLngBounds([...mark.depots, ...mark.stops.map((stop) => stop.place)]);
    const casing = { pane: "casings", className: "casing", interactive: false };
    for (const line of lines) this.group.addLayer(L.polyline(line, casing));
    this.legs = lines.map((line) =>
      L.polyline(line, { pane: "routes", className: `leg ${mark.look}`, interactive: false }),
    );
    for (const leg of this.legs) this.group.addLayer(leg);
    for (const at of mark.depots) this.group.addLayer(this.depot(at));
    for (const stop of mark.stops) this.group.addLayer(this.stop(stop, onPick));
  }

  private depot(at: L.LatLngTuple): L.Marker {
    const icon = L.divIcon({
      className: `depot ${this.mark.look}`,
      html: this.mark.letters,
      iconSize: [22, 22],
    });
    return L.marker(at, { icon, keyboard: false, interactive: false, pane: "depots" });
  }

  private stop(stop: StopMark, onPick: (key: string) => void): L.Marker {
    const number = document.createElement("span");
    number.textContent = stop.label;
    const icon = L.divIcon({
      className: `pin ${this.mark.look}`,
      html: number,
      iconSize: [24, 17],
    });
    const marker = L.marker(stop.place, { icon, keyboard: false, title: stop.words, pane: "pins" });
    marker.on("click", () => onPick(stop.key));
    this.markers.set(stop.key, marker);
    return marker;
  }

  /** Raise or lower the marker of a stop and the leg that leads to it. */
  select(key: string, on: boolean): L.LatLng | undefined {
    const marker = this.markers.get(key);
    marker?.getElement()?.classList.toggle("is-selected", on);
    marker?.setZIndexOffset(on ? 1000 : 0);
    const index = this.mark.stops.findIndex((stop) => stop.key === key);
    const leg = this.legs[index];
    leg?.getElement()?.classList.toggle("is-selected", on);
    if (on) leg?.bringToFront();
    return marker?.getLatLng();
  }
}

/** All routes of a week; those that a filter lets through are on the map. */
export class RouteLayers {
  private readonly drawn: DrawnRoute[];
  private selected = "";

  constructor(
    private readonly map: L.Map,
    routes: RouteMark[],
    legs: Legs,
    onPick: (key: string) => void,
  ) {
    for (const [name, order] of Object.entries({ casings: 410, routes: 420, depots: 610, pins: 620 })) {
      map.createPane(name).classList.add(`${name}-pane`);
      map.getPane(name)!.style.zIndex = String(order);
    }
    const lines = linesByRoute(legs);
    this.drawn = routes.map(
      (mark) => new DrawnRoute(mark, lines.get(`${mark.technician} ${mark.day}`) ?? [], onPick),
    );
  }

  /** Show the routes that pass; returns what they span. */
  show(passes: (mark: RouteMark) => boolean): L.LatLngBounds {
    const bounds = L.latLngBounds([]);
    for (const route of this.drawn) {
      if (passes(route.mark)) {
        route.group.addTo(this.map);
        bounds.extend(route.bounds);
      } else {
        route.group.remove();
      }
    }
    this.select(this.selected);
    return bounds;
  }

  /** Highlight one stop and nothing else; returns its place when it is on the map. */
  select(key: string): L.LatLng | undefined {
    for (const route of this.drawn) route.select(this.selected, false);
    this.selected = key;
    return this.drawn
      .filter((route) => this.map.hasLayer(route.group))
      .map((route) => route.select(key, true))
      .find((at) => at !== undefined);
  }
}

function linesByRoute(legs: Legs): Map<string, L.LatLngTuple[][]> {
  const found = new Map<string, L.LatLngTuple[][]>();
  for (const { properties, geometry } of legs.features) {
    const key = `${properties.technician_id} ${properties.day}`;
    const lines = found.get(key) ?? [];
    lines[properties.leg - 1] = (geometry?.coordinates ?? []).map(([lon = 0, lat = 0]) => [lat, lon]);
    found.set(key, lines);
  }
  return found;
}
