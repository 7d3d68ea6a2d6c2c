// The profile card: the drawing, its stretch, and the station marked by pointer or arrow keys.

import { gradeText } from "../../model/units/grade.js";
import { plain, unitOf } from "../../model/units/units.js";
import { belowWords, coverWords, digCell, isStrung } from "../../model/wording/depths.js";
import { byId, say, svg } from "../dom.js";
import { ditchOf, thinStretches } from "./cover.js";
import { drawProfile, frameOf, waterLine } from "./drawing.js";

export class Profile {
  #plan = null;
  #frame = null;

  // `onDraw(plan, frame)` is called with every drawing.
  constructor(mark, onDraw) {
    Object.assign(this, { mark, onDraw });
    this.host = byId("profile");
    this.drawing = svg("svg", {
      tabindex: 0,
      role: "slider",
      "aria-label": "Stations on the profile",
      "aria-orientation": "horizontal",
      "aria-valuemin": 0,
    });
    this.host.prepend(this.drawing);
    this.cursor = svg("g", { class: "cursor" });
    this.drawing.addEventListener("pointermove", (event) => {
      if (event.pointerType !== "touch") mark.point(this.#nearest(event));
    });
    this.drawing.addEventListener("pointerleave", () => mark.point(null));
    this.drawing.addEventListener("click", (event) => mark.pin(this.#nearest(event)));
    this.drawing.addEventListener("keydown", (event) => this.#key(event));
    this.drawing.addEventListener("focus", () => {
      if (mark.at === null && this.#plan) mark.pin(this.#plan.stations[0].at);
    });
    mark.watch(() => this.#showMark());
    new ResizeObserver(() => this.#draw()).observe(this.host);
  }

  show(plan) {
    byId("profile-card").hidden = false;
    this.#plan = plan;
    this.#draw();
  }

  #draw() {
    const wide = Math.round(this.host.clientWidth);
    if (!this.#plan || wide < 100) return;
    this.#frame = frameOf(this.#plan, wide, Math.max(150, Math.round(this.host.clientHeight)));
    const { tall, stretch } = this.#frame;
    this.drawing.setAttribute("viewBox", `0 0 ${wide} ${tall}`);
    this.drawing.setAttribute("width", wide);
    this.drawing.setAttribute("height", tall);
    this.drawing.setAttribute("aria-valuemax", this.#plan.stations.length - 1);
    this.drawing.replaceChildren(...drawProfile(this.#plan, this.#frame).filter(Boolean), this.cursor);
    say(byId("stretch"), stretch === 1 ? "true to scale" : `heights drawn ${plain(stretch, 1)} × their true size`);
    byId("key-bedding").hidden = !hasBedding(this.#plan);
    byId("key-thin").hidden = !thinStretches(this.#plan).length;
    byId("key-borne").hidden = !this.#plan.covers.length;
    byId("key-fill").hidden = !this.#plan.fills?.length;
    byId("key-ditch").hidden = !ditchOf(this.#plan);
    byId("key-water").hidden = !waterLine(this.#plan);
    this.#showMark();
    this.onDraw(this.#plan, this.#frame);
  }

  #nearest(event) {
    if (!this.#frame) return null;
    const x = event.clientX - this.drawing.getBoundingClientRect().left;
    const away = (station) => Math.abs(this.#frame.x(station.at) - x);
    return this.#plan.stations.reduce((a, b) => (away(b) < away(a) ? b : a)).at;
  }

  #key(event) {
    const step = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1 }[event.key];
    const edge = { Home: 0, End: this.#plan?.stations.length - 1 }[event.key];
    if (event.key === "Escape") this.mark.clear();
    if (!this.#plan || (!step && edge === undefined)) return;
    event.preventDefault();
    const next = edge ?? Math.max(0, this.#index()) + step;
    const station = this.#plan.stations[Math.min(Math.max(next, 0), this.#plan.stations.length - 1)];
    this.mark.pin(station.at);
  }

  #index() {
    return this.#plan.stations.findIndex((station) => station.at === this.mark.at);
  }

  #showMark() {
    if (!this.#plan || !this.#frame) return;
    const i = this.#index();
    const station = this.#plan.stations[i];
    this.drawing.setAttribute("aria-valuenow", Math.max(0, i));
    const words = station ? stationWords(station, this.#plan) : "";
    this.drawing.setAttribute("aria-valuetext", words || "no station marked");
    say(byId("station-readout"), words);
    this.cursor.replaceChildren(...(station ? cursorAt(station, this.#frame, this.#plan) : []));
  }
}

const hasBedding = ({ profile, pipe, units }) => profile.invert[0] - profile.bottom[0] > pipe.wall / (units === "us" ? 12 : 1000) + 1e-4;

// One station in a sentence.
export function stationWords(station, answer) {
  const { units, way } = answer;
  const depth = unitOf("depth", units);
  const parts = [
    digCell(station, units).main === "none" ? "nothing to dig" : `dig ${station.marks.dig_depth} ${depth}`,
    coverWords(station.cover, units),
    ...(isStrung(answer) ? [`ground ${belowWords(station.ground, units)} the string`] : []),
  ];
  const { line_to_bottom: string, rod_at_bottom: rod } = station.marks;
  if (string) parts.push(`string to bottom ${string} ${depth}`);
  if (rod) parts.push(`rod on trench bottom ${rod}`);
  if (station.grade_percent) parts.push(`grade from here ${gradeText(station.grade_percent, way)}`);
  return `${station.label}: ${parts.join("; ")}.`;
}

function cursorAt(station, frame, { units, pipe }) {
  const x = frame.x(station.at);
  const small = units === "us" ? 12 : 1000;
  const bottom = station.ground - station.dig_depth / small;
  const invert = station.invert;
  return [
    svg("line", { x1: x, x2: x, y1: 16, y2: frame.floor + 8 }),
    svg("circle", { cx: x, cy: frame.y(station.ground), r: 5 }),
    svg("circle", { cx: x, cy: frame.y(bottom), r: 5 }),
    svg("circle", { class: "cursor-pipe", cx: x, cy: frame.y(invert + pipe.inside / small / 2), r: 3 }),
    svg(
      "text",
      {
        class: "cursor-label",
        x: x + (x > frame.wide - 60 ? -8 : 8),
        y: 12,
        "text-anchor": x > frame.wide - 60 ? "end" : "start",
      },
      station.label,
    ),
  ];
}
