// The shapes that are not under the hand, drawn by kind; a click takes one under the hand.
/* global L */
import { isClosed, kindOf, MAIN, pipeLine, pointsOf, shapesOf } from "../../model/document/shapes.js";
import { h } from "../dom.js";

export class Shapes {
  #layers = [];

  // `onTarget(id)` is called with a place to reach that is clicked; it answers whether it took it.
  constructor(yardMap, store, active, { busy, onTarget }) {
    Object.assign(this, { yardMap, store, active, busy, onTarget });
  }

  show(plan) {
    for (const layer of this.#layers) layer.remove();
    this.#layers = shapesOf(plan).flatMap((shape) => this.#shape(plan, shape));
    for (const layer of this.#layers) layer.addTo(this.yardMap.map);
  }

  #shape(plan, { id, name }) {
    const { plane } = this.yardMap;
    const kind = kindOf(id);
    const isPipe = id === MAIN || kind === "branch";
    const points = isPipe ? pipeLine(plan, id.split(":")[1] ?? "", plane) : pointsOf(plan, id).map(plane.toMetres);
    const places = points.map(([x, y]) => L.latLng(y, x));
    if (!places.length) return [];
    const [x, y] = isClosed(id) ? centreOf(points) : points[0];
    const label = L.tooltip([y, x], {
      permanent: true,
      direction: isClosed(id) ? "center" : "right",
      offset: isClosed(id) ? [0, 0] : [16, 0],
      className: `yard-label label-${kind}`,
      pane: "numbers",
      content: h("span", null, name),
      interactive: false,
    });
    const named = id === MAIN ? [] : [label];
    if (id === this.active.id) return named;
    const className = id === MAIN ? "route" : `shape-${kind}`;
    const ring = isClosed(id) ? [...places, places[0]] : places;
    const casing = L.polyline(ring, { className: `${className} casing`, interactive: false });
    const stroke = L.polyline(ring, { className, bubblingMouseEvents: true });
    const signs = ["target", "fixed"].includes(kind) ? places.map((place) => sign(place, kind)) : [];
    for (const layer of [stroke, ...signs]) layer.on("click", (event) => this.#clicked(event, id));
    return [casing, stroke, ...signs, ...named];
  }

  #clicked(event, id) {
    if (this.busy()) return;
    if (kindOf(id) === "target" && this.onTarget(id)) L.DomEvent.stopPropagation(event);
    else this.active.choose(id);
  }
}

// The sign at every point of a place to reach, a ring with a dot; at a fixed point, a cross.
const sign = (place, kind) =>
  L.marker(place, {
    keyboard: false,
    bubblingMouseEvents: true,
    icon: L.divIcon({ className: `${kind}-sign`, iconSize: [24, 24] }),
  });

const centreOf = (points) => [0, 1].map((k) => points.reduce((sum, point) => sum + point[k], 0) / points.length);
