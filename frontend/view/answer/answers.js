// Asks for the answer to the plan as it stands and shows it: the answer, what is missing, or
// what is wrong, each in its place.

import { LiveAnswer } from "../../api/live_answer.js";
import { askPlan } from "../../api/planner.js";
import { retakeWords } from "../../model/changes/fixes.js";
import { isBlankRow } from "../../model/document/columns.js";
import { DRAWN_ONLY, lineOf, withWayOf } from "../../model/document/document.js";
import { uncountedCovers } from "../../model/request/covers.js";
import { buildRequest, pathOf } from "../../model/request/request.js";
import { soFar, toldSoFar } from "../../model/request/so_far.js";
import { outOfGroundWords } from "../../model/wording/depths.js";
import { linesOf } from "../../model/wording/pipe_fill.js";
import { trespassWords } from "../../model/wording/trespass.js";
import { examplePlan } from "../../state/examples.js";
import { LastAnswer } from "../../state/last_answer.js";
import { byId, say } from "../dom.js";
import { uncountedWords } from "../form/crossings.js";
import { bringUp } from "../layout.js";
import { FixPictures } from "../pictures/fixes.js";
import { Grips } from "../profile/grips.js";
import { Profile } from "../profile/profile.js";
import { BillCard } from "./bill.js";
import { showBranches } from "./branches.js";
import { Conditions } from "./conditions.js";
import { pointOut } from "./figures.js";
import { fixParts, showFixes } from "./fixes.js";
import { Mending } from "./mending.js";
import { StationTable } from "./stations.js";
import { showToMeasure } from "./to_measure.js";
import { showWater } from "./water.js";
import { showAssumptions, showCautions, showChanges, showNotices, showWhy, waitForFixes } from "./why.js";

const SLOW_MS = 400;
const OLD = "This answer is from before your last change. Fix what is marked below.";
const AWAY =
  "The planner cannot be reached. Below is the last answer, from before your latest change; " +
  "what you type is kept here and asked again by itself.";
const AWAY_SAME = "The planner cannot be reached. Below is its last answer to just this plan; it is asked again by itself.";
const AWAY_BEFORE_ANY = "The planner cannot be reached. What you type is kept here and asked again by itself.";
const TYPING = "This answer is from before what you are typing now.";
const NO_LINE = "You have no line yet: take one of the routes found, or go back and draw your own.";
const PARTS = ["outlet-picture", "why", "profile-card", "stations", "cautions", "assumed", "water", "branch-answers", "bill"];

// The row that a path lies in, or the path itself.
const rowOf = (path) => /^\w+\.rows\.\d+/.exec(path)?.[0] ?? path;

// Whether the plan can be dug by: a yes, on conditions or without any.
const fits = (answer) => ["yes", "conditional"].includes(answer.whole.overall);

export class Answers {
  #answer = null; // the last one, with the way that its grades are shown in
  #ground = null; // of the request that it answers
  #of = ""; // that request
  #errors = [];
  #checks = 0;
  #places = new Map();
  #asked = null;
  #held = null;
  #soFar = null; // the words that lead in while readings are still coming in

  // `page` lends its store, form, verdict, bases, sheets, map and demo; `steps` are the next
  // steps that a button can take: {typeReadings, draw, ownYard, goOn, setScale, search}.
  constructor(page, steps) {
    Object.assign(this, { page, steps });
    this.grips = new Grips(page.store);
    this.profile = new Profile(page.mark, (answer, frame) => this.grips.draw(answer, frame));
    this.table = new StationTable(page.mark);
    this.bill = new BillCard(page.store, page.form, byId("papers"));
    this.conditions = new Conditions(page.store, { ask: (plan) => this.#askQuietly(plan), pipeName: (code) => page.choices.nameOf(code) });
    this.last = new LastAnswer(localStorage);
    this.mending = new Mending(page);
    this.pictures = new FixPictures((plan, signal, known) => this.#askQuietly(plan, signal, known));
    this.live = new LiveAnswer({
      send: askPlan,
      onAnswer: (answer, about) => this.#answered(answer, about),
      onProblem: (problem) => this.#refused(problem),
      onAway: () => this.#away(),
    });
    addEventListener("online", () => this.live.again());
    page.form.whenRested(() => this.#rested());
  }

  // Ask about a plan. `origin` is "drag" while a hand is still moving a point.
  ask(plan, origin) {
    const request = buildRequest(plan, this.page.bases.get(plan.base));
    const { places, problems, waiting, unfinished } = request;
    const { body, words } = soFar(plan, request);
    this.#places = places;
    this.#soFar = words;
    this.page.sheets.tell(plan, unfinished);
    this.#held = null;
    const asked = body && JSON.stringify(body);
    if (!asked) {
      this.#asked = null;
      this.live.drop();
      if (problems.some(({ path }) => path === this.page.form.typing)) this.#hold();
      else if (problems.length) this.#blame(new Map(problems.map(({ path, text }) => [path, text])));
      else this.#wait(waiting, plan);
      return;
    }
    if (asked === this.#asked) {
      if (this.#answer && this.#answer.way !== plan.grade.way) {
        this.#draw(this.#answer, plan);
        this.#showUsual();
      }
      this.#notice(this.#errors);
      if (this.#answer) this.#tell(this.#answer);
      if (this.#answer && byId("standing").hidden) this.page.verdict.offer(this.#nextStep(this.#answer, plan));
      return;
    }
    this.#asked = asked;
    this.pictures.stop();
    this.live.ask(body, { flowing: origin === "drag" });
    setTimeout(() => this.page.verdict.work(() => this.live.pending && this.#asked === asked), SLOW_MS);
  }

  // With no answer yet, the last one that the browser kept stands in.
  #away() {
    const kept = this.#answer ? null : this.last.get();
    if (kept?.answer.units === this.page.store.plan.units) this.#answered(kept.answer, { newest: true, brief: false, body: kept.body });
    const before = this.#of === this.#asked ? AWAY_SAME : AWAY;
    this.page.verdict.stand(this.#answer ? before : AWAY_BEFORE_ANY);
  }

  // Half a number stands in the field that is being typed in: nothing is wrong yet.
  #hold(errors = null) {
    this.#held = errors;
    if (this.#answer) this.page.verdict.stand(TYPING);
  }

  #rested() {
    if (this.#held) {
      this.#blame(this.#held);
      this.#held = null;
    } else this.ask(this.page.store.plan);
  }

  // What is amiss with the answer, and with what is drawn but is no part of the request.
  #notice(errors) {
    this.#errors = errors;
    const { store, yardMap } = this.page;
    const seen = !this.#answer
      ? []
      : [
          ...trespassWords(store.plan, yardMap.plane, yardMap.features),
          ...uncountedWords(store.plan),
          ...uncountedCovers(store.plan),
          ...outOfGroundWords(this.#answer),
        ];
    this.#checks = seen.length + (this.#answer?.warnings.length ?? 0);
    showNotices(errors, this.#answer, seen);
  }

  // Nothing to answer yet: say what to do instead.
  #wait(words, plan) {
    const { form, verdict, store, demo, pen, bases, sheets } = this.page;
    this.#drop();
    form.tell(new Map());
    this.#notice([]);
    const { reach } = this.page;
    const undrawn = plan.route.kind === "drawn" && lineOf(plan).length < 2;
    verdict.show("none", undrawn && reach.searching ? NO_LINE : words);
    verdict.stand(null);
    if (reach.searching) verdict.offer({ actions: [this.#back] });
    else if (plan.route.kind === "drawn" && bases.get(plan.base)?.scaled === false) {
      verdict.offer({ actions: [{ text: "Set the scale", act: this.steps.setScale }] });
    } else if (undrawn) {
      verdict.offer({
        actions: pen.drawing
          ? []
          : [
              { text: "Draw your line", act: this.steps.draw },
              ...(DRAWN_ONLY.includes(plan.ground) ? [{ text: "Where can it come out?", act: this.steps.search }] : []),
            ],
      });
    } else if (plan.route.kind === "drawn" && plan.ground !== "raster") {
      const read = () => {
        bringUp("ground");
        sheets.focusFirst();
      };
      verdict.offer({ actions: [{ text: "Type your readings", act: read }] });
    } else if (["level_line", "rod"].includes(plan.ground)) {
      const fill = () => {
        store.edit((now) => withWayOf(examplePlan(demo, plan.ground, now.units), now));
        this.steps.goOn();
      };
      const begun = plan[plan.ground].rows.some((row) => !isBlankRow(row));
      verdict.offer({
        actions: [begun ? { text: "Go on to the next reading", act: this.steps.goOn } : { text: "Fill in an example", act: fill }],
      });
    } else verdict.offer({});
  }

  #drop() {
    this.#answer = null;
    this.pictures.stop();
    for (const id of PARTS) byId(id).hidden = true;
    this.conditions.hide();
    this.page.yardMap.hideStations();
    this.page.runs.take(null, this.page.store.plan);
  }

  // Show errors, a Map from path to sentence; the last good answer stays, marked as old, unless it
  // is in other units than the form by now.
  #blame(errors) {
    const { form, verdict, store } = this.page;
    if (this.#answer && this.#answer.units !== store.plan.units) this.#drop();
    const rest = form.tell(errors).map(([, text]) => text);
    this.#notice(rest);
    const marked = rest.length < errors.size;
    verdict.offer({ actions: marked ? [{ text: "Go to what is marked", act: () => form.focusFirstError() }] : [] });
    if (this.#answer) {
      verdict.stand(OLD);
      return;
    }
    const [first] = errors.values();
    verdict.show("none", `This can't be worked out yet: ${first}`);
    verdict.stand(null);
  }

  #refused(problem) {
    const errors = new Map();
    for (const { pointer, detail } of problem.errors ?? []) {
      const path = pathOf(pointer, this.#places) ?? pointer;
      errors.set(path, errors.has(path) ? `${errors.get(path)} ${detail}` : detail);
    }
    if (!errors.size) errors.set("", problem.detail || problem.title);
    const { typing } = this.page.form;
    if (typing && [...errors.keys()].some((path) => rowOf(path) === rowOf(typing))) this.#hold(errors);
    else this.#blame(errors);
  }

  // `newest` is false for an answer that a later change has already overtaken, `brief` is true
  // for one without what would mend it (both during a drag).
  #answered(answer, { newest, brief, body }) {
    const { form, verdict, yardMap, bases, store } = this.page;
    const { plan } = store;
    this.#tell(answer);
    this.conditions.show(answer);
    this.#ground = body.ground;
    this.#of = JSON.stringify(body);
    this.#draw(answer, plan);
    waitForFixes(brief);
    if (body.route.line) yardMap.showStations(answer, bases.get(plan.base));
    else yardMap.hideStations();
    this.page.runs.take(answer, plan);
    if (!newest) return;
    verdict.stand(null);
    form.tell(new Map());
    this.#notice([]);
    if (brief) return;
    this.last.keep(body, answer);
    showChanges(answer);
    showCautions(answer);
    showToMeasure(answer);
    this.pictures.against(answer);
    showFixes(
      answer,
      (fixes) => this.mending.ofMain(fixes, this.#places, answer.length),
      (mended) => this.pictures.place(mended),
    );
    showBranches(this.#answer, (name, branch) => {
      const picture = (mended) => this.pictures.place(mended, (one) => linesOf(one).find((line) => line.name === name)?.answer);
      return fixParts(branch, (fixes) => this.mending.ofBranch(fixes, name), picture, "h4");
    });
    say(byId("retake"), retakeWords(answer) ?? "");
    this.#showUsual();
    this.grips.showUsual(answer);
    this.bill.show(answer);
    verdict.offer(this.#nextStep(answer, plan));
  }

  #tell(answer) {
    this.page.verdict.show(answer.whole.overall, toldSoFar(this.#soFar, answer.whole.brief ?? answer.whole.sentence), (figure) =>
      pointOut(figure, answer, (at) => this.page.mark.pin(at)),
    );
  }

  // Show the figures of an answer, its grades in the way that the plan has them.
  #draw(answer, plan) {
    this.#answer = { ...answer, way: plan.grade.way };
    if (answer.ground_known) this.profile.show(this.#answer);
    byId("profile-card").hidden = !answer.ground_known;
    showWhy(this.#answer);
    showWater(this.#answer);
    showBranches(this.#answer, () => []);
    this.table.show(this.#answer, this.#ground);
  }

  // What was taken as usual, with a way to the field that would replace it.
  #showUsual() {
    const { form, choices } = this.page;
    const places = this.#places;
    showAssumptions(this.#answer, (pointer) => {
      const path = pathOf(pointer, places);
      return form.has(path) ? () => form.focus(path) : null;
    });
    choices.showUsual(this.#answer);
  }

  get #back() {
    return { text: "Back to your line", act: () => this.page.reach.close() };
  }

  #nextStep(answer, plan) {
    if (this.page.reach.searching) return { actions: [this.#back] };
    const mend = { text: "Ways to fix it", act: () => bringUp(byId("fixes").childElementCount ? "fixes" : "why") };
    const things = this.#checks === 1 ? "1 thing" : `${this.#checks} things`;
    const check = this.#checks ? [{ text: `See ${things} to check`, act: () => bringUp("notices") }] : [];
    if (this.#isDemo(plan)) {
      return {
        words: "This is a demo yard.",
        actions: [
          ...(fits(answer) ? [] : [mend]),
          { text: "Type your own readings", act: this.steps.typeReadings },
          ...(check.length ? check : [{ text: "Draw your own line", act: this.steps.ownYard }]),
        ],
      };
    }
    const dig = { text: "Stations", act: () => bringUp("stations") };
    const measure = { text: "See where to measure next", act: () => bringUp("to-measure") };
    const next = [...(answer.to_measure.length ? [measure] : []), ...(answer.ground_known ? [dig] : [])];
    const on = this.#soFar ? [{ text: "Go on to the next reading", act: this.steps.goOn }] : [];
    return { actions: [...on, ...(fits(answer) ? next : [mend]), ...check].slice(0, on.length ? 2 : 3) };
  }

  // What the planner says of a plan, without showing it; null where something in it is wrong.
  async #askQuietly(plan, signal, known = new Map()) {
    const { body } = soFar(plan, buildRequest(plan, this.page.bases.get(plan.base)));
    const key = JSON.stringify(body);
    if (known.has(key)) return known.get(key);
    const result = body && (await askPlan(body, signal, { brief: true }));
    if (result?.answer) known.set(key, result.answer);
    return result?.answer ?? null;
  }

  #isDemo(plan) {
    const { demo } = this.page;
    if (plan.base !== demo.raster || plan.ground !== "raster") return false;
    const line = JSON.stringify(lineOf(plan));
    return Object.values(demo.routes).some((route) => JSON.stringify(route.line.coordinates) === line);
  }
}
