// protomaps-leaflet looks for Leaflet under this global name when its layer is made.
import * as Leaflet from "leaflet";

(window as unknown as { L: typeof Leaflet }).L = Leaflet;

export default Leaflet;
