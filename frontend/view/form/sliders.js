// Sliders beside the drawing: four figures to try, each the same as its field in the form.

import { takenValues } from "../../model/changes/conditions.js";
import { gestureKey } from "../../model/changes/history.js";
import { SLIDERS, sliderAt, withSlide } from "../../model/changes/sliders.js";
import { gradeWords } from "../../model/units/grade.js";
import { plain } from "../../model/units/units.js";
import { byId, h, idOf, say } from "../dom.js";

const MM_PER_IN = 25.4;
const NAMES = {
  "grade.min_percent": () => "Minimum grade",
  "start.value": (plan) => (plan.start.by === "depth" ? "Start depth" : "Start cover"),
  "limits.max_depth": () => "Deepest dig",
  "outlet.max": () => "Deepest outlet",
};

export class Sliders {
  #usual = { units: null, values: new Map() };
  #gesture = null;

  constructor(store) {
    this.store = store;
    this.rows = SLIDERS.map((slider) => this.#row(slider));
    byId("sliders").append(...this.rows.map((row) => row.element));
    store.watch((plan) => this.show(plan));
  }

  #row(slider) {
    const id = `slide-${idOf(slider.path)}`;
    const [name, reading] = [h("span"), h("output", { for: id })];
    const range = h("input", { type: "range", id });
    const element = h("div", { class: "slider" }, h("label", { for: id }, name, reading), range);
    range.addEventListener("pointerdown", () => {
      this.#gesture = gestureKey();
    });
    range.addEventListener("input", () =>
      this.store.edit((plan) => withSlide(plan, slider, Number(range.value)), {
        key: this.#gesture ?? `slide ${slider.path}`,
        origin: "drag",
      }),
    );
    range.addEventListener("change", () => {
      this.#gesture = null;
    });
    return { slider, element, name, reading, range };
  }

  // What an answer took where a field was left empty.
  showUsual(answer) {
    const assumed = answer.assumptions.map(({ pointer, value }) => [pointer, value]);
    this.#usual = { units: answer.units, values: new Map([...assumed, ...takenValues(answer.answer)]) };
    this.show(this.store.plan);
  }

  // The same in the plan's units, which may have been switched since that answer.
  #usualIn(units) {
    const { units: told, values } = this.#usual;
    if (told === units) return values;
    return new Map(
      [...values].map(([pointer, value]) => [
        pointer,
        pointer.endsWith("percent") ? value : value * (units === "si" ? MM_PER_IN : 1 / MM_PER_IN),
      ]),
    );
  }

  show(plan) {
    const usual = this.#usualIn(plan.units);
    for (const { slider, element, name, reading, range } of this.rows) {
      const stand = sliderAt(plan, slider, usual);
      element.hidden = !stand;
      if (!stand) continue;
      say(name, NAMES[slider.path](plan));
      const text = stand.open
        ? "no limit"
        : slider.path === "grade.min_percent"
          ? gradeWords(stand.value, plan.grade.way)
          : `${plain(stand.value, 2)} ${stand.unit}`;
      say(reading, text);
      range.setAttribute("aria-valuetext", text);
      for (const [key, value] of [
        ["min", stand.least],
        ["max", stand.most],
        ["step", stand.step],
      ]) {
        if (range[key] !== String(value)) range[key] = value;
      }
      if (Number(range.value) !== stand.value) range.value = stand.value;
    }
  }
}
