// Drawing a new shape: by clicks or taps, or by a pen that the arrow keys move.
/* global L */

import {
  hasShape,
  isClosed,
  isOnePoint,
  kindOf,
  leastPoints,
  ledIntoNearest,
  pointsOf,
  withoutShape,
  withPoints,
  withShape,
} from "../../model/document/shapes.js";
import { legLength, lineLength } from "../../model/geometry/polyline.js";
import { distanceText } from "../../model/units/units.js";
import { byId, h, say } from "../dom.js";
import { stepM } from "./active_line.js";

const STEPS = { ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowRight: [1, 0], ArrowLeft: [-1, 0] };
const TWICE_MS = 500;
const TWICE_PX = 14;
const BY_KEYS = matchMedia("(pointer: coarse)").matches
  ? ""
  : " By keys: arrows move the pen, ten times as far with Shift, S snaps it to what is near, Enter sets a point.";
const WORDS = {
  line: [
    "Click or tap where the water goes in, at the house.",
    "Now the next bend, or the outlet.",
    "so far. Go on with the next bend; the last point is the outlet.",
  ],
  branch: [
    "Click or tap where the branch begins.",
    "Now its next bend, or a point on the line that it joins.",
    "so far. End it at the line that it joins; its last point is moved onto that line.",
  ],
  target: [
    "Click or tap a place where the water should come out: a ditch, a curb, the street.",
    "Finish if that point is all; or go on along the ditch or curb with its next point.",
    "long. Go on along it, or finish.",
  ],
  fixed: ["Click or tap a point that stands still, to tape from: a corner of the house, a post, a tree.", "", ""],
  lot: ["Click or tap a corner of your lot.", "Now the next corner.", "so far. Go on round the lot; Finish closes it."],
  cover: [
    "Click or tap a corner of the walk, drive or bed that the pipe may run under.",
    "Now the next corner.",
    "so far. Go on round it; Finish closes it.",
  ],
  avoid: [
    "Click or tap a corner of the area that the pipe must keep out of.",
    "Now the next corner.",
    "so far. Go on round the area; Finish closes it.",
  ],
};

export class Pen {
  #before = null;
  #made = false;
  #id = null;
  #place = null;
  #shown = null;
  #added = 0;
  #again = false;
  #base = null;
  #lead = ""; // why it is drawn, said with its first point
  #onDone = null;

  // `onChange` is called when drawing begins or ends.
  constructor(yardMap, store, active, snapping, onChange) {
    Object.assign(this, { yardMap, store, active, snapping, onChange });
    this.map = yardMap.map;
    this.frame = byId("map");
    this.trail = L.polyline([], { className: "trail", interactive: false });
    this.tip = L.tooltip({ permanent: true, direction: "top", offset: [0, -14], className: "mark-label" });
    this.map.on("click", (event) => this.drawing && this.#click(event.latlng));
    this.map.on("dblclick", () => this.drawing && this.#again && this.finish());
    this.map.on("mousemove", (event) => this.drawing && this.#stretch(event.latlng));
    this.frame.addEventListener("keydown", (event) => this.#key(event), true);
  }

  get drawing() {
    return this.#before !== null;
  }

  // Draw a shape of a kind: the main line and the lot line anew (one with a single point is
  // continued), a branch or an area as one more. `first` is a point that is set already, `lead`
  // words that are said with it; `onDone(id)` is called once the shape is finished.
  begin(kind = "line", { first = null, lead = "", onDone = null } = {}) {
    if (this.drawing) this.finish();
    const { plan, id } = withShape(this.store.plan, kind);
    [this.#lead, this.#onDone] = [lead, onDone];
    this.#start(first ? withPoints(plan, id, [first]) : plan, id, id !== kind);
  }

  // Draw the points of a shape that is there already.
  goOn(id) {
    if (this.drawing) this.finish();
    this.#start(this.store.plan, id, false);
  }

  #start(plan, id, made) {
    const points = pointsOf(plan, id);
    this.#made = made;
    this.#base = plan.base;
    this.#before = points;
    this.#id = id;
    const drawn = { ...plan, route: { ...plan.route, kind: "drawn" } };
    this.store.edit(() => withPoints(drawn, id, points.length < 2 ? points : []));
    this.active.choose(id);
    this.map.keyboard.disable();
    this.frame.classList.add("drawing");
    this.trail.addTo(this.map);
    this.onChange();
    this.frame.focus({ preventScroll: true });
    this.tell();
  }

  // End drawing. A shape with too few points is given up, except a main line that was begun.
  finish() {
    if (!this.drawing) return;
    const { id } = this.active;
    if (id !== "line" && this.active.points.length < leastPoints(id)) {
      this.cancel();
      return;
    }
    const onDone = this.#onDone;
    this.#end();
    if (kindOf(id) === "branch") {
      this.store.edit((plan) => ledIntoNearest(plan, id.split(":")[1], this.yardMap.plane));
    }
    onDone?.(id);
    this.onChange();
  }

  // Leave drawing and put back what there was.
  cancel() {
    const [before, made, { id }] = [this.#before, this.#made, this.active];
    this.#end();
    this.store.edit((plan) => (made ? withoutShape(plan, id) : withPoints(plan, id, before)));
    this.active.choose("line");
    this.onChange();
  }

  // End drawing for something else: what can stand stays, the rest is as it was.
  leave() {
    if (this.active.points.length < leastPoints(this.active.id)) this.cancel();
    else this.finish();
  }

  // Stop if the shape being drawn is gone from the plan, by undo for instance, or another base is
  // under the map.
  heed(plan) {
    if (!this.drawing || (hasShape(plan, this.#id) && plan.base === this.#base)) return;
    this.#end();
    this.active.choose("line");
  }

  takeBack() {
    this.active.edit((line) => line.slice(0, -1));
  }

  // What to do next, in words.
  tell() {
    const { id } = this.active;
    const line = this.#metres();
    const words = WORDS[kindOf(id)];
    const size = isClosed(id) ? `${line.length} corners` : distanceText(lineLength(line), this.store.plan.units);
    const said = [words[0] + BY_KEYS, this.#lead + words[1], `${size} ${words[2]}`];
    say(byId("draw-words"), said[Math.min(line.length, 2)]);
  }

  #metres() {
    return this.active.points.map((point) => this.yardMap.plane.toMetres(point));
  }

  #end() {
    this.#before = null;
    [this.#lead, this.#onDone] = ["", null];
    // The press that ends it goes from the page: the focus stays on the map, where the hand was.
    if (byId("map-tools").contains(document.activeElement)) this.frame.focus({ preventScroll: true });
    this.map.keyboard.enable();
    this.frame.classList.remove("drawing");
    this.trail.remove();
    this.tip.remove();
    this.#place = null;
    this.#shown?.remove();
    this.#shown = null;
  }

  #click(place) {
    const { place: onto } = this.#near(place);
    this.#again = this.#isTwice(onto);
    if (!this.#again) this.#add(onto);
  }

  // A point where the pen is, unless the last one lies there already.
  #setPoint() {
    const place = this.#penPlace();
    const last = this.active.points.at(-1);
    if (!last || !this.yardMap.toMap(last).equals(place, 1e-6)) this.#add(place);
  }

  #add(place) {
    this.#added = performance.now();
    this.active.edit((line) => [...line, this.yardMap.fromMap(place)]);
    this.trail.setLatLngs([]);
    this.tip.remove();
    if (isOnePoint(this.active.id)) this.finish();
    else this.tell();
  }

  // A second click or tap on the point just set: the end of a double click, not another point.
  #isTwice(place) {
    const last = this.active.points.at(-1);
    if (!last || performance.now() - this.#added > TWICE_MS) return false;
    const away = this.map.latLngToLayerPoint(this.yardMap.toMap(last));
    return away.distanceTo(this.map.latLngToLayerPoint(place)) < TWICE_PX;
  }

  #stretch(place) {
    const last = this.active.points.at(-1);
    if (!last) return;
    const { place: onto, name } = this.#near(place);
    this.trail.setLatLngs([this.yardMap.toMap(last), onto]);
    const [from, to] = [last, this.yardMap.fromMap(onto)].map(this.yardMap.plane.toMetres);
    const { units } = this.store.plan;
    const far = distanceText(lineLength(this.#metres()) + legLength(from, to), units);
    const words = isClosed(this.active.id) ? "" : `, ${far} in all`;
    this.tip
      .setLatLng(onto)
      .setContent(h("span", null, `${distanceText(legLength(from, to), units)}${words}${name ? `, on ${name}` : ""}`))
      .addTo(this.map);
  }

  #key(event) {
    if (!this.drawing || event.target !== this.frame) return;
    const step = STEPS[event.key];
    if (step) this.#movePen(step, stepM(this.store.plan.units, event));
    else if (event.key.toLowerCase() === "s") this.#snapPen();
    else if (event.key === "Enter" || event.key === " ") this.#setPoint();
    else if (event.key === "Backspace") this.takeBack();
    else if (event.key === "Escape") this.finish();
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  #penPlace() {
    return this.#place ?? this.map.getCenter();
  }

  #near(place) {
    return this.snapping.of(place, this.active.id);
  }

  #movePen(step, size) {
    const from = this.#penPlace();
    this.#putPen(L.latLng(from.lat + step[1] * size, from.lng + step[0] * size));
  }

  #snapPen() {
    const { place, name } = this.#near(this.#penPlace());
    this.#putPen(place, name ? `, on ${name}` : ", nothing near to snap to");
  }

  #putPen(place, found = "") {
    this.#place = place;
    this.#shown ??= L.marker(this.#place, {
      interactive: false,
      keyboard: false,
      icon: L.divIcon({ className: "pen", iconSize: [30, 30] }),
    }).addTo(this.map);
    this.#shown.setLatLng(this.#place);
    this.map.panInside(this.#place, { padding: [30, 30], animate: false });
    this.#stretch(this.#place);
    const { units } = this.store.plan;
    const [right, up] = [this.#place.lng, this.#place.lat].map((metres) => distanceText(metres, units));
    const last = this.#metres().at(-1);
    const leg = last ? `; ${distanceText(legLength(last, [this.#place.lng, this.#place.lat]), units)} from the last point` : "";
    say(byId("draw-words"), `Pen at ${right} right, ${up} up${leg}${found}. Enter sets a point, Escape ends.`);
  }
}
