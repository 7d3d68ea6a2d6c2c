// A searched yard on the map: its bands and reasons, the routes found, the start to drag.
/* global L */
import { gestureKey } from "../../model/changes/history.js";
import { fromPlanner, startOf, withStart } from "../../model/request/reach.js";
import { LOOKS, lookOf, TILE_PX } from "../../model/wording/reach_legend.js";
import { h, svg } from "../dom.js";
import { stepM } from "../map/active_line.js";

const STEPS = { ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowRight: [1, 0], ArrowLeft: [-1, 0] };
const patternId = (look) => `reach-${look}`;

// What fills an area or a swatch of a look.
export const fillOf = (look) => `url(#${patternId(look)})`;

// The patterns of all looks, for the page to hold once.
export const patterns = () =>
  svg(
    "svg",
    { class: "unseen", width: 1, height: 1, "aria-hidden": "true", focusable: "false" },
    svg(
      "defs",
      null,
      Object.entries(LOOKS).map(([look, { ground, ink, marks }]) =>
        svg(
          "pattern",
          { id: patternId(look), width: TILE_PX, height: TILE_PX, patternUnits: "userSpaceOnUse" },
          svg("rect", { width: TILE_PX, height: TILE_PX, fill: ground }),
          marks.map(({ d, width, ...circle }) =>
            d ? svg("path", { d, stroke: ink, "stroke-width": width, fill: "none" }) : svg("circle", { ...circle, fill: ink }),
          ),
        ),
      ),
    ),
  );

export class ReachMap {
  #areas = new Map();
  #routes = [];
  #marker = null;
  #held = false;

  // `onPick(i)` is called with the number of a route that is clicked.
  constructor(yardMap, store, snapping, onPick) {
    Object.assign(this, { yardMap, store, snapping, onPick, map: yardMap.map });
    this.map.createPane("reach").style.zIndex = 300;
    this.map.createPane("reach-routes").style.zIndex = 430;
    this.shapes = L.svg({ pane: "reach", padding: 0.3 });
  }

  // Show the areas of a collection; null: none.
  showAreas(collection, units) {
    const found = new Map(
      (collection?.features ?? []).map((feature) => {
        const { kind, from } = feature.properties;
        return [`${units} ${kind} ${from}`, feature];
      }),
    );
    for (const [key, layer] of this.#areas) {
      if (found.has(key)) continue;
      layer.remove();
      this.#areas.delete(key);
    }
    for (const [key, { geometry, properties }] of found) {
      const places = geometry.coordinates.map((rings) => rings.map((ring) => ring.map((point) => this.place(point))));
      if (this.#areas.has(key)) this.#areas.get(key).setLatLngs(places);
      else this.#areas.set(key, this.#area(places, lookOf(properties, units)).addTo(this.map));
    }
  }

  #area(places, look) {
    return L.polygon(places, {
      renderer: this.shapes,
      pane: "reach",
      interactive: false,
      smoothFactor: 0,
      stroke: false,
      fillColor: fillOf(look),
      fillOpacity: 0.86,
      className: `reach-area reach-area-${look}`,
    });
  }

  // The routes, with the one under the hand drawn strongest.
  showRoutes(routes, picked) {
    for (const layer of this.#routes) layer.remove();
    this.#routes = routes.flatMap(({ line }, i) => {
      const places = line.coordinates.map((point) => this.place(point));
      const name = i === picked ? "reach-route picked" : "reach-route";
      const stroke = (className) => L.polyline(places, { className, pane: "reach-routes" });
      const layers = [stroke(`${name} casing`), stroke(name)];
      for (const layer of layers) {
        layer.on("click", (event) => {
          L.DomEvent.stopPropagation(event);
          this.onPick(i);
        });
      }
      const number = L.tooltip(places.at(-1), {
        permanent: true,
        direction: "center",
        className: `reach-number${i === picked ? " picked" : ""}`,
        content: h("span", null, String(i + 1)),
        interactive: false,
      });
      return [...layers, number];
    });
    for (const layer of this.#routes) layer.addTo(this.map);
  }

  // The start, to drag or to move with the arrow keys.
  showStart(plan, base) {
    const place = this.yardMap.toMap(startOf(plan, base, this.yardMap.features));
    this.#marker ??= this.#start(place);
    if (!this.#held) this.#marker.setLatLng(place);
    if (!this.map.hasLayer(this.#marker)) {
      this.#marker.addTo(this.map);
      this.#named();
    }
  }

  // Dim what is out of date: the routes while the start moves, everything while a field is wrong.
  fade({ areas = false, routes }) {
    this.map.getPane("reach").classList.toggle("old", areas);
    for (const layer of this.#routes) layer.getElement()?.classList.toggle("old", routes);
  }

  hide() {
    this.showAreas(null);
    this.showRoutes([], -1);
    this.#marker?.remove();
  }

  #start(place) {
    const marker = L.marker(place, {
      draggable: true,
      keyboard: true,
      autoPanOnFocus: false,
      zIndexOffset: 1000,
      icon: L.divIcon({ className: "reach-start", iconSize: [44, 44] }),
    });
    let key = null;
    marker.on("dragstart", () => {
      this.#held = true;
      key = gestureKey();
    });
    marker.on("drag", () => this.#move(this.snapping.of(marker.getLatLng(), null).place, key));
    marker.on("dragend", () => {
      this.#held = false;
      marker.setLatLng(this.snapping.of(marker.getLatLng(), null).place);
      this.#move(marker.getLatLng(), key);
    });
    return marker;
  }

  #named() {
    const element = this.#marker.getElement();
    element.setAttribute("aria-label", "Where the pipe starts. Drag it, or move it with the arrow keys, ten times as far with Shift.");
    element.addEventListener("keydown", (event) => {
      const step = STEPS[event.key];
      if (!step) return;
      event.preventDefault();
      event.stopPropagation();
      const size = stepM(this.store.plan.units, event);
      const { lat, lng } = this.#marker.getLatLng();
      this.#move(L.latLng(lat + step[1] * size, lng + step[0] * size), "search start");
    });
  }

  #move(place, key) {
    const point = this.yardMap.fromMap(place);
    this.store.edit((plan) => withStart(plan, point), { key, origin: "drag" });
  }

  // The place of a point as the planner gives it.
  place(point) {
    return this.yardMap.toMap(fromPlanner(this.store.plan, point));
  }
}
