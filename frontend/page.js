// The planner page: wires the plan to its views and to the planner's answer.
import { Answers } from "./answers.js";
import { Bases, onKnownBase } from "./bases.js";
import { emptyPlan, examplePlan, examplePlans } from "./examples.js";
import { StationMark } from "./mark.js";
import { fetchDemo } from "./service.js";
import { PlanStore } from "./store.js";
import { demoDocument, inUnits, lineOf, withGround } from "./sums/document.js";
import { lineLength } from "./sums/line.js";
import { lastStation } from "./sums/sheet.js";
import { distanceText, plain } from "./sums/units.js";
import { BendTable } from "./view/bends.js";
import { Choices } from "./view/choices.js";
import { Crossings } from "./view/crossings.js";
import { byId, h, say } from "./view/element.js";
import { Form } from "./view/form.js";
import { FractionKeys } from "./view/fractions.js";
import { YardMap } from "./view/map.js";
import { Pen } from "./view/pen.js";
import { RouteLine } from "./view/route.js";
import { Sheets } from "./view/sheets.js";
import { Verdict } from "./view/verdict.js";
import { YardSheet } from "./view/yard.js";

const NARROW_PX = 992;

class Page {
  async start() {
    this.mark = new StationMark();
    this.store = new PlanStore(localStorage);
    this.verdict = new Verdict();
    this.verdict.show("none", "Loading…");
    this.bases = new Bases(this.store);
    this.form = new Form(this.store);
    this.choices = new Choices(this.store, this.form);
    [this.demo] = await Promise.all([fetchDemo(), this.bases.load(), this.choices.load()]);
    if (!this.store.restore()) this.store.begin(demoDocument(this.demo, "works"));
    this.store.edit((plan) => onKnownBase(plan, this.bases, this.demo), { key: "base" });

    this.#buildViews();
    this.form.bindPage(document);
    this.#bindTools();
    this.store.watch((plan, before, origin) => this.#show(plan, before, origin));
    this.form.show();
    this.sheets.show(this.store.plan);
    this.crossings.show(this.store.plan);
    this.#show(this.store.plan, null, null);
    this.yard = new YardSheet(this.store, this.form);
    document.documentElement.dataset.ready = "yes";
    performance.mark("usable");
  }

  #buildViews() {
    this.yardMap = new YardMap(this.mark);
    this.route = new RouteLine(this.yardMap, this.store, this.mark);
    this.pen = new Pen(this.yardMap, this.store, () => this.#show(this.store.plan, null, null));
    this.bends = new BendTable(byId("bends"), this.store, {
      planeOf: () => this.yardMap.plane, onDraw: () => this.#draw(),
    });
    this.sheets = new Sheets(byId("sheets"), this.store, this.form, {
      onExample: (kind) => this.store.edit((plan) => examplePlan(this.demo, kind, plan.units)),
    });
    this.crossings = new Crossings(this.store, this.form);
    this.fractions = new FractionKeys(this.store);
    this.answers = new Answers(this, {
      typeReadings: () => this.#typeReadings(),
      draw: () => this.#draw(),
      goOn: () => this.sheets.focusFirst(),
    });
  }

  #bindTools() {
    byId("undo").addEventListener("click", () => this.store.undo());
    byId("redo").addEventListener("click", () => this.store.redo());
    addEventListener("keydown", (event) => this.#key(event));
    for (const radio of document.querySelectorAll("input[name=units]")) {
      radio.addEventListener("change", () => this.store.edit((plan) => inUnits(plan, radio.value)));
    }
    const ground = byId("ground-kind");
    ground.addEventListener("change", () => this.store.edit((plan) => withGround(plan, ground.value)));
    const button = (id, text, onclick, look = null) =>
      h("button", { type: "button", id, class: look, onclick }, text);
    byId("map-tools").append(
      button("draw", "Draw a new line", () => this.#draw()),
      button("draw-finish", "Finish", () => this.pen.finish(), "primary"),
      button("draw-back", "Take back a point", () => this.pen.takeBack(), "quiet"),
      button("draw-cancel", "Cancel", () => this.pen.cancel(), "quiet"));
    this.#listExamples();
  }

  #listExamples() {
    const menu = byId("examples");
    byId("example-list").replaceChildren(...examplePlans(this.demo, "us").map(({ text, about }, i) =>
      h("button", {
        type: "button",
        onclick: () => {
          menu.open = false;
          menu.querySelector("summary").focus();
          this.store.edit((plan) => examplePlans(this.demo, plan.units)[i].plan());
        },
      }, h("b", null, text), h("small", null, about))));
    document.addEventListener("click", (event) => {
      if (!menu.contains(event.target)) menu.open = false;
    });
  }

  #key(event) {
    if (event.key === "Escape") {
      byId("examples").open = false;
      if (!this.pen.drawing) this.mark.clear();
    }
    if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
    const key = event.key.toLowerCase();
    if (key === "z" || key === "y") {
      event.preventDefault();
      if (key === "y" || event.shiftKey) this.store.redo();
      else this.store.undo();
    }
  }

  #draw() {
    this.pen.begin();
    byId("map-tools").scrollIntoView({ block: innerWidth < NARROW_PX ? "start" : "nearest" });
  }

  #typeReadings() {
    this.store.edit((plan) => withGround(emptyPlan(this.demo, plan.units), "level_line"));
    byId("ground").scrollIntoView({ block: "start" });
    this.sheets.focusFirst();
  }

  // Show a plan everywhere it appears, and ask for its answer.
  #show(plan, before, origin) {
    byId("undo").disabled = !this.store.canUndo;
    byId("redo").disabled = !this.store.canRedo;
    for (const radio of document.querySelectorAll("input[name=units]")) radio.checked = radio.value === plan.units;
    byId("ground-kind").value = plan.ground;
    byId("yard-open").hidden = plan.ground === "raster";
    this.bases.show(plan);
    this.choices.show(plan);
    this.#showRoute(plan, before);
    this.answers.ask(plan, origin);
  }

  #showRoute(plan, before) {
    const drawn = plan.route.kind === "drawn";
    byId("drawn-route").hidden = !drawn;
    byId("taped-route").hidden = drawn;
    if (this.pen.drawing && !drawn) this.pen.finish();
    const last = lastStation(plan, plan.ground);
    this.form.suggest("route.length", last ? plain(last, 2) : "");
    if (!drawn) return;
    const base = this.bases.get(plan.base);
    const features = plan.base === this.demo.raster ? this.demo.features : null;
    if (this.shownBase !== base) this.yardMap.setBase(base, features, plan.units);
    else if (before && before.units !== plan.units) this.yardMap.showScale(plan.units);
    this.shownBase = base;
    const line = lineOf(plan);
    this.route.show(line, { quiet: this.pen.drawing });
    this.bends.show(plan);
    const { drawing } = this.pen;
    byId("draw").hidden = drawing;
    byId("draw-words").hidden = !drawing;
    for (const id of ["draw-finish", "draw-back", "draw-cancel"]) byId(id).hidden = !drawing;
    byId("draw-back").disabled = line.length === 0;
    say(byId("line-readout"), this.#lineWords(plan, line));
  }

  #lineWords(plan, line) {
    if (line.length < 2) return "";
    const metres = lineLength(line.map((point) => this.yardMap.plane.toMetres(point)));
    const bends = line.length - 2;
    const count = bends === 0 ? "no bend" : bends === 1 ? "1 bend" : `${bends} bends`;
    return `${distanceText(metres, plan.units)} from start to outlet, ${count}. Drag a point, or the small ` +
      "handles between; right-click or hold a bend to remove it.";
  }
}

new Page().start().catch((error) => {
  byId("sentence").textContent = "The page could not load what it needs. Is the planner running? Then reload.";
  console.error(error);
});
