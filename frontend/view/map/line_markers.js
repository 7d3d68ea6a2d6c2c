// Inlets and crossings on the map: markers that slide along their line, by mouse, touch and keys.
/* global L */

import { gestureKey } from "../../model/changes/history.js";
import { withCrossing, withoutRow, withValue } from "../../model/document/document.js";
import { withInflow } from "../../model/document/line_items.js";
import { pipeLine } from "../../model/document/shapes.js";
import { lineLength, nearestOn, pointAt } from "../../model/geometry/polyline.js";
import { tapeStretch } from "../../model/request/branches.js";
import { readEntry } from "../../model/units/entry.js";
import { distanceText, FOOT_M, lengthUnitM, plain, stationLabel, unitOf } from "../../model/units/units.js";
import { byId, h, say } from "../dom.js";
import { stepM } from "./active_line.js";

const STEPS = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1 };
const LETTERS = { roof: "R", yard: "G", pump: "P", other: "•" };
const NAMES = { roof: "Roof inlet", yard: "Ground inlet", pump: "Pump inlet", other: "Inlet" };
const FAR_M = { us: 6 * FOOT_M, si: 2 }; // an inlet further off than this has a branch of its own
const WORDS = {
  inflows: "Click or tap the line where the water comes in; away from it, a branch begins there.",
  crossings: "Click or tap the line where the thing to pass lies.",
};

export class Along {
  #markers = [];
  #drawn = null;
  #held = false;
  #placing = null;

  // `onPlaced(sheet, i)` is called with a new thing; `onChange` when placing begins or ends, `onBegin`
  // before it begins; `onBranch(point, {lead, onDone})` draws a branch from a point.
  constructor(yardMap, store, { onPlaced, onFocus, onChange, onBegin, onBranch }) {
    Object.assign(this, { yardMap, store, onPlaced, onFocus, onChange, onBegin, onBranch });
    this.frame = byId("map");
    this.tip = L.tooltip({ permanent: true, direction: "top", offset: [0, -14], className: "mark-label" });
    yardMap.map.on("click", (event) => this.#placing && this.#place(event.latlng));
    this.frame.addEventListener("keydown", (event) => {
      if (this.#placing && event.key === "Escape") this.stop();
    });
  }

  get placing() {
    return this.#placing !== null;
  }

  // Let the next click on the map place a thing of a sheet.
  begin(sheet) {
    this.onBegin();
    this.#placing = sheet;
    this.frame.classList.add("drawing");
    this.onChange();
    say(byId("draw-words"), `${WORDS[sheet]} By keys: type its station among the entries.`);
    this.frame.focus({ preventScroll: true });
  }

  stop() {
    this.#placing = null;
    this.frame.classList.remove("drawing");
    this.onChange();
  }

  show(plan) {
    if (this.#held) return;
    const things = plan.route.kind === "drawn" ? this.#things(plan) : [];
    const drawn = things.map(({ path, label, letter }) => `${path} ${label} ${letter}`).join("|");
    if (drawn !== this.#drawn) this.#rebuild(things);
    else things.forEach(({ place }, i) => this.#markers[i].setLatLng(place));
    this.#drawn = drawn;
  }

  #things(plan) {
    const found = ["inflows", "crossings"].flatMap((sheet) =>
      plan[sheet].rows.map((row, i) => ({ sheet, row, i, key: row.on ?? "", path: `${sheet}.rows.${i}` })),
    );
    return found.flatMap((thing) => {
      const line = pipeLine(plan, thing.key, this.yardMap.plane);
      const at = readEntry(thing.row.at, unitOf("distance", plan.units)).value ?? (thing.sheet === "inflows" ? 0 : null);
      if (line.length < 2 || at === null) return [];
      const [x, y] = pointAt(line, at / this.#scale(plan, thing.key, line));
      const isInlet = thing.sheet === "inflows";
      const name = thing.row.name || (isInlet ? NAMES[thing.row.kind] : thing.row.what);
      const label = `${name || "Crossing"}. Drag it along its line, or move it with the arrow keys, ten times as far with Shift; Enter leads to its form, Delete removes it.`;
      return [{ ...thing, place: L.latLng(y, x), label, name, letter: isInlet ? LETTERS[thing.row.kind] : "×" }];
    });
  }

  // Stations of the plan to one metre of the drawn line.
  #scale(plan, key, line) {
    return tapeStretch(plan, lineLength(line), key) / lengthUnitM(plan.units);
  }

  #rebuild(things) {
    const focused = this.#markers.findIndex((marker) => marker.getElement() === document.activeElement);
    for (const marker of this.#markers) marker.remove();
    this.#markers = things.map((thing) => this.#marker(thing));
    if (focused >= 0) this.#markers[Math.min(focused, this.#markers.length - 1)]?.getElement().focus();
  }

  #marker(thing) {
    const marker = L.marker(thing.place, {
      draggable: true,
      keyboard: true,
      autoPanOnFocus: false,
      zIndexOffset: 500,
      icon: L.divIcon({
        className: `thing thing-${thing.sheet}`,
        iconSize: [28, 28],
        html: h("span", { "aria-hidden": "true" }, thing.letter),
      }),
    }).addTo(this.yardMap.map);
    const element = marker.getElement();
    element.setAttribute("aria-label", thing.label);
    let key = null;
    marker.on("dragstart", () => {
      this.#held = true;
      key = gestureKey();
    });
    marker.on("drag", () => {
      const spot = this.#slide(thing, marker.getLatLng(), key);
      if (spot) marker.setLatLng(spot);
    });
    marker.on("dragend", () => {
      this.#held = false;
      this.tip.remove();
      this.show(this.store.plan);
    });
    marker.on("click", () => this.onFocus(thing.sheet, thing.i));
    element.addEventListener("keydown", (event) => this.#key(event, thing));
    return marker;
  }

  // Move a thing to the place on its line nearest to a hand; answers that place.
  #slide({ key, path }, { lat, lng }, gesture) {
    const { plan } = this.store;
    const line = pipeLine(plan, key, this.yardMap.plane);
    const near = nearestOn(line, [lng, lat]);
    if (!near) return null;
    const at = near.along * this.#scale(plan, key, line);
    this.store.edit((now) => withValue(now, `${path}.at`, plain(at, 2)), { key: gesture, origin: "drag" });
    const spot = L.latLng(near.point[1], near.point[0]);
    this.tip
      .setLatLng(spot)
      .setContent(h("span", null, stationLabel(at, plan.units)))
      .addTo(this.yardMap.map);
    return spot;
  }

  #key(event, { sheet, i, key, path }) {
    const step = STEPS[event.key];
    if (step) {
      const { plan } = this.store;
      const line = pipeLine(plan, key, this.yardMap.plane);
      const scale = this.#scale(plan, key, line);
      const size = stepM(plan.units, event) / lengthUnitM(plan.units);
      const from = readEntry(plan[sheet].rows[i].at, unitOf("distance", plan.units)).value ?? 0;
      const to = Math.min(lineLength(line) * scale, Math.max(0, from + step * size));
      this.store.edit((now) => withValue(now, `${path}.at`, plain(to, 2)), { key: path });
    } else if (event.key === "Enter") this.onFocus(sheet, i);
    else if (event.key === "Delete" || event.key === "Backspace") {
      this.store.edit((now) => withoutRow(now, sheet, i));
    } else return;
    event.preventDefault();
    event.stopPropagation();
  }

  // A new thing on the line nearest to a click.
  #place({ lat, lng }) {
    const sheet = this.#placing;
    const { plan } = this.store;
    const [near] = ["", ...plan.branches.rows.map((row) => row.key)]
      .map((key) => {
        const line = pipeLine(plan, key, this.yardMap.plane);
        return { key, line, found: nearestOn(line, [lng, lat]) };
      })
      .filter(({ found }) => found)
      .sort((a, b) => a.found.away - b.found.away);
    this.stop();
    if (!near) return;
    if (sheet === "inflows" && near.found.away > FAR_M[plan.units]) {
      this.#branch([lng, lat], near.found.away);
      return;
    }
    const at = plain(near.found.along * this.#scale(plan, near.key, near.line), 2);
    const make = sheet === "inflows" ? withInflow : withCrossing;
    this.store.edit((now) => make(now, { at, on: near.key }));
    this.onPlaced(sheet, this.store.plan[sheet].rows.length - 1);
  }

  // An inlet away from every line: a branch leads from there, with the inlet at its start.
  #branch(metres, away) {
    const { units } = this.store.plan;
    this.onBranch(this.yardMap.plane.fromMetres(metres), {
      lead: `That is ${distanceText(away, units)} from the line, so a branch begins here. `,
      onDone: (id) => {
        this.store.edit((now) => withInflow(now, { at: "0", on: id.split(":")[1] }));
        this.onPlaced("inflows", this.store.plan.inflows.rows.length - 1);
      },
    });
  }
}
