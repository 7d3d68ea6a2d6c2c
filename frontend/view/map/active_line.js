// The shape under the hand on the map: points to drag, handles between them to add one, all by
// keys as well.
/* global L */

import { gestureKey } from "../../model/changes/history.js";
import { isClosed, isOnePoint, kindOf, leastPoints, MAIN, withoutShape } from "../../model/document/shapes.js";
import { inserted, lineLength, middle, moved, removed } from "../../model/geometry/polyline.js";
import { shapeStretch } from "../../model/request/branches.js";
import { lengthUnitM } from "../../model/units/units.js";
import { movingWords, pointName } from "../../model/wording/points.js";
import { h } from "../dom.js";

const STEPS = { ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowRight: [1, 0], ArrowLeft: [-1, 0] };
const ROOM_PX = 64;

const FAST = 10;
const HELD = 4;

// One press of an arrow key moves a point by this much, in metres: ten times as far with Shift, four
// times while the key is held down.
export const stepM = (units, { shiftKey = false, repeat = false } = {}) =>
  (units === "us" ? 0.5 * lengthUnitM("us") : 0.1) * (shiftKey ? FAST : repeat ? HELD : 1);

export class RouteLine {
  #id = null;
  #shown = null;
  #strokes = [];
  #bends = [];
  #handles = [];
  #held = false;
  #onto = null;

  constructor(yardMap, store, mark, active, snapping) {
    Object.assign(this, { yardMap, store, mark, active, snapping });
    this.tip = L.tooltip({ permanent: true, direction: "top", offset: [0, -14], className: "mark-label" });
    yardMap.map.on("zoomend", () => this.#thin());
  }

  // Show the shape under the hand; with `quiet` (while drawing) without handles between points.
  show({ quiet = false } = {}) {
    const { id } = this.active;
    const line = quiet ? this.active.points : this.active.shown;
    const places = line.map((point) => this.yardMap.toMap(point));
    if (this.#id !== id) this.#draw(id);
    for (const stroke of this.#strokes) stroke.setLatLngs(isClosed(id) ? [...places, ...places.slice(0, 1)] : places);
    if (this.#held) return;
    const legs = Math.max(0, places.length - (isClosed(id) ? 0 : 1));
    if (this.#bends.length === places.length && this.#handles.length === (quiet ? 0 : legs) && this.#shown === id) {
      this.#bends.forEach((bend, i) => bend.setLatLng(places[i]));
      this.#handles.forEach((handle, i) => handle.setLatLng(between(places[i], next(places, i))));
      this.#thin();
      return;
    }
    this.#rebuild(places, quiet);
  }

  #draw(id) {
    for (const stroke of this.#strokes) stroke.remove();
    const kind = kindOf(id) === "line" ? "route" : `shape-${kindOf(id)}`;
    this.#strokes = [`${kind} casing`, kind].map((className) => L.polyline([], { className, interactive: false }).addTo(this.yardMap.map));
    this.#id = id;
  }

  #rebuild(places, quiet) {
    const { id } = this.active;
    const focused = this.#shown === id ? this.#bends.findIndex((bend) => bend.getElement() === document.activeElement) : -1;
    this.#shown = id;
    for (const marker of [...this.#bends, ...this.#handles]) marker.remove();
    this.#bends = places.map((place, i) => this.#bend(place, i, places.length));
    const legs = quiet ? 0 : Math.max(0, places.length - (isClosed(id) ? 0 : 1));
    this.#handles = Array.from({ length: legs }, (_, i) => this.#handle(between(places[i], next(places, i)), i + 1, places.length));
    this.#thin();
    if (focused >= 0) this.focus(Math.min(focused, places.length - 1));
  }

  // Handles appear only on legs long enough on the screen for a finger; zooming in brings more.
  #thin() {
    const at = this.#bends.map((bend) => this.yardMap.map.latLngToLayerPoint(bend.getLatLng()));
    this.#handles.forEach((handle, i) => {
      handle.getElement().hidden = at[i].distanceTo(next(at, i)) < ROOM_PX;
    });
  }

  focus(i) {
    this.#bends[i]?.getElement()?.focus();
  }

  #bend(place, i, count) {
    const { id } = this.active;
    const kind = ["target", "fixed"].includes(kindOf(id))
      ? kindOf(id)
      : isClosed(id)
        ? "bend"
        : i === 0
          ? "start"
          : i === count - 1
            ? "end"
            : "bend";
    const name = pointName(i, count, id);
    const marker = this.#marker(
      place,
      `point point-${kind}`,
      30,
      `${name}. Drag it, or move it with the arrow keys, ten times as far with Shift; Delete removes it.`,
    );
    const key = { name: null };
    marker.on("dragstart", () => this.#hold(marker, key));
    marker.on("drag", () => {
      this.#edit((line) => moved(line, i, this.#dropped(marker)), key.name);
      this.#tell(i);
    });
    marker.on("dragend", () => this.#letGo());
    marker.on("contextmenu", () => this.remove(i));
    const station = () => (id === MAIN ? this.yardMap.stationAt(marker.getLatLng()) : null);
    marker.on("mouseover", () => this.mark.point(station()));
    marker.on("mouseout", () => this.mark.point(null));
    const element = marker.getElement();
    element.addEventListener("focus", () => this.mark.pin(station()));
    element.addEventListener("keydown", (event) => this.#bendKey(event, i));
    return marker;
  }

  #handle(place, i, count) {
    const marker = this.#marker(
      place,
      "point handle",
      30,
      `Add a point between ${pointName(i - 1, count, this.active.id)} and ${pointName(i % count, count, this.active.id)}.`,
    );
    const key = { name: null };
    let before = null;
    marker.on("dragstart", () => {
      before = this.active.points;
      this.#hold(marker, key);
    });
    marker.on("drag", () => {
      const point = this.#dropped(marker);
      this.#edit((line) => (line.length > count ? moved(line, i, point) : inserted(before, i, point)), key.name);
      this.#tell(i);
    });
    marker.on("dragend", () => this.#letGo());
    marker.on("click", () => this.#insert(i));
    marker.getElement().addEventListener("keydown", (event) => {
      if (event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      event.stopPropagation();
      this.#insert(i);
    });
    return marker;
  }

  #marker(place, className, size, label) {
    const marker = L.marker(place, {
      draggable: true,
      keyboard: true,
      autoPanOnFocus: false,
      icon: L.divIcon({ className, iconSize: [size, size] }),
    });
    marker.addTo(this.yardMap.map);
    marker.getElement().setAttribute("aria-label", label);
    return marker;
  }

  #insert(i) {
    this.#edit((line) => inserted(line, i, middle(line[i - 1], next(line, i - 1))));
    this.focus(i);
  }

  remove(i) {
    const { id } = this.active;
    if (isOnePoint(id)) {
      this.active.choose(MAIN);
      this.store.edit((plan) => withoutShape(plan, id));
      this.yardMap.map.getContainer().focus({ preventScroll: true });
    }
    if (this.active.points.length <= leastPoints(id) || isOnePoint(id)) return;
    this.#edit((line) => removed(line, i));
  }

  #bendKey(event, i) {
    const step = STEPS[event.key];
    if (step) {
      const size = stepM(this.store.plan.units, event);
      const [x, y] = this.yardMap.plane.toMetres(this.active.shown[i]);
      const point = this.yardMap.plane.fromMetres([x + step[0] * size, y + step[1] * size]);
      this.#edit((line) => moved(line, i, point), `bend ${this.active.id} ${i}`);
    } else if (event.key === "Delete" || event.key === "Backspace") {
      this.remove(i);
    } else return;
    event.preventDefault();
    event.stopPropagation();
  }

  // Where a dragged marker puts its point: on what is near, if snapping is on.
  #dropped(marker) {
    const { place, name } = this.snapping.of(marker.getLatLng(), this.active.id);
    this.#onto = name;
    return this.yardMap.fromMap(place);
  }

  // The station and leg of the moving point, beside it.
  #tell(i) {
    const { id } = this.active;
    const { plan } = this.store;
    const line = this.active.shown.map((point) => this.yardMap.plane.toMetres(point));
    if (!line[i]) return;
    const words = movingWords(line, i, {
      id,
      units: plan.units,
      onto: this.#onto,
      stretch: shapeStretch(plan, id, lineLength(line)),
    });
    const [x, y] = line[i];
    this.tip
      .setLatLng([y, x])
      .setContent(h("span", null, words))
      .addTo(this.yardMap.map);
  }

  #hold(marker, key) {
    this.#held = true;
    key.name = gestureKey();
    this.mark.clear();
    for (const handle of this.#handles) if (handle !== marker) handle.getElement().hidden = true;
  }

  #letGo() {
    this.#held = false;
    this.#onto = null;
    this.tip.remove();
    this.#rebuild(
      this.active.shown.map((point) => this.yardMap.toMap(point)),
      false,
    );
  }

  #edit(change, key = null) {
    this.active.edit(change, { key, origin: this.#held ? "drag" : null });
  }
}

const between = (a, b) => L.latLng((a.lat + b.lat) / 2, (a.lng + b.lng) / 2);

// The item after one, round from the last to the first.
const next = (items, i) => items[(i + 1) % items.length];
