// The planner page: wires the plan to its views and to the planner's answer.

import { fetchDemo } from "./api/planner.js";
import { keepPage, WITHHELD } from "./api/pocket.js";
import { demoDocument } from "./model/document/demo_document.js";
import { inUnits, isDiggable, lineOf, TABLELESS, withGround, withWayOf } from "./model/document/document.js";
import { ownYard } from "./model/document/shapes.js";
import { lastStation } from "./model/document/tables.js";
import { withPaper } from "./model/request/paper.js";
import { buildRequest } from "./model/request/request.js";
import { plain, unitsOfCountry } from "./model/units/units.js";
import { ActiveShape } from "./state/active_shape.js";
import { emptyPlan, examplePlan, examplePlans } from "./state/examples.js";
import { PlanStore } from "./state/plan_store.js";
import { StationMark } from "./state/station_mark.js";
import { Alternatives } from "./view/answer/alternatives.js";
import { Answers } from "./view/answer/answers.js";
import { Papers } from "./view/answer/papers.js";
import { Verdict } from "./view/answer/verdict.js";
import { byId, h } from "./view/dom.js";
import { buildFiner } from "./view/form/advanced.js";
import { branchKind } from "./view/form/branches.js";
import { Choices } from "./view/form/choices.js";
import { coverKind } from "./view/form/covers.js";
import { CROSSINGS, FILLS } from "./view/form/crossings.js";
import { YardSheet } from "./view/form/field_entry.js";
import { Form } from "./view/form/form.js";
import { Sheets } from "./view/form/ground_tables.js";
import { buildParts, showParts } from "./view/form/inflow_parts.js";
import { INFLOWS, OPENINGS, STORMS } from "./view/form/inflows.js";
import { Jobs, LATER } from "./view/jobs/jobs.js";
import { Uploads } from "./view/jobs/uploads.js";
import { bringUp, Layout, reveal } from "./view/layout.js";
import { RouteLine } from "./view/map/active_line.js";
import { Bases, onKnownBase } from "./view/map/bases.js";
import { Pen } from "./view/map/draw.js";
import { Along } from "./view/map/line_markers.js";
import { YardMap } from "./view/map/map.js";
import { Outlines } from "./view/map/outlines.js";
import { PipeRuns } from "./view/map/pipe_fill.js";
import { BendTable, sayLine } from "./view/map/points_table.js";
import { Shapes } from "./view/map/shapes.js";
import { Site } from "./view/map/site_plan.js";
import { Snapping } from "./view/map/snapping.js";
import { MapTools } from "./view/map/toolbar.js";
import { OldPipeCheck } from "./view/old_pipe/form.js";
import { GroundOffer } from "./view/place/ground_offer.js";
import { Reach } from "./view/reach/reach.js";
import { AsBuilt } from "./view/trench/as_built.js";
import { TrenchCheck } from "./view/trench/trench.js";
import { Question } from "./view/widgets/dialog.js";
import { FractionKeys } from "./view/widgets/fraction_keys.js";
import { ThingList } from "./view/widgets/item_list.js";

class Page {
  async start() {
    this.mark = new StationMark();
    this.layout = new Layout(() => this.yardMap?.showAll());
    this.store = new PlanStore(localStorage);
    this.verdict = new Verdict();
    this.verdict.load();
    buildFiner();
    this.question = new Question();
    this.bases = new Bases(this.store);
    this.form = new Form(this.store);
    this.choices = new Choices(this.store, this.form);
    [this.demo] = await Promise.all([fetchDemo(), this.bases.load(), this.choices.load()]);
    if (!this.store.restore()) this.store.begin(demoDocument(this.demo, "works", unitsOfCountry(navigator.languages)));
    this.store.edit((plan) => onKnownBase(plan, this.bases, this.demo), { key: "base" });

    this.#buildViews();
    this.form.bindPage(document);
    this.#bindTools();
    this.store.watch((plan, _, origin) => this.#show(plan, origin));
    this.form.show();
    this.layout.screen(this.store.plan.route.kind === "drawn" ? "place" : "entries");
    this.sheets.show(this.store.plan);
    this.oldPipe.show(this.store.plan);
    for (const list of Object.values(this.things)) list.show(this.store.plan);
    this.#show(this.store.plan, null);
    this.yard = new YardSheet(this.store, this.form);
    this.trench.begin();
    this.jobs = new Jobs(this, document.querySelector("header.top h1"));
    this.asBuilt = new AsBuilt(this.trench, this.jobs);
    document.documentElement.dataset.ready = "yes";
    performance.mark("usable");
    keepPage(LATER).then((kept) => {
      // Told beforehand, so that nobody finds out in the trench.
      if (!kept && !isSecureContext) byId("trench").append(h("p", { class: "hint", id: "withheld" }, WITHHELD));
    });
  }

  #buildViews() {
    const again = () => this.#show(this.store.plan, null);
    this.yardMap = new YardMap(this.mark);
    const planeOf = () => this.yardMap.plane;
    this.active = new ActiveShape(this.store, planeOf);
    const snapping = new Snapping(this.yardMap, this.store);
    this.route = new RouteLine(this.yardMap, this.store, this.mark, this.active, snapping);
    this.pen = new Pen(this.yardMap, this.store, this.active, snapping, again);
    buildParts(byId("inflow-parts"));
    this.things = {
      crossings: new ThingList(this.store, this.form, CROSSINGS),
      covers: new ThingList(this.store, this.form, coverKind(this.store, { planeOf, onMove: (id) => this.#corners(id) })),
      fills: new ThingList(this.store, this.form, FILLS),
      inflows: new ThingList(this.store, this.form, INFLOWS),
      branches: new ThingList(this.store, this.form, branchKind(this.store)),
      openings: new ThingList(this.store, this.form, OPENINGS),
      storms: new ThingList(this.store, this.form, STORMS),
    };
    const toForm = (sheet, i) => this.things[sheet].focus(i);
    this.along = new Along(this.yardMap, this.store, {
      onPlaced: toForm,
      onFocus: toForm,
      onChange: again,
      onBranch: (point, drawing) => this.pen.begin("branch", { ...drawing, first: point }),
      onBegin: () => this.#oneHand(this.along),
    });
    this.shapes = new Shapes(this.yardMap, this.store, this.active, {
      busy: () => this.pen.drawing || this.#placing,
      onTarget: (id) => this.reach.pickTarget(id),
    });
    this.runs = new PipeRuns(this.yardMap);
    this.site = new Site(this.yardMap, this.store, this.bases, { onChange: again, onBegin: () => this.#oneHand(this.site) });
    this.offer = new GroundOffer(this.store, this.bases, this.yardMap, this.demo, {
      onChange: again,
      onBegin: () => this.#oneHand(this.offer),
    });
    this.uploads = new Uploads(this.store, this.bases, {
      question: this.question,
      demo: this.demo.raster,
      busy: () => this.pen.drawing || this.#placing,
      onDraw: () => this.#draw(),
    });
    this.bases.beforeChange = () => this.#oneHand(null);
    this.outlines = new Outlines(this.store, { planeOf, onMove: (id) => this.#take(id) });
    this.bends = new BendTable(byId("bends"), this.store, this.active, { planeOf, onDraw: () => this.#draw() });
    this.tools = new MapTools(this.store, this.active, {
      pen: this.pen,
      along: this.along,
      site: this.site,
      offer: this.offer,
      snapping,
      onDraw: (kind) => this.#draw(kind),
    });
    this.reach = new Reach(this, {
      snapping,
      busy: () => this.#placing,
      onDraw: (kind) => this.#draw(kind),
    });
    this.active.watch(again);
    this.sheets = new Sheets(byId("sheets"), this.store, this.form, {
      onExample: (kind) => this.store.edit((plan) => withWayOf(examplePlan(this.demo, kind, plan.units), plan)),
    });
    this.fractions = new FractionKeys(this.store);
    this.papers = new Papers(byId("papers"), this.store, {
      requestOf: () => isDiggable(this.store.plan) && this.#paperRequest(),
      keptAs: () => this.jobs.keptAs(),
    });
    this.trench = new TrenchCheck({
      requestOf: () => (isDiggable(this.store.plan) ? this.#request() : null),
      knownOf: () => this.answers.last.get(),
      before: byId("cautions"),
    });
    this.oldPipe = new OldPipeCheck(this.store, this.form, { pipes: this.choices.pipes, before: byId("cautions") });
    this.answers = new Answers(this, {
      typeReadings: () => this.#typeReadings(),
      draw: () => this.#draw(),
      ownYard: () => {
        this.store.edit(ownYard);
        reveal(byId("own-yard"));
        byId("own-file").focus();
      },
      goOn: () => this.sheets.focusFirst(),
      setScale: () => this.site.begin(),
      search: () => this.reach.open(),
    });
    this.alternatives = new Alternatives(this.store, this.bases, byId("papers"));
  }

  #bindTools() {
    byId("undo").addEventListener("click", () => this.store.undo());
    byId("to-map").addEventListener("click", () => {
      if (lineOf(this.store.plan).length < 2) this.#draw();
      else this.store.edit((plan) => ({ ...plan, route: { ...plan.route, kind: "drawn" } }));
    });
    byId("redo").addEventListener("click", () => this.store.redo());
    addEventListener("keydown", (event) => this.#key(event));
    for (const radio of document.querySelectorAll("input[name=units]")) {
      radio.addEventListener("change", () => this.store.edit((plan) => inUnits(plan, radio.value)));
    }
    const ground = byId("ground-kind");
    ground.addEventListener("change", () => this.store.edit((plan) => withGround(plan, ground.value)));
    this.#listExamples();
  }

  #listExamples() {
    const menu = byId("examples");
    byId("example-list").replaceChildren(
      ...[...examplePlans(this.demo, "us"), ...this.offer.plans()].map(({ text, about, begin }, i) =>
        h(
          "button",
          {
            type: "button",
            onclick: () => {
              menu.open = false;
              menu.querySelector("summary").focus();
              if (begin) begin();
              else this.store.edit((plan) => withWayOf(examplePlans(this.demo, plan.units)[i].plan(), plan));
              byId("yard").scrollTop = 0;
            },
          },
          h("b", null, text),
          h("small", null, about),
        ),
      ),
    );
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

  // One thing at a time is done by clicks on the map: whatever else was begun is left.
  #oneHand(taken) {
    if (taken !== this.pen && this.pen.drawing) this.pen.leave();
    if (taken !== this.along && this.along.placing) this.along.stop();
    if (taken !== this.site && this.site.clicking) this.site.stop();
    if (taken !== this.offer && this.offer.clicking) this.offer.stop();
  }

  get #placing() {
    return this.along.placing || this.site.clicking || this.offer.clicking;
  }

  #draw(kind) {
    this.#oneHand(this.pen);
    this.pen.begin(kind);
    reveal(byId("map"));
  }

  // Take a shape under the hand, and bring the map into view.
  #take(id) {
    this.active.choose(id);
    reveal(byId("map"));
  }

  // Draw the corners of an area, or move those that it has.
  #corners(id) {
    this.active.choose(id);
    if (this.active.points.length) this.#take(id);
    else {
      this.#oneHand(this.pen);
      this.pen.goOn(id);
      reveal(byId("map"));
    }
  }

  #typeReadings() {
    this.store.edit((plan) => withWayOf(withGround(emptyPlan(this.demo, plan.units), "level_line"), plan));
    bringUp("ground");
    this.sheets.focusFirst();
  }

  // Show a plan everywhere it appears, and ask for its answer.
  #show(plan, origin) {
    byId("undo").disabled = !this.store.canUndo;
    byId("redo").disabled = !this.store.canRedo;
    for (const radio of document.querySelectorAll("input[name=units]")) radio.checked = radio.value === plan.units;
    byId("ground-kind").value = plan.ground;
    byId("yard-open").hidden = TABLELESS.includes(plan.ground);
    this.bases.show(plan);
    this.choices.show(plan);
    showParts(plan);
    this.#showRoute(plan);
    this.reach.show(plan);
    this.answers.ask(plan, origin);
    this.papers.show(plan);
    this.alternatives.show(plan);
    this.trench.show();
  }

  // The request of the plan as it stands; null while something is missing.
  #request() {
    const { plan } = this.store;
    return buildRequest(plan, this.bases.get(plan.base)).body;
  }

  #paperRequest() {
    const { plan } = this.store;
    const body = this.#request();
    return body && withPaper(body, plan, this.bases.get(plan.base), this.bases.featuresOf(plan, this.demo));
  }

  #showRoute(plan) {
    const drawn = plan.route.kind === "drawn";
    byId("desk").classList.toggle("taped", !drawn);
    byId("drawn-route").hidden = !drawn;
    byId("taped-route").hidden = drawn;
    if (this.pen.drawing && !drawn) this.pen.finish();
    const last = lastStation(plan, plan.ground);
    this.form.suggest("route.length", last ? plain(last, 2) : "");
    if (!drawn) return;
    const base = this.bases.get(plan.base);
    const features = this.bases.featuresOf(plan, this.demo);
    if (this.shownBase !== base || this.shownUnits !== plan.units) this.yardMap.setBase(base, features, plan.units);
    this.shownUnits = plan.units;
    this.shownBase = base;
    this.pen.heed(plan);
    this.shapes.show(plan);
    this.route.show({ quiet: this.pen.drawing });
    this.along.show(plan);
    this.runs.show(plan);
    this.outlines.show(plan);
    this.bends.show(plan);
    this.site.show(plan);
    this.offer.show(plan);
    this.uploads.show(plan);
    this.tools.show(plan);
    sayLine(plan, this.active, this.yardMap.plane);
  }
}

new Page().start().catch((error) => {
  byId("sentence").textContent = "The page could not load what it needs. Is the planner running? Then reload.";
  console.error(error);
});
