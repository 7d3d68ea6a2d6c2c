// The points of the shape under the hand as a table: every map action, for keyboards and screen
// readers.

import { isClosed, kindOf, leastPoints } from "../../model/document/shapes.js";
import { bearing, inserted, legLength, lineLength, middle, moved, removed, withLeg } from "../../model/geometry/polyline.js";
import { shapeStretch } from "../../model/request/branches.js";
import { readMeasure } from "../../model/units/parse_measure.js";
import { toNumber } from "../../model/units/rational.js";
import { lengthUnitM, plain, unitOf } from "../../model/units/units.js";
import { pointName, sizeWords } from "../../model/wording/points.js";
import { byId, h, say } from "../dom.js";

const COLUMNS = { right: "Right", up: "Up", leg: "Leg", bearing: "Bearing" };
const NORTH = 90;

const BY_KEYS = matchMedia("(pointer: coarse)").matches ? "" : " By keys: Tab to it, the arrows move it, with Shift ten times as far.";

// How long the line in hand is, over the yard; over the table, how a point of this kind of shape is moved.
export function sayLine(plan, { id, shown }, plane) {
  const line = shown.map((point) => plane.toMetres(point));
  const stretch = line.length < 2 ? 1 : shapeStretch(plan, id, lineLength(line));
  say(byId("line-readout"), line.length < 2 ? "" : sizeWords(line, { id, units: plan.units, stretch }));
  const point = { line: "bend", branch: "bend", target: "point" }[kindOf(id)] ?? "corner";
  say(byId("drag-words"), `Drag a point, or the small handles between; right-click or hold a ${point} to remove it.${BY_KEYS}`);
}

export class BendTable {
  #rows = [];
  #drawn = null;

  // `planeOf()` answers the base's plane.
  constructor(host, store, active, { planeOf, onDraw }) {
    Object.assign(this, { store, active, planeOf });
    this.body = h("tbody");
    this.empty = h("p", { class: "hint" }, "No points yet.");
    this.frame = h(
      "div",
      { class: "table-frame" },
      h(
        "table",
        { class: "sheet bends" },
        h(
          "thead",
          null,
          h(
            "tr",
            null,
            h("th", { scope: "col" }, "Point"),
            Object.values(COLUMNS).map((name) => h("th", { scope: "col" }, name, h("span", { class: "unit" }))),
            h("th", { scope: "col" }, h("span", { class: "unseen" }, "Add or remove")),
          ),
        ),
        this.body,
      ),
    );
    host.append(
      h(
        "p",
        { class: "hint" },
        "Right and up are from the map's lower left corner. A leg is the " +
          "length from the point before, its bearing clockwise from up (north is 0°); changing them " +
          "moves all that follows.",
      ),
      this.empty,
      this.frame,
      h(
        "div",
        { class: "sheet-tools" },
        h("button", { type: "button", onclick: () => this.#append() }, "Add a point at the end"),
        h("button", { type: "button", class: "quiet", onclick: onDraw }, "Draw on the map"),
      ),
    );
  }

  show(plan) {
    const plane = this.planeOf();
    const line = this.active.shown.map((point) => plane.toMetres(point));
    const drawn = `${this.active.id} ${line.length}`;
    if (drawn !== this.#drawn) this.#rebuild(line.length);
    this.#drawn = drawn;
    const size = lengthUnitM(plan.units);
    const digits = plan.units === "us" ? 2 : 3;
    line.forEach(([x, y], i) => {
      const values = { right: plain(x / size, digits), up: plain(y / size, digits) };
      if (i) {
        values.leg = plain(legLength(line[i - 1], line[i]) / size, digits);
        values.bearing = plain(bearing(line[i - 1], line[i]), 1);
      }
      for (const [name, input] of Object.entries(this.#rows[i])) {
        if (input !== document.activeElement || !input.dataset.typing) input.value = values[name];
      }
    });
    const unit = ` ${unitOf("distance", plan.units)}`;
    [...this.frame.querySelectorAll(".unit")].forEach((slot, k) => say(slot, k === 3 ? " °" : unit));
  }

  #rebuild(count) {
    this.empty.hidden = count > 0;
    this.frame.hidden = count === 0;
    this.#rows = [];
    this.body.replaceChildren(...Array.from({ length: count }, (_, i) => this.#row(i, count)));
  }

  #row(i, count) {
    const { id } = this.active;
    const name = pointName(i, count, id);
    const inputs = {};
    const cells = Object.keys(COLUMNS).map((column) => {
      if (i === 0 && (column === "leg" || column === "bearing")) return h("td");
      const input = h("input", {
        id: `point-${i}-${column}`,
        "aria-label": `${COLUMNS[column]}, ${name}`,
        inputmode: "decimal",
        autocomplete: "off",
        oninput: () => {
          input.dataset.typing = "yes";
        },
        onchange: () => this.#typed(i, column, input),
        onblur: () => {
          delete input.dataset.typing;
          this.show(this.store.plan);
        },
        onfocus: () => input.select(),
        onkeydown: (event) => event.key === "Enter" && this.#typed(i, column, input),
      });
      inputs[column] = input;
      return h("td", null, input);
    });
    const button = (text, label, onclick, disabled) =>
      h("button", { type: "button", class: "icon", "aria-label": label, title: label, onclick, disabled }, text);
    this.#rows.push(inputs);
    return h(
      "tr",
      null,
      h("th", { scope: "row" }, name),
      cells,
      h(
        "td",
        { class: "row-tools" },
        i > 0 &&
          button("+", `Add a ${isClosed(id) ? "corner" : kindOf(id) === "target" ? "point" : "bend"} before ${name}`, () =>
            this.#insert(i),
          ),
        button("×", `Remove ${name}`, () => this.#edit((line) => removed(line, i)), count <= leastPoints(id)),
      ),
    );
  }

  #typed(i, column, input) {
    delete input.dataset.typing;
    const { units } = this.store.plan;
    const read = readMeasure(input.value, column === "bearing" ? "" : unitOf("distance", units));
    input.setAttribute("aria-invalid", String(!read.value));
    if (!read.value) return;
    const value = toNumber(read.value) * (column === "bearing" ? 1 : lengthUnitM(units));
    this.#editMetres((line) => {
      const [x, y] = line[i];
      if (column === "right") return moved(line, i, [value, y]);
      if (column === "up") return moved(line, i, [x, value]);
      const [degrees, length] = [bearing(line[i - 1], line[i]), legLength(line[i - 1], line[i])];
      return column === "leg" ? withLeg(line, i, degrees, value) : withLeg(line, i, value, length);
    });
  }

  #insert(i) {
    this.#edit((line) => inserted(line, i, middle(line[i - 1], line[i])));
    this.#rows[i].right.focus();
  }

  // One more point, going on straight by 10 ft or 3 m; the first two start in the corner.
  #append() {
    const step = this.store.plan.units === "us" ? 10 * lengthUnitM("us") : 3;
    this.#editMetres((line) => {
      if (!line.length)
        return [
          [step, step],
          [2 * step, step],
        ].slice(0, leastPoints(this.active.id));
      const last = line.at(-1);
      const degrees = line.length > 1 ? bearing(line.at(-2), last) : NORTH;
      return [...line, withLeg([last, last], 1, degrees, step)[1]];
    });
    this.#rows.at(-1).right.focus();
  }

  #editMetres(change) {
    const plane = this.planeOf();
    this.#edit((line) => change(line.map(plane.toMetres)).map(plane.fromMetres));
  }

  #edit(change) {
    this.active.edit(change);
  }
}
