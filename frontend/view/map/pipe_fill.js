// Each stretch of pipe on the map by the share of its capacity that is used: by width, dashes,
// colour and the number beside it.
/* global L */

import { pipeLine } from "../../model/document/shapes.js";
import { lineLength, partOf, pointAt } from "../../model/geometry/polyline.js";
import { percentText, stretchesOf } from "../../model/wording/pipe_fill.js";
import { byId, h, say } from "../dom.js";

const WORDS =
  "The number beside a pipe is how much of what it can carry is used. The fuller, the wider it is drawn; " +
  "broken into dashes where it is nearly or more than full.";

export class PipeRuns {
  #layers = [];
  #answer = null;

  constructor(yardMap) {
    this.yardMap = yardMap;
    yardMap.map.createPane("runs").style.zIndex = 430;
  }

  // Take up an answer; null takes all runs away.
  take(answer, plan) {
    this.#answer = answer;
    this.show(plan);
  }

  // Draw the last answer's shares on the lines as they lie now.
  show(plan) {
    for (const layer of this.#layers) layer.remove();
    this.#layers = this.#answer && plan.route.kind === "drawn" ? this.#runs(plan) : [];
    for (const layer of this.#layers) layer.addTo(this.yardMap.map);
    say(byId("run-words"), this.#layers.length ? WORDS : "");
  }

  #runs(plan) {
    const keys = new Map([[null, ""], ...plan.branches.rows.map((row) => [row.name.trim(), row.key])]);
    return stretchesOf(this.#answer).flatMap(({ name, from, to, share, band }) => {
      const key = keys.get(name);
      const line = key === undefined ? [] : pipeLine(plan, key, this.yardMap.plane);
      if (line.length < 2) return [];
      const long = lineLength(line);
      const places = partOf(line, from * long, to * long).map(([x, y]) => [y, x]);
      const [x, y] = pointAt(line, ((from + to) / 2) * long);
      const [ahead, behind] = [0.01, -0.01].map((step) => pointAt(line, ((from + to) / 2 + step) * long));
      const level = Math.abs(ahead[0] - behind[0]) > Math.abs(ahead[1] - behind[1]);
      const options = { interactive: false, pane: "runs" };
      return [
        L.polyline(places, { ...options, className: `run-casing run-${band}` }),
        L.polyline(places, { ...options, className: `run run-${band}` }),
        L.tooltip([y, x], {
          permanent: true,
          direction: level ? "bottom" : "left",
          offset: level ? [0, 10] : [-10, 0],
          className: "yard-label run-label",
          pane: "numbers",
          interactive: false,
          content: h("span", null, percentText(share)),
        }),
      ];
    });
  }
}
