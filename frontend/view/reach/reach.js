// The search of the yard before a line is drawn: drag the start, see where the pipe can come out,
// choose a place or a route, take it over as the line.
import { LiveAnswer } from "../../api/live_answer.js";
import { askReach } from "../../api/planner.js";
import { withFix } from "../../model/changes/fixes.js";
import { kindOf, MAIN } from "../../model/document/shapes.js";
import { aimsOf, fromPlanner, routeOnto, searchRequest, toPlace, toPlanner, withoutLotLine, withRoute } from "../../model/request/reach.js";
import { pathOf } from "../../model/request/request.js";
import { lengthUnitM } from "../../model/units/units.js";
import { ownWords, placeWords } from "../../model/wording/reach_routes.js";
import { byId, h, say } from "../dom.js";
import { leave, reveal } from "../layout.js";
import { ReachAnswer } from "./answer.js";
import { patterns, ReachMap } from "./map.js";
import { ReachSetup } from "./setup.js";

const OPEN = "Where can it come out?";
const CLOSE = "Leave the search";
const AWAY = "The planner cannot be reached. The search goes on by itself when it can.";

export class Reach {
  #open = false;
  #view = "spare";
  #asked = null;
  #on = null;
  #body = null;
  #places = new Map();
  #aims = [];
  #answer = null;
  #place = null;
  #found = null;
  #flight = null;
  #picked = 0;

  // `page` lends its store, map, bases, form, pen, active shape and verdict; `busy()` tells that a
  // click on the map is for something else; `onDraw(kind)` lets the user draw.
  constructor(page, { snapping, busy, onDraw }) {
    Object.assign(this, { page, store: page.store, busy });
    this.map = new ReachMap(page.yardMap, page.store, snapping, (i) => this.#pick(i));
    this.setup = new ReachSetup(page, onDraw);
    this.words = new ReachAnswer(
      page.store,
      {
        pick: (i) => this.#pick(i),
        use: (i) => this.#use(i),
        toPlace: (metres) => this.#toPlace(page.yardMap.plane.fromMetres(metres)),
        loosen: (one) => this.#loosening(one),
        leaveLot: () => this.store.edit((plan) => withoutLotLine(plan, page.yardMap.features)),
      },
      (view) => {
        this.#view = view;
        this.#showAreas();
      },
    );
    this.frame = byId("desk");
    this.opener = h("button", { type: "button", id: "reach-open", "aria-expanded": "false", onclick: () => this.#toggle() }, OPEN);
    byId("draw").after(this.opener);
    this.lost = h(
      "p",
      { class: "hint", hidden: true },
      "A route that you use takes the place of your line. What the old one had to pass goes with it, inlets keep their stations; Undo brings all back.",
    );
    this.host = this.#build();
    byId("cautions").before(this.host);
    document.body.append(patterns());
    let taken = false; // whether the click is for something else, which may end with it
    page.yardMap.map.on("preclick", () => {
      taken = busy();
    });
    page.yardMap.map.on("click", ({ latlng }) => {
      if (this.searching && !taken) this.#toPlace(page.yardMap.fromMap(latlng));
    });
    this.live = new LiveAnswer({
      send: askReach,
      onAnswer: (answer, about) => this.#answered(answer, about),
      onProblem: ({ errors, detail, title }) =>
        this.#refuse(errors?.length ? errors.map((error) => error.detail).join(" ") : detail || title),
      onAway: () => say(this.words.words, AWAY),
    });
    addEventListener("online", () => this.live.again());
  }

  get searching() {
    return this.#open && !this.host.hidden;
  }

  #build() {
    const { own, words, views, key, asked, found, to, more } = this.words;
    return h(
      "section",
      { class: "card reach", id: "reach", "aria-labelledby": "reach-title", hidden: true },
      h("h2", { id: "reach-title", tabindex: "-1" }, "Where gravity can bring it out"),
      words,
      own,
      views,
      key,
      h(
        "p",
        { class: "hint" },
        "Drag the square start on the map: the colors follow. Click or tap a place for the best route to it, or give it by its measures.",
      ),
      asked,
      found,
      this.lost,
      to,
      this.setup.element,
      more,
    );
  }

  open() {
    if (!this.#open) this.#toggle();
  }

  close() {
    if (this.#open) this.#toggle();
  }

  #toggle() {
    this.#open = !this.#open;
    if (this.#open) this.store.edit((plan) => (plan.route.kind === "drawn" ? plan : { ...plan, route: { ...plan.route, kind: "drawn" } }));
    this.opener.setAttribute("aria-expanded", String(this.#open));
    say(this.opener, this.#open ? CLOSE : OPEN);
    this.show(this.store.plan);
    this.page.answers.ask(this.store.plan); // its next step follows the search
    if (this.#open) {
      reveal(this.host);
      reveal(byId("map"));
    } else leave(this.host);
  }

  // Follow the plan.
  show(plan) {
    const searching = this.#open && plan.route.kind === "drawn" && !this.page.pen.drawing;
    if (this.frame.classList.toggle("searching", searching) === this.host.hidden) {
      this.page.outlines.standIn(searching ? this.setup.places : null);
    }
    this.frame.classList.toggle("aiming", searching && kindOf(this.page.active.id) === "target");
    this.host.hidden = !searching;
    if (!searching) {
      if (this.#asked !== null) this.#clear();
      return;
    }
    const base = this.page.bases.get(plan.base);
    const on = `${plan.base} ${plan.units}`;
    if (this.#on !== on) this.#clear();
    this.#on = on;
    this.setup.show(plan, base);
    this.map.showStart(plan, base);
    this.words.showOwn(ownWords(plan, this.page.yardMap));
    this.lost.hidden = !plan.crossings.rows.length && !plan.inflows.rows.length;
    this.#ask(plan, base);
  }

  #ask(plan, base) {
    const { body, places, waiting, problems } = searchRequest(plan, base, this.page.yardMap.features);
    const asked = JSON.stringify(body ?? [waiting, problems]);
    if (asked === this.#asked) return;
    this.#asked = asked;
    this.#body = body;
    this.#places = places;
    this.#aims = aimsOf(plan, this.page.yardMap.features);
    this.#found = null;
    this.words.targets.drop();
    this.#flight?.abort();
    this.setup.tell(problems);
    if (!body) {
      this.live.drop();
      if (problems.length) this.#hold(problems.map(({ text }) => text).join(" "));
      else this.#refuse(waiting);
      return;
    }
    this.words.wait(true);
    this.live.ask(body, { flowing: true });
  }

  // Forget what was found; the next plan is asked about anew.
  #clear() {
    this.live.drop();
    this.#flight?.abort();
    this.words.targets.drop();
    say(this.words.asked, "");
    this.#asked = null;
    this.#answer = null;
    this.#place = null;
    this.#found = null;
    this.#picked = 0;
    this.words.showLegend(null, this.store.plan.units);
    this.map.hide();
  }

  // A field cannot be read: dim what the map shows, which is from before.
  #hold(words) {
    this.words.wait(true);
    this.map.fade({ areas: true, routes: true });
    say(this.words.words, words);
  }

  #refuse(words) {
    this.#answer = null;
    say(this.words.asked, "");
    this.map.showAreas(null);
    this.map.showRoutes([], -1);
    this.words.showLegend(null, this.store.plan.units);
    this.words.wait(true);
    say(this.words.words, words);
  }

  #answered(answer, { newest, brief, body }) {
    const kept = this.#answer;
    this.#answer = brief ? { ...answer, chance: kept?.chance ?? null, routes: kept?.routes ?? [] } : answer;
    say(this.words.words, `The yard: ${answer.summary.sentence}`);
    this.words.wait(brief || !newest);
    this.#showAreas();
    this.map.fade({ routes: brief });
    if (brief) return;
    this.words.showAll(answer);
    this.words.targets.drop();
    if (newest)
      this.words.targets.ask(
        body,
        answer,
        (i) => this.#routeTo(i),
        () => this.#showRoutes(),
      );
    this.#showRoutes();
    if (this.#place && newest) this.#toPlace(this.#place);
  }

  #showAreas() {
    if (!this.#answer) return;
    const { areas, chance, units } = this.#answer;
    const shown = this.#view === "chance" ? chance : areas;
    if (!shown) return;
    this.map.showAreas(shown, units);
    this.words.showLegend(shown, units);
  }

  get #routes() {
    const found = (this.#answer?.routes ?? []).map((route) => this.#placed(route));
    const farFirst = [...found.filter(({ near }) => !near), ...found.filter(({ near }) => near)];
    const all = [...(this.#found?.routes ?? []), ...farFirst, ...this.words.targets.routes];
    return [...new Map(all.toReversed().map((route) => [String(route.line.coordinates), route])).values()].toReversed();
  }

  #metresOf({ line }) {
    const { plane } = this.page.yardMap;
    return line.coordinates.map((point) => plane.toMetres(fromPlanner(this.store.plan, point)));
  }

  // A route with where it comes out in words.
  #placed(route) {
    return { ...route, ...placeWords(this.store.plan, this.#metresOf(route), this.page.yardMap) };
  }

  // The number of the first route to a place to reach; -1 for none.
  #routeTo(i) {
    const { plan } = this.store;
    const { toMetres } = this.page.yardMap.plane;
    const lines = this.#routes.map((route) => this.#metresOf(route));
    const { coordinates } = this.#aims[i].geometry;
    const points = (typeof coordinates[0] === "number" ? [coordinates] : coordinates).map(toMetres);
    return routeOnto(lines, points, this.#answer.summary.cell * lengthUnitM(plan.units));
  }

  // A place to reach was clicked on the map: show its route, and say how it stands. Answers
  // whether the search is open.
  pickTarget(id) {
    if (this.searching) this.#pickTarget(id);
    return this.searching;
  }

  #pickTarget(id) {
    const i = this.#aims.findIndex(({ key }) => key === id);
    const target = this.#answer?.targets[i];
    if (!target) return;
    say(this.words.asked, `${this.#aims[i].name}: ${target.text}`);
    const number = this.#routeTo(i);
    if (number >= 0) this.#pick(number);
    this.words.targets.bringUp(i);
  }

  #showRoutes() {
    this.#picked = Math.min(this.#picked, Math.max(0, this.#routes.length - 1));
    this.map.showRoutes(this.#routes, this.#picked);
    const numbers = this.#answer.targets.map((_, i) => this.#routeTo(i));
    const names = this.#aims.map(({ name }) => name);
    this.words.targets.show(this.#answer, names, numbers, this.#picked);
    const titled = this.#routes.map((route, i) => {
      const to = names.filter((_, k) => numbers[k] === i).join(", ");
      return this.#placed(to ? { ...route, title: `${route.title}: to ${to}` } : route);
    });
    this.words.showRoutes(titled, this.#picked, this.#answer.units);
  }

  #pick(i) {
    this.#picked = i;
    this.#showRoutes();
  }

  // Ask for the route to one place (in the base's coordinates), for the start as it stands.
  async #toPlace(point) {
    if (!this.#body) return;
    const { asked } = this.words;
    const { plan } = this.store;
    const body = this.#body;
    this.#place = point;
    this.#flight?.abort();
    const control = new AbortController();
    this.#flight = control;
    this.words.place.show(this.page.yardMap.plane.toMetres(point), plan.units);
    say(asked, "Looking for a way there…");
    const result = await askReach(toPlace(body, toPlanner(plan, point)), control.signal, { brief: false }).catch(() => ({
      problem: { detail: "The planner cannot be reached; try that place again." },
    }));
    if (control.signal.aborted || body !== this.#body || !this.#answer) return;
    if (result.problem) {
      say(asked, result.problem.errors?.[0]?.detail ?? result.problem.detail);
      return;
    }
    this.#found = result.answer;
    say(asked, `That place: ${result.answer.asked[0].text}`);
    this.#picked = 0;
    this.#showRoutes();
  }

  // Take a route over as the line and go on with it.
  #use(i) {
    const route = this.#routes[i];
    this.#toggle();
    this.page.active.choose(MAIN);
    this.store.edit((plan) => withRoute(plan, route));
    this.page.verdict.strip.focus({ preventScroll: true });
  }

  // The function that makes a change that would open the yard; null where the page has no field
  // for it.
  #loosening(one) {
    const how = { path: pathOf(one.pointer, this.#places), plane: this.page.yardMap.plane, length: 0 };
    return (
      withFix(this.store.plan, one, how) &&
      (() => {
        this.store.edit((plan) => withFix(plan, one, how));
        byId("reach-open").focus({ preventScroll: true }); // the button is gone with the change
      })
    );
  }
}
