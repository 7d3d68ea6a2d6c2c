// What a search of the yard found, in words: the legend of the map, the routes with their
// figures, why not and what to loosen, what was taken as usual.
import { leftOut } from "../../model/request/reach.js";
import { plain, unitOf } from "../../model/units/units.js";
import { legend } from "../../model/wording/reach_legend.js";
import { chanceWords, gradesWords } from "../../model/wording/reach_routes.js";
import { byId, h, say, svg } from "../dom.js";
import { bringUp } from "../layout.js";
import { cautionList, Footnotes } from "../widgets/footnotes.js";
import { fillOf } from "./map.js";
import { PlaceFields } from "./setup.js";
import { ReachTargets } from "./targets.js";

// Warnings that name a part of the request, in the words of the page.
const WARNINGS = { no_lot_line: "No lot line is drawn, so the search may cross it. It can be drawn under “What it keeps out of”." };
const SWATCH = { width: 36, height: 24 };

export class ReachAnswer {
  #legend = null;
  #rows = [];

  // `steps`: {pick(i), use(i), toPlace(metres), loosen(change)}; `loosen` answers the function
  // that makes a change, or null. `onView(view)` switches between spare and chance.
  constructor(store, steps, onView) {
    Object.assign(this, { store, steps });
    this.own = h("p", { class: "hint", id: "reach-own", hidden: true });
    this.words = h("p", { class: "reach-words", id: "reach-words", role: "status" });
    const radio = (value, text) =>
      h(
        "label",
        null,
        h("input", { type: "radio", name: "reach-view", value, checked: value === "spare", onchange: () => onView(value) }),
        ` ${text}`,
      );
    this.views = h(
      "fieldset",
      { class: "switch reach-views" },
      h("legend", { class: "unseen" }, "The map shows"),
      radio("spare", "Fall to spare"),
      radio("chance", "How sure"),
    );
    this.key = h("ul", { class: "reach-key", "aria-label": "What the map shows" });
    this.targets = new ReachTargets(steps);
    // Where the window is narrow, the way from the map to what its colors mean and to the routes.
    this.lead = h("button", { type: "button", id: "reach-lead", onclick: () => bringUp("reach-title") }, "What the colors mean");
    byId("map-place").append(this.lead);
    this.routes = h("ol", { class: "reach-list", id: "reach-routes" });
    this.asked = h("p", { class: "reach-asked", role: "status" });
    this.loosen = h("ul", { class: "fixes", id: "reach-loosen" });
    this.mend = h("div", { hidden: true }, h("h3", null, "Any one of these would make an outlet"), this.loosen);
    this.found = h("div", { class: "reach-found" }, this.targets.element, this.mend, h("h3", null, "Routes found"), this.routes);
    this.place = new PlaceFields("reach-to", "where the route is to end", store, null);
    this.to = h(
      "fieldset",
      { class: "reach-to" },
      h("legend", null, "A place by its measures, from the map's lower left corner"),
      h("div", { class: "pair three" }, this.place.elements),
      h("button", { type: "button", id: "reach-go", onclick: () => this.#go() }, "Show the route to there"),
    );
    this.notes = h("ul", { class: "notices" });
    this.assumed = h("div");
    this.cautions = h("div");
    this.more = h(
      "div",
      { class: "reach-more", hidden: true },
      this.notes,
      h("details", { class: "more" }, h("summary", null, "Before you dig"), this.cautions),
      h("details", { class: "more" }, h("summary", null, "Defaults used"), this.assumed),
    );
  }

  #go() {
    const metres = this.place.read();
    if (metres) this.steps.toPlace(metres);
  }

  // `view` is spare or chance; the legend follows the areas shown.
  showLegend(collection, units) {
    const rows = legend(collection?.features ?? [], units);
    const drawn = rows.map(({ text }) => text).join("|");
    const area = (row) => `${Math.round(row.area).toLocaleString("en-US")} ${unitOf("area", units)}`;
    if (drawn !== this.#legend) {
      this.#legend = drawn;
      this.key.replaceChildren(
        ...rows.map(({ look, text }) =>
          h(
            "li",
            null,
            svg("svg", { ...SWATCH, class: "swatch", "aria-hidden": "true" }, svg("rect", { ...SWATCH, fill: fillOf(look) })),
            h("span", null, `${text} `, h("small")),
          ),
        ),
      );
    }
    rows.forEach((row, i) => say(this.key.children[i].querySelector("small"), area(row)));
  }

  // How the user's own line stands, so that head and search tell one story; "" for none.
  showOwn(words) {
    say(this.own, words);
    this.own.hidden = !words;
  }

  // During a drag, what a brief answer leaves out is dimmed until it is known.
  wait(waiting) {
    for (const element of [this.found, this.more]) {
      element.classList.toggle("waiting", waiting);
      element.inert = waiting;
    }
  }

  showAll({ targets, loosen, warnings, assumptions, cautions, units, ground_source: source }) {
    this.mend.hidden = !loosen.length || targets.length > 0; // each place to reach has its own
    this.loosen.replaceChildren(
      ...loosen.map((one) => {
        const act = this.steps.loosen(one);
        return h("li", null, h("span", null, one.text), act && h("button", { type: "button", onclick: act }, "Do this"));
      }),
    );
    const told = [...leftOut(this.store.plan), ...warnings.map(({ code, text }) => WARNINGS[code] ?? text)];
    if (source) told.push(source.text);
    this.notes.replaceChildren(...told.map((text) => h("li", null, text)));
    const notes = new Footnotes();
    const usual = assumptions.map(({ text, value, unit, source }) =>
      h("li", null, h("span", null, `${text}: `, h("b", null, `${plain(value, 2)} ${unit}`), notes.mark(source))),
    );
    this.assumed.replaceChildren(h("ul", { class: "assumed" }, usual), ...notes.list);
    this.cautions.replaceChildren(...cautionList(cautions));
    this.more.hidden = false;
    this.place.show(null, units);
  }

  // The routes in the order of their numbers on the map, each with `where` it comes out and what is
  // to be said of that (`near`, or null).
  showRoutes(routes, picked, units) {
    const { way } = this.store.plan.grade;
    const drawn = JSON.stringify([units, way, routes.map(({ title, where, near, line }) => [title, where, near, line.coordinates])]);
    if (drawn !== this.routes.dataset.drawn) {
      this.routes.dataset.drawn = drawn;
      this.#rows = routes.map((route, i) => this.#route(route, i, units));
      const count = routes.length === 1 ? "1 route" : `${routes.length} routes`;
      say(this.lead, routes.length ? `What the colors mean; ${count}` : "What the colors mean");
      this.routes.replaceChildren(...(this.#rows.length ? this.#rows : [h("li", null, "No route was found.")]));
    }
    this.#rows.forEach((row, i) => {
      row.classList.toggle("picked", i === picked);
      row.querySelector(".reach-pick").setAttribute("aria-pressed", String(i === picked));
    });
  }

  #route({ title, where, near, answer, grades, length, deepest, trench_volume, dug_volume: volume = trench_volume, bends }, i, units) {
    const figures = [
      `${plain(length, 1)} ${unitOf("distance", units)} long`,
      bends === 1 ? "1 bend" : `${bends} bends`,
      `deepest ${plain(deepest, units === "us" ? 1 : 0)} ${unitOf("depth", units)}`,
      `${plain(volume, 2)} ${unitOf("volume", units)} to dig`,
    ];
    return h(
      "li",
      null,
      h(
        "button",
        { type: "button", class: "reach-pick", "aria-pressed": "false", onclick: () => this.steps.pick(i) },
        h("span", { class: "reach-badge" }, String(i + 1)),
        h("span", null, where),
      ),
      h("p", { class: "reach-title" }, `${title}.`),
      h("p", null, h("b", null, answer.sentence)),
      near && h("p", { class: "reach-near" }, near),
      answer.conditions.length > 1 &&
        h(
          "ul",
          { class: "reach-conditions", "aria-label": "Its conditions" },
          answer.conditions.map(({ text }) => h("li", null, text)),
        ),
      h("p", null, `${figures.join(", ")}. `, gradesWords(grades, units, this.store.plan.grade.way), chanceWords(answer.chance)),
      h("button", { type: "button", onclick: () => this.steps.use(i), "aria-label": `Use route ${i + 1}: ${title}` }, "Use this route"),
    );
  }
}
