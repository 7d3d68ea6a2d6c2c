// Drawing a new line: by clicks or taps, or by a pen that the arrow keys move.
/* global L */
import { lineLength, legLength } from "../sums/line.js";
import { lineOf, withLine } from "../sums/document.js";
import { distanceText } from "../sums/units.js";
import { stepM } from "./route.js";
import { byId, say } from "./element.js";

const STEPS = { ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowRight: [1, 0], ArrowLeft: [-1, 0] };
const FAST = 10;
const TWICE_MS = 500;
const TWICE_PX = 14;

export class Pen {
  #before = null;
  #place = null;
  #shown = null;
  #added = 0;

  // `onChange` is called when drawing begins or ends.
  constructor(yardMap, store, onChange) {
    Object.assign(this, { yardMap, store, onChange });
    this.map = yardMap.map;
    this.frame = byId("map");
    this.trail = L.polyline([], { className: "trail", interactive: false });
    this.map.on("click", (event) => this.drawing && this.#add(event.latlng));
    this.map.on("dblclick", (event) => this.drawing && this.#isTwice(event.latlng) && this.finish());
    this.map.on("mousemove", (event) => this.drawing && this.#stretch(event.latlng));
    this.frame.addEventListener("keydown", (event) => this.#key(event), true);
  }

  get drawing() {
    return this.#before !== null;
  }

  // Draw anew; a line of a single point is drawn on.
  begin() {
    const line = lineOf(this.store.plan);
    this.#before = line;
    this.store.edit((plan) =>
      withLine({ ...plan, route: { ...plan.route, kind: "drawn" } }, line.length < 2 ? line : []));
    this.map.keyboard.disable();
    this.frame.classList.add("drawing");
    this.trail.addTo(this.map);
    this.onChange();
    this.frame.focus({ preventScroll: true });
    this.tell();
  }

  finish() {
    if (!this.drawing) return;
    this.#end();
    this.onChange();
  }

  // Leave drawing and put back the line there was.
  cancel() {
    const before = this.#before;
    this.#end();
    this.store.edit((plan) => withLine(plan, before));
    this.onChange();
  }

  takeBack() {
    this.store.edit((plan) => withLine(plan, lineOf(plan).slice(0, -1)));
  }

  // What to do next, in words.
  tell() {
    const line = this.#metres();
    const length = distanceText(lineLength(line), this.store.plan.units);
    const words = [
      "Click or tap where the water goes in, at the house. By keys: arrows move the pen, Enter sets a point.",
      "Now the next bend, or the outlet.",
      `${length} so far. Go on with the next bend; the last point is the outlet.`,
    ];
    say(byId("draw-words"), words[Math.min(line.length, 2)]);
  }

  #metres() {
    return lineOf(this.store.plan).map((point) => this.yardMap.plane.toMetres(point));
  }

  #end() {
    this.#before = null;
    this.map.keyboard.enable();
    this.frame.classList.remove("drawing");
    this.trail.remove();
    this.#place = null;
    this.#shown?.remove();
    this.#shown = null;
  }

  #add(place) {
    if (this.#isTwice(place)) return;
    this.#added = performance.now();
    this.store.edit((plan) => withLine(plan, [...lineOf(plan), this.yardMap.fromMap(place)]));
    this.trail.setLatLngs([]);
    this.tell();
  }

  // A second click or tap on the point just set: the end of a double click, not another point.
  #isTwice(place) {
    const last = lineOf(this.store.plan).at(-1);
    if (!last || performance.now() - this.#added > TWICE_MS) return false;
    const away = this.map.latLngToLayerPoint(this.yardMap.toMap(last));
    return away.distanceTo(this.map.latLngToLayerPoint(place)) < TWICE_PX;
  }

  #stretch(place) {
    const last = lineOf(this.store.plan).at(-1);
    if (!last) return;
    this.trail.setLatLngs([this.yardMap.toMap(last), place]);
  }

  #key(event) {
    if (!this.drawing || event.target !== this.frame) return;
    const step = STEPS[event.key];
    if (step) this.#movePen(step, event.shiftKey);
    else if (event.key === "Enter" || event.key === " ") this.#add(this.#penPlace());
    else if (event.key === "Backspace") this.takeBack();
    else if (event.key === "Escape") this.finish();
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  #penPlace() {
    return this.#place ?? this.map.getCenter();
  }

  #movePen(step, fast) {
    const size = stepM(this.store.plan.units) * (fast ? FAST : 1);
    const from = this.#penPlace();
    this.#place = L.latLng(from.lat + step[1] * size, from.lng + step[0] * size);
    this.#shown ??= L.marker(this.#place, {
      interactive: false, keyboard: false, icon: L.divIcon({ className: "pen", iconSize: [30, 30] }),
    }).addTo(this.map);
    this.#shown.setLatLng(this.#place);
    this.map.panInside(this.#place, { padding: [30, 30], animate: false });
    this.#stretch(this.#place);
    const { units } = this.store.plan;
    const [right, up] = [this.#place.lng, this.#place.lat].map((metres) => distanceText(metres, units));
    const last = this.#metres().at(-1);
    const leg = last ? `; ${distanceText(legLength(last, [this.#place.lng, this.#place.lat]), units)} from the last point` : "";
    say(byId("draw-words"), `Pen at ${right} right, ${up} up${leg}. Enter sets a point, Escape ends.`);
  }
}
