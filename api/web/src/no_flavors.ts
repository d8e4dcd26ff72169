// Stands in for the ready-made map styles of protomaps-leaflet; ours are in basemap.ts.

export function namedFlavor(name: string): never {
  throw new Error(`There is no ready-made map style '${name}'; see basemap.ts for ours.`);
}
