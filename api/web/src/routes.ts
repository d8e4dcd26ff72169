// Routes on the map: one coloured, dashed line with its own stops for each technician and day.
import L from "./leaflet";
import { PinLayer, type Pin } from "./pins";

export interface StopMark {
  key: string;
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

export type Legs = GeoJSON.FeatureCollection<GeoJSON.LineString | null, LegProperties>;

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
      words: row.dataset["words"] ?? "",
      place: place(row.dataset["place"]),
    })),
  }));
}

function place(text = "0,0"): L.LatLngTuple {
  const [lat = 0, lon = 0] = text.split(",").map(Number);
  return [lat, lon];
}

/** One route's lines; `legs[0]` leads to the first stop, the last one home. */
class DrawnRoute {
  readonly group = L.layerGroup();
  readonly bounds: L.LatLngBounds;
  readonly pins: Pin[];
  private readonly legs: L.Polyline[];

  constructor(
    readonly mark: RouteMark,
    lines: L.LatLngTuple[][],
  ) {
    const { technician, day, look, letters } = mark;
    this.bounds = L.latLngBounds([...mark.depots, ...mark.stops.map((stop) => stop.place)]);
    this.pins = mark.stops.map(({ key, words, place }, n) => ({
      key, words, place, look, letters, number: n + 1, route: `${technician} ${day}`,
    }));
    const casing = { pane: "casings", className: "casing", interactive: false };
    for (const line of lines) this.group.addLayer(L.polyline(line, casing));
    this.legs = lines.map((line) =>
      L.polyline(line, { pane: "routes", className: `leg ${look}`, interactive: false }),
    );
    for (const leg of this.legs) this.group.addLayer(leg);
    for (const at of mark.depots) this.group.addLayer(this.depot(at));
  }

  private depot(at: L.LatLngTuple): L.Marker {
    const icon = L.divIcon({
      className: `depot ${this.mark.look}`,
      html: this.mark.letters,
      iconSize: [22, 22],
    });
    return L.marker(at, { icon, keyboard: false, interactive: false, pane: "depots" });
  }

  /** Raise or lower the leg that leads to a stop. */
  select(key: string, on: boolean): void {
    const index = this.mark.stops.findIndex((stop) => stop.key === key);
    const leg = this.legs[index];
    leg?.getElement()?.classList.toggle("is-selected", on);
    if (on) leg?.bringToFront();
  }
}

/** All routes of a week; those that a filter lets through are on the map. */
export class RouteLayers {
  private drawn: DrawnRoute[];
  private readonly pins: PinLayer;
  private shown: DrawnRoute[] = [];
  private selected = "";

  constructor(
    private readonly map: L.Map,
    routes: RouteMark[],
    legs: Legs,
    onPick: (key: string) => void,
  ) {
    for (const [name, order] of Object.entries({ casings: 410, routes: 420, depots: 610, ties: 615, pins: 620 })) {
      map.createPane(name).classList.add(`${name}-pane`);
      map.getPane(name)!.style.zIndex = String(order);
    }
    this.pins = new PinLayer(map, onPick);
    this.drawn = draw(routes, legs);
  }

  /** Take the routes off the map and hold others in their place; `show` draws them. */
  replace(routes: RouteMark[], legs: Legs): void {
    for (const route of this.drawn) route.group.remove();
    this.drawn = draw(routes, legs);
    this.shown = [];
  }

  /** Show the routes that pass, and fill the map with them by `fit`. */
  show(passes: (mark: RouteMark) => boolean, fit: (bounds: L.LatLngBounds) => void): void {
    const bounds = L.latLngBounds([]);
    this.shown = this.drawn.filter((route) => passes(route.mark));
    for (const route of this.drawn) route.group.remove();
    for (const route of this.shown) bounds.extend(route.bounds);
    if (bounds.isValid()) fit(bounds);
    for (const route of this.shown) route.group.addTo(this.map);
    this.pins.show(this.shown.flatMap((route) => route.pins));
    this.select(this.selected);
  }

  /** Highlight one stop and nothing else; returns its place when it is on the map. */
  select(key: string): L.LatLngTuple | undefined {
    for (const route of this.drawn) route.select(this.selected, false);
    this.selected = key;
    for (const route of this.shown) route.select(key, true);
    return this.pins.select(key);
  }
}

function draw(routes: RouteMark[], legs: Legs): DrawnRoute[] {
  const lines = linesByRoute(legs);
  return routes.map((mark) => new DrawnRoute(mark, lines.get(`${mark.technician} ${mark.day}`) ?? []));
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
