// The numbered pins of stops, laid out anew for every zoom so that none hides another.
import L from "./leaflet";
import { runs, spread, together, type Box } from "./spread";

export interface Pin {
  key: string;
  route: string;
  look: string; // classes that carry the colour
  letters: string;
  number: number;
  words: string;
  place: L.LatLngTuple;
}

interface Placed extends Pin {
  x: number;
  y: number;
}

interface Group {
  pins: [Placed, ...Placed[]];
  label: string;
  isSelected: boolean;
  box: Box;
}

const NEAR = 18; // pixels; a pin is 17 high and 24 wide
const HEIGHT = 17;
const PER_CHARACTER = 7; // pixels, bold figures of 10.5 px
const LEADER_FROM = 10; // pixels; a pin farther from its place is tied to it by a line

/** Pins of the routes that are shown; a selected one always stands by itself. */
export class PinLayer {
  private readonly drawn = L.layerGroup();
  private pins: Pin[] = [];
  private selected = "";

  constructor(
    private readonly map: L.Map,
    private readonly onPick: (key: string) => void,
  ) {
    this.drawn.addTo(map);
    map.on("zoomend", () => this.draw());
  }

  show(pins: Pin[]): void {
    this.pins = pins;
    this.draw();
  }

  /** Highlight one pin and nothing else; returns its place when it is shown. */
  select(key: string): L.LatLngTuple | undefined {
    if (this.selected !== key) {
      this.selected = key;
      this.draw();
    }
    return this.pins.find((pin) => pin.key === key)?.place;
  }

  private draw(): void {
    this.drawn.clearLayers();
    if (this.pins.length === 0) return; // before the first choice the map has no zoom yet
    const groups = this.groups();
    const { x: left, y: top } = this.map.containerPointToLayerPoint([0, 0]);
    const { x: width, y: height } = this.map.getSize();
    const area = { left, top, right: left + width, bottom: top + height };
    const places = spread(groups.map((group) => group.box), area);
    groups.forEach((group, n) => this.drawGroup(group, L.point(places[n]!.x, places[n]!.y)));
  }

  private groups(): Group[] {
    const byRoute = new Map<string, Placed[]>();
    for (const pin of this.pins) {
      const { x, y } = this.map.latLngToLayerPoint(pin.place);
      const route = pin.key === this.selected ? "selected" : pin.route;
      byRoute.set(route, [...(byRoute.get(route) ?? []), { ...pin, x, y }]);
    }
    return [...byRoute].flatMap(([route, pins]) =>
      together(pins, NEAR).map((group) => asGroup(group as [Placed, ...Placed[]], route === "selected")),
    );
  }

  private drawGroup({ pins, label, isSelected, box }: Group, at: L.Point): void {
    const [first] = pins;
    const number = document.createElement("span");
    number.textContent = label;
    const icon = L.divIcon({
      className: `pin ${first.look}${isSelected ? " is-selected" : ""}`,
      html: number,
      iconSize: [box.width, box.height],
    });
    const where = this.map.layerPointToLatLng(at);
    const title = pins.map((pin) => pin.words).join("\n");
    const marker = L.marker(where, { icon, keyboard: false, title, pane: "pins", zIndexOffset: isSelected ? 1000 : 0 });
    marker.on("click", () => this.onPick(first.key));
    this.drawn.addLayer(marker);
    for (const pin of pins) this.tie(pin, at, where);
  }

  /** A line from a pin that moved, or that stands for several, to the place of a stop. */
  private tie(pin: Placed, at: L.Point, where: L.LatLng): void {
    if (Math.hypot(pin.x - at.x, pin.y - at.y) < LEADER_FROM) return;
    const line = { pane: "ties", className: `tie ${pin.look}`, interactive: false };
    this.drawn.addLayer(L.polyline([pin.place, where], line));
    this.drawn.addLayer(L.circleMarker(pin.place, { ...line, className: `tie-end ${pin.look}`, radius: 3 }));
  }
}

function asGroup(pins: [Placed, ...Placed[]], isSelected: boolean): Group {
  const label = runs(pins[0].letters, pins.map((pin) => pin.number));
  const middle = (axis: "x" | "y") => pins.reduce((sum, pin) => sum + pin[axis], 0) / pins.length;
  const width = Math.max(24, label.length * PER_CHARACTER + 8);
  return { pins, label, isSelected, box: { x: middle("x"), y: middle("y"), width, height: HEIGHT, fixed: isSelected } };
}
