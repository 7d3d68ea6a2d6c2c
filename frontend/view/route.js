// The line on the map: bends to drag, handles between them to add one, all by keys as well.
/* global L */
import { inserted, middle, moved, removed } from "../sums/line.js";
import { gestureKey } from "../sums/history.js";
import { lineOf, withLine } from "../sums/document.js";
import { lengthUnitM } from "../sums/units.js";

const STEPS = { ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowRight: [1, 0], ArrowLeft: [-1, 0] };
const FAST = 10;
const ROOM_PX = 64;

// One press of an arrow key moves a point by this much, in metres.
export const stepM = (units) => (units === "us" ? 0.5 * lengthUnitM("us") : 0.1);

export const pointName = (i, count) =>
  i === 0 ? "Start" : i === count - 1 ? "Outlet" : `Bend ${i}`;

export class RouteLine {
  #bends = [];
  #handles = [];
  #held = false;

  constructor(yardMap, store, mark) {
    Object.assign(this, { yardMap, store, mark });
    this.casing = L.polyline([], { className: "route casing", interactive: false });
    this.stroke = L.polyline([], { className: "route", interactive: false });
    this.casing.addTo(yardMap.map);
    this.stroke.addTo(yardMap.map);
    yardMap.map.on("zoomend", () => this.#thin());
  }

  // Show a line of coordinates; with `quiet` (while drawing) without handles between bends.
  show(line, { quiet = false } = {}) {
    const places = line.map((point) => this.yardMap.toMap(point));
    this.casing.setLatLngs(places);
    this.stroke.setLatLngs(places);
    if (this.#held) return;
    if (this.#bends.length === places.length && !quiet === this.#handles.length > 0) {
      this.#bends.forEach((bend, i) => bend.setLatLng(places[i]));
      this.#handles.forEach((handle, i) => handle.setLatLng(between(places[i], places[i + 1])));
      this.#thin();
      return;
    }
    this.#rebuild(places, quiet);
  }

  #rebuild(places, quiet) {
    const focused = this.#bends.findIndex((bend) => bend.getElement() === document.activeElement);
    for (const marker of [...this.#bends, ...this.#handles]) marker.remove();
    this.#bends = places.map((place, i) => this.#bend(place, i, places.length));
    this.#handles = quiet ? [] : places.slice(1).map((place, i) =>
      this.#handle(between(places[i], place), i + 1, places.length));
    this.#thin();
    if (focused >= 0) this.focus(Math.min(focused, places.length - 1));
  }

  // Handles stand only on legs long enough on the screen for a finger; a closer look brings them.
  #thin() {
    const at = this.#bends.map((bend) => this.yardMap.map.latLngToLayerPoint(bend.getLatLng()));
    this.#handles.forEach((handle, i) => {
      handle.getElement().hidden = at[i].distanceTo(at[i + 1]) < ROOM_PX;
    });
  }

  focus(i) {
    this.#bends[i]?.getElement()?.focus();
  }

  #bend(place, i, count) {
    const kind = i === 0 ? "start" : i === count - 1 ? "end" : "bend";
    const name = pointName(i, count);
    const marker = this.#marker(place, `point point-${kind}`, 30,
      `${name}. Drag it, or move it with the arrow keys; Delete removes it.`);
    const key = { name: null };
    marker.on("dragstart", () => this.#hold(marker, key));
    marker.on("drag", () => this.#put(i, marker.getLatLng(), key.name));
    marker.on("dragend", () => this.#letGo());
    marker.on("contextmenu", () => this.remove(i));
    const point = () => this.mark.point(this.yardMap.stationAt(marker.getLatLng()));
    marker.on("mouseover", point);
    marker.on("mouseout", () => this.mark.point(null));
    const element = marker.getElement();
    element.addEventListener("focus", () => this.mark.pin(this.yardMap.stationAt(marker.getLatLng())));
    element.addEventListener("keydown", (event) => this.#bendKey(event, i));
    return marker;
  }

  #handle(place, i, count) {
    const marker = this.#marker(place, "point handle", 30,
      `Add a bend between ${pointName(i - 1, count)} and ${pointName(i, count)}.`);
    const key = { name: null };
    let before = null;
    marker.on("dragstart", () => {
      before = lineOf(this.store.plan);
      this.#hold(marker, key);
    });
    marker.on("drag", () => {
      const point = this.yardMap.fromMap(marker.getLatLng());
      this.#edit((line) => (line.length > count ? moved(line, i, point) : inserted(before, i, point)), key.name);
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
      draggable: true, keyboard: true, autoPanOnFocus: false,
      icon: L.divIcon({ className, iconSize: [size, size] }),
    });
    marker.addTo(this.yardMap.map);
    marker.getElement().setAttribute("aria-label", label);
    return marker;
  }

  #insert(i) {
    this.#edit((line) => inserted(line, i, middle(line[i - 1], line[i])));
    this.focus(i);
  }

  remove(i) {
    if (lineOf(this.store.plan).length <= 2) return;
    this.#edit((line) => removed(line, i));
  }

  #bendKey(event, i) {
    const step = STEPS[event.key];
    if (step) {
      const size = stepM(this.store.plan.units) * (event.shiftKey ? FAST : 1);
      const [x, y] = this.yardMap.plane.toMetres(lineOf(this.store.plan)[i]);
      const point = this.yardMap.plane.fromMetres([x + step[0] * size, y + step[1] * size]);
      this.#edit((line) => moved(line, i, point), `bend ${i}`);
    } else if (event.key === "Delete" || event.key === "Backspace") {
      this.remove(i);
    } else return;
    event.preventDefault();
    event.stopPropagation();
  }

  #put(i, place, key) {
    this.#edit((line) => moved(line, i, this.yardMap.fromMap(place)), key);
  }

  #hold(marker, key) {
    this.#held = true;
    key.name = gestureKey();
    this.mark.clear();
    for (const handle of this.#handles) if (handle !== marker) handle.getElement().hidden = true;
  }

  #letGo() {
    this.#held = false;
    const places = lineOf(this.store.plan).map((point) => this.yardMap.toMap(point));
    this.#rebuild(places, false);
  }

  #edit(change, key = null) {
    this.store.edit((plan) => withLine(plan, change(lineOf(plan))), {
      key, origin: this.#held ? "drag" : null,
    });
  }
}

const between = (a, b) => L.latLng((a.lat + b.lat) / 2, (a.lng + b.lng) / 2);
