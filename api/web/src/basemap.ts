// Our own drawing of the street map: quiet enough for routes to stand out, with street names
// on a layer above the routes.
import { PMTiles } from "pmtiles";
import {
  leafletLayer,
  LineSymbolizer,
  PolygonSymbolizer,
  type Feature,
  type LabelRule,
  type PaintRule,
} from "protomaps-leaflet";
import L from "./leaflet";
import { StreetName } from "./streetname";
import { OnceSource } from "./tiles";

interface Inks {
  ground: string;
  green: string;
  water: string;
  building: string;
  edge: string;
  street: string;
  main: string;
  motorway: string;
  name: string;
  halo: string;
  waterName: string;
}

const LIGHT: Inks = {
  ground: "#f1f3ef",
  green: "#dfe9d8",
  water: "#bcd9e4",
  building: "#e5e6e1",
  edge: "#d3d8d2",
  street: "#ffffff",
  main: "#fbf6e4",
  motorway: "#e9e2cf",
  name: "#3d4744",
  halo: "#ffffff",
  waterName: "#2c6478",
};

const DARK: Inks = {
  ground: "#1b2224",
  green: "#1f2c26",
  water: "#15333f",
  building: "#222a2c",
  edge: "#141a1b",
  street: "#2d373a",
  main: "#434f51",
  motorway: "#4d5655",
  name: "#c4cecb",
  halo: "#161c1e",
  waterName: "#7fb4c6",
};

const LAYER = "map";
const MOTORWAYS = ["motorway", "trunk", "motorway_link", "trunk_link"];
const MAINS = ["primary", "secondary", "primary_link", "secondary_link"];
const COLLECTORS = ["tertiary", "tertiary_link"];

type Rank = "motorway" | "main" | "collector" | "street";
const RANKS: Rank[] = ["street", "collector", "main", "motorway"];
// Zoom from which a street has an edge; earlier it would turn a suburb into a grey mesh.
const EDGES_FROM: Record<Rank, number> = { street: 15, collector: 14, main: 12, motorway: 11 };

// Width in pixels at zoom 13 and 16; between and beyond it grows by the same factor per zoom.
const WIDTHS: Record<Rank, [number, number]> = {
  street: [0.8, 6],
  collector: [2, 8],
  main: [2.8, 10],
  motorway: [3.4, 11],
};

function rankOf(feature: Feature): Rank {
  const name = String(feature.props["class"]);
  if (MOTORWAYS.includes(name)) return "motorway";
  if (MAINS.includes(name)) return "main";
  return COLLECTORS.includes(name) ? "collector" : "street";
}

function width(rank: Rank, zoom: number, extra = 0): number {
  const [at13, at16] = WIDTHS[rank];
  return at13 * (at16 / at13) ** ((zoom - 13) / 3) + extra;
}

const isKind = (kind: string) => (_zoom: number, f: Feature) => f.props["kind"] === kind;

function paintRules(inks: Inks): PaintRule[] {
  const surface = (kind: string, fill: string): PaintRule => ({
    dataLayer: LAYER,
    filter: (zoom, f) => isKind(kind)(zoom, f) && f.geomType === 3,
    symbolizer: new PolygonSymbolizer({ fill }),
  });
  const road = (rank: Rank, color: string, extra: number): PaintRule => ({
    dataLayer: LAYER,
    filter: (_zoom, f) => f.props["kind"] === "road" && rankOf(f) === rank,
    symbolizer: new LineSymbolizer({
      color,
      width: (zoom: number) => width(rank, zoom, extra),
      lineCap: "round",
      lineJoin: "round",
    }),
  });
  const fill = (rank: Rank): string =>
    rank === "street" ? inks.street : rank === "motorway" ? inks.motorway : inks.main;
  return [
    surface("green", inks.green),
    surface("water", inks.water),
    {
      dataLayer: LAYER,
      filter: (_zoom, f) => f.props["kind"] === "water" && f.geomType === 2,
      symbolizer: new LineSymbolizer({ color: inks.water, width: 3 }),
    },
    { ...surface("building", inks.building), minzoom: 15 },
    ...RANKS.map((rank) => ({ ...road(rank, inks.edge, 1.6), minzoom: EDGES_FROM[rank] })),
    ...RANKS.map((rank) => road(rank, fill(rank), 0)),
  ];
}

function labelRules(inks: Inks): LabelRule[] {
  const streetNames = (ranks: Rank[], minzoom: number, size: number): LabelRule => ({
    dataLayer: LAYER,
    minzoom,
    filter: (_zoom, f) => f.props["kind"] === "road" && ranks.includes(rankOf(f)),
    symbolizer: new StreetName({ fill: inks.name, halo: inks.halo, size, repeat: 380 }),
  });
  return [
    streetNames(["motorway", "main"], 12, 12),
    streetNames(["collector"], 14, 11.5),
    {
      dataLayer: LAYER,
      minzoom: 12,
      filter: (_zoom, f) => f.props["kind"] === "water" && f.geomType === 2,
      symbolizer: new StreetName({
        fill: inks.waterName,
        halo: inks.halo,
        size: 12,
        repeat: 600,
        italic: true,
      }),
    },
    streetNames(["street"], 15, 11),
  ];
}

/** Draw streets under and street names over the panes of routes; follows light and dark. */
export async function addBasemap(map: L.Map, url: string, credit: string): Promise<void> {
  const tiles = new PMTiles(new OnceSource(url));
  const header = await tiles.getHeader();
  map.createPane("names").classList.add("names-pane");
  const dark = window.matchMedia("(prefers-color-scheme: dark)");
  let layers: L.Layer[] = [];
  const draw = (): void => {
    for (const layer of layers) layer.remove();
    const inks = dark.matches ? DARK : LIGHT;
    // twice the pixels at least, so that names stay sharp between whole zooms
    const devicePixelRatio = Math.max(2, window.devicePixelRatio);
    const shared = { url: tiles, maxDataZoom: header.maxZoom, maxZoom: 19, devicePixelRatio };
    const streets = leafletLayer({
      ...shared,
      paintRules: paintRules(inks),
      backgroundColor: inks.ground,
      attribution: credit,
    });
    const names = leafletLayer({
      ...shared,
      labelRules: labelRules(inks),
      pane: "names",
      attribution: "",
    });
    layers = [streets, names] as unknown as L.Layer[];
    for (const layer of layers) layer.addTo(map);
  };
  draw();
  dark.addEventListener("change", draw);
}
