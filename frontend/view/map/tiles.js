// Online map tiles under the yard, from the one source that the operator allowed, with its credit.
/* global L */
import { tilesOver, zoomFor } from "../../model/geometry/tile_grid.js";
import { h } from "../dom.js";

export class TileLayer {
  #shown = new Map();

  constructor(yardMap, base) {
    Object.assign(this, { yardMap, base });
    this.refresh = () => this.#fill();
    this.credit = L.control({ position: "bottomright" });
    this.credit.onAdd = () => h("p", { class: "tile-credit" }, base.tiles.attribution);
  }

  addTo(map) {
    map.on("moveend", this.refresh);
    this.credit.addTo(map);
    this.#fill();
  }

  remove() {
    this.yardMap.map.off("moveend", this.refresh);
    this.credit.remove();
    for (const tile of this.#shown.values()) tile.remove();
    this.#shown.clear();
  }

  #fill() {
    const { map } = this.yardMap;
    const view = map.getBounds();
    const [west, south] = this.yardMap.fromMap(view.getSouthWest());
    const [east, north] = this.yardMap.fromMap(view.getNorthEast());
    const pixelM = 1 / map.getZoomScale(map.getZoom(), 0);
    const tiles = tilesOver(this.base.tiles, [west, south, east, north], zoomFor(south, pixelM, this.base.tiles.max_zoom));
    const wanted = new Set(tiles.map(({ url }) => url));
    for (const [url, tile] of this.#shown) {
      if (wanted.has(url)) continue;
      tile.remove();
      this.#shown.delete(url);
    }
    for (const {
      url,
      bounds: [w, s, e, n],
    } of tiles) {
      if (this.#shown.has(url)) continue;
      const bounds = L.latLngBounds(this.yardMap.toMap([w, s]), this.yardMap.toMap([e, n]));
      this.#shown.set(url, L.imageOverlay(url, bounds, { pane: "base", className: "tile", alt: "" }).addTo(map));
    }
  }
}
