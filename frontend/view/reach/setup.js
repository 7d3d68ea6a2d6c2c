// What a search of the yard is asked: where it starts, what it keeps out of, where it may end.

import { kindOf, outlinesOf } from "../../model/document/shapes.js";
import { ANYWHERE, goals, heeded, LOT_LINE, sources, startOf, withHeeded, withStart } from "../../model/request/reach.js";
import { readMeasure } from "../../model/units/parse_measure.js";
import { toNumber } from "../../model/units/rational.js";
import { lengthUnitM, plain, unitOf } from "../../model/units/units.js";
import { h, say } from "../dom.js";

const OWN = "own";
const WHOLE = "anywhere in the yard";

// Two fields for a place on the map, right and up from its lower left corner.
export class PlaceFields {
  // `onPlace([x, y])` is called with metres once both fields can be read after a change.
  constructor(id, what, store, onPlace) {
    Object.assign(this, { store, onPlace });
    this.inputs = ["Right", "Up"].map((way) =>
      h("input", {
        id: `${id}-${way.toLowerCase()}`,
        inputmode: "decimal",
        autocomplete: "off",
        "aria-label": `${way}, ${what}`,
        onchange: () => this.#typed(),
      }),
    );
    this.elements = this.inputs.map((input, i) =>
      h("div", { class: "field" }, h("label", { for: input.id }, ["Right", "Up"][i], h("span", { class: "unit" })), input),
    );
  }

  // Show a place in metres, but not over what is being typed; null: leave the fields as they are.
  show(metres, units) {
    const size = lengthUnitM(units);
    for (const element of this.elements) say(element.querySelector(".unit"), ` (${unitOf("distance", units)})`);
    if (!metres || this.inputs.includes(document.activeElement)) return;
    this.inputs.forEach((input, i) => {
      input.value = plain(metres[i] / size, units === "us" ? 1 : 2);
      input.removeAttribute("aria-invalid");
    });
  }

  // The typed place in metres; null, and told at the fields, where one cannot be read.
  read() {
    const { units } = this.store.plan;
    const values = this.inputs.map((input) => {
      const { value } = readMeasure(input.value, unitOf("distance", units));
      input.setAttribute("aria-invalid", String(!value));
      return value && toNumber(value) * lengthUnitM(units);
    });
    return values.every((value) => value !== undefined) ? values : null;
  }

  #typed() {
    const place = this.onPlace && this.inputs.every((input) => input.value.trim()) && this.read();
    if (place) this.onPlace(place);
  }
}

export class ReachSetup {
  #drawn = null;

  // `onDraw(kind)` lets the user draw the lot line or an area.
  constructor({ yardMap, store }, onDraw) {
    Object.assign(this, { yardMap, store });
    this.place = new PlaceFields("reach-start", "where the pipe starts", store, (metres) => this.#start(yardMap.plane.fromMetres(metres)));
    this.source = h("select", { id: "reach-source", onchange: () => this.#choose() });
    this.goal = h("select", {
      id: "reach-goal",
      onchange: () => store.edit((plan) => ({ ...plan, search: { ...plan.search, goal: this.goal.value } })),
    });
    this.heeds = h("ul", { class: "reach-heeds" });
    this.clearance = h("input", { id: "reach-clearance", "data-path": "search.clearance" });
    this.places = h("div", { class: "reach-places" });
    this.about = h(
      "p",
      { class: "hint" },
      "A place to reach is where you want the water to come out, such as a ditch or a curb: a point or a line. With one, the search tells whether gravity brings the pipe there.",
    );
    const button = (kind, text) => h("button", { type: "button", onclick: () => onDraw(kind) }, text);
    this.element = h(
      "div",
      { class: "reach-setup" },
      h(
        "div",
        { class: "pair" },
        h("div", { class: "field" }, h("label", { for: "reach-source" }, "The pipe starts at"), this.source),
        this.place.elements,
        h("div", { class: "field" }, h("label", { for: "reach-goal" }, "It may come out"), this.goal),
      ),
      h("div", { class: "sheet-tools" }, button("target", "Draw a place to reach")),
      this.about,
      this.places,
      h(
        "details",
        { class: "more", id: "reach-heeded" },
        h("summary", null, "What it keeps out of"),
        this.heeds,
        h(
          "div",
          { class: "field reach-clearance" },
          h("label", { for: "reach-clearance" }, "Kept away from all of these by"),
          this.clearance,
        ),
        h("div", { class: "sheet-tools" }, button("avoid", "Draw an area to keep out of"), button("lot", "Draw the lot line")),
      ),
    );
  }

  show(plan, base) {
    const { features, plane } = this.yardMap;
    const starts = sources(plan, features);
    const ends = goals(plan, features);
    const heard = heeded(plan, features);
    const aims = ends.some(({ key }) => kindOf(key) === "target");
    this.about.hidden = aims; // the list of places says it
    const { avoid, lot } = outlinesOf(plan);
    const drawnNames = avoid.map(({ name }, i) => name || `Area ${i + 1}`);
    const heeds = [...heard, ...(lot.length > 2 ? [{ name: LOT_LINE, within: true }] : [])];
    const drawn = JSON.stringify([starts.map(({ key }) => key), ends, heeds.map(({ name }) => name), drawnNames]);
    if (drawn !== this.#drawn) {
      this.#drawn = drawn;
      const option = ({ key, name }) => h("option", { value: key }, name);
      this.source.replaceChildren(...starts.map(option), option({ key: OWN, name: "a place of your own" }));
      this.goal.replaceChildren(
        ...(aims
          ? [option({ key: "", name: "at the places you drew" }), option({ key: ANYWHERE, name: WHOLE })]
          : [option({ key: "", name: WHOLE })]),
        ...ends.map(option),
      );
      this.heeds.replaceChildren(...heeds.map((one) => this.#heed(one)), ...drawnNames.map((name) => h("li", null, `${name} (drawn)`)));
    }
    const start = startOf(plan, base, features);
    this.place.show(plane.toMetres(start), plan.units);
    this.source.value = starts.find(({ point }) => same(point, start))?.key ?? OWN;
    this.goal.value = plan.search.goal;
    if (!this.goal.value) this.goal.value = "";
    for (const box of this.heeds.querySelectorAll("input")) box.checked = !plan.search.skip.includes(box.value);
  }

  // Mark the field that cannot be read; the search's own words say why.
  tell(problems) {
    const wrong = problems.some(({ path }) => path === "search.clearance");
    this.clearance.setAttribute("aria-invalid", String(wrong));
  }

  #heed({ name, within }) {
    const box = h("input", {
      type: "checkbox",
      value: name,
      onchange: () => this.store.edit((plan) => withHeeded(plan, name, box.checked)),
    });
    return h("li", null, h("label", null, box, within ? `${name}: stay inside` : name));
  }

  #choose() {
    const chosen = sources(this.store.plan, this.yardMap.features).find(({ key }) => key === this.source.value);
    if (chosen) this.#start(chosen.point);
    else this.place.inputs[0].focus();
  }

  #start(point) {
    this.store.edit((plan) => withStart(plan, point));
  }
}

const same = (a, b) => Math.abs(a[0] - b[0]) < 1e-6 && Math.abs(a[1] - b[1]) < 1e-6;
