// An old pipe without a plan: points read along it are typed in a table, and the page says at
// once where water stands in it and what to lift or lower. The planner is asked about it apart
// from the plan.
import { LiveAnswer } from "../../api/live_answer.js";
import { askPipeCheck } from "../../api/planner.js";
import { pastedRows } from "../../model/changes/paste.js";
import { isBlankRow } from "../../model/document/columns.js";
import { unitAt } from "../../model/document/document.js";
import { rowAdded, rowRemoved, rowsPasted, withRows } from "../../model/document/tables.js";
import { ENDS, pipeCheckRequest, SHEET, WAYS } from "../../model/request/old_pipe.js";
import { pathOf } from "../../model/request/request.js";
import { plain } from "../../model/units/units.js";
import { h, idOf, say } from "../dom.js";
import { ACCURACY } from "../form/advanced.js";
import { APART } from "../form/form.js";
import { optionsOf } from "../widgets/item_list.js";

const HEADS = {
  at: "Station",
  invert: "Its inside bottom",
  ground: "Ground",
  depth: "Down to pipe",
  down: "String to pipe",
  rod: "Rod reads",
  on: "Read on its",
};
const SURFACES = [
  ["", "inside"],
  ["pipe_top", "top"],
];
const HAND = ACCURACY.filter(([name]) => !name.startsWith("lidar"));
const AWAY = "The planner cannot be reached. What you type is kept here and asked again by itself.";
const FEW = "Type two points or more, in the order the water runs.";
const OLD = "This is from before your last change. Mend what is marked.";

export class OldPipeCheck {
  #drawn = "";
  #asked = null;
  #places = new Map();
  #held = null;
  #newest = null; // the answer last told, before what shows it has come

  // `pipes()` is the catalogue; its card goes `before` a part of the page.
  constructor(store, form, { pipes, before }) {
    Object.assign(this, { store, form });
    this.table = h("div", { class: "old-pipe-table" });
    this.note = h("p", { class: "hint", role: "status" });
    this.said = h("p", { class: "hint", id: "old-pipe-said", role: "status" });
    this.answer = null; // what shows an answer is fetched with the first
    this.place = h("div", { hidden: true });
    this.card = this.#card(pipes);
    before.before(this.card);
    this.live = new LiveAnswer({
      send: (body, signal) => askPipeCheck(body, signal),
      onAnswer: (answer, { newest }) => newest && this.#answered(answer),
      onProblem: (problem) => this.#refused(problem),
      onAway: () => say(this.said, AWAY),
    });
    addEventListener("online", () => this.live.again());
    form.whenRested(() => this.#rested());
    store.watch((plan) => this.show(plan));
    this.fold.open = !store.plan[SHEET].rows.every(isBlankRow);
  }

  show(plan) {
    const key = `${plan.old_pipe.by} ${plan[SHEET].rows.length}`;
    if (key !== this.#drawn) this.#drawTable(plan);
    this.#drawn = key;
    for (const unit of this.table.querySelectorAll("[data-unit]"))
      say(unit, unitAt(plan, unit.dataset.unit) && ` ${unitAt(plan, unit.dataset.unit)}`);
    this.own.hidden = plan.old_pipe.instrument !== "own";
    this.#ask(plan);
  }

  #card(pipes) {
    const field = (path, label, control, hint) =>
      h("div", { class: "field" }, h("label", { for: idOf(path) }, label), control, hint && h("p", { class: "hint" }, hint));
    const choice = (path, label, options) => field(path, label, h("select", { id: idOf(path), "data-choice": path }, optionsOf(options)));
    const input = (path, label, hint) => field(path, label, h("input", { id: idOf(path), "data-path": path }), hint);
    this.own = input("old_pipe.sigma", "My own figure");
    const known = [["", "not known"], ...pipes.map(({ code, name }) => [code, name])];
    this.fold = h(
      "details",
      { class: "more", id: "old-pipe-fold" },
      h("summary", null, "Type what you read along it"),
      h(
        "div",
        { class: "pair" },
        choice(
          "old_pipe.by",
          "It is read",
          Object.entries(WAYS).map(([name, { words }]) => [name, words]),
        ),
        choice("old_pipe.pipe", "The pipe", known),
      ),
      this.table,
      this.note,
      h(
        "div",
        { class: "pair" },
        choice("old_pipe.instrument", "Accuracy of the readings", HAND),
        this.own,
        input("old_pipe.min_percent", "Minimum grade it should have"),
        choice("old_pipe.hold", "What can be moved", ENDS),
      ),
      this.said,
      this.place,
    );
    return h(
      "section",
      { class: "card", id: "old-pipe", "aria-labelledby": "old-pipe-title" },
      h("h2", { id: "old-pipe-title" }, "An old pipe, no plan?"),
      h(
        "p",
        { class: "hint" },
        "Read a pipe that lies already at a few points: it says where water stands in it, how deep, and what to lift or lower.",
      ),
      this.fold,
    );
  }

  #drawTable(plan) {
    const focused = document.activeElement?.dataset?.path;
    this.form.release(`${SHEET}.`);
    const { columns } = WAYS[plan.old_pipe.by];
    const body = h("tbody");
    const head = h(
      "tr",
      null,
      h("th", { scope: "col", class: "number" }, h("span", { class: "unseen" }, "Row")),
      columns.map((name) => h("th", { scope: "col" }, HEADS[name], h("span", { class: "unit", "data-unit": `${SHEET}.rows.0.${name}` }))),
      h("th", { scope: "col" }, h("span", { class: "unseen" }, "Remove")),
    );
    plan[SHEET].rows.forEach((_, i) => this.#drawRow(body, columns, i));
    const table = h(
      "table",
      { class: "sheet" },
      h("caption", { class: "unseen" }, "Points read along the old pipe"),
      h("thead", null, head),
      body,
    );
    table.addEventListener("keydown", (event) => this.#key(event));
    table.addEventListener("paste", (event) => this.#paste(event, columns));
    this.table.replaceChildren(
      h("div", { class: "table-frame" }, table),
      h(
        "div",
        { class: "sheet-tools" },
        h("button", { type: "button", id: "old-pipe-add", onclick: () => this.#addRow() }, "Add a point"),
        h("button", { type: "button", class: "quiet", onclick: () => this.#clear() }, "Clear the points"),
      ),
    );
    this.form.show();
    if (focused?.startsWith(SHEET)) this.table.querySelector(`[data-path="${focused}"]`)?.focus();
  }

  #drawRow(body, columns, i) {
    const path = `${SHEET}.rows.${i}`;
    const error = h("p", { class: "error", id: `${idOf(path)}-error`, hidden: true });
    const errors = [];
    const cells = columns.map((name) => {
      const at = `${path}.${name}`;
      const label = `${HEADS[name]}, point ${i + 1}`;
      if (name === "on") {
        const select = h("select", { id: idOf(at), "data-choice": at, "aria-label": label }, optionsOf(SURFACES));
        const place = h("td", null, select);
        this.form.bindChoice(select);
        return place;
      }
      const input = h("input", {
        id: idOf(at),
        "data-path": at,
        "aria-label": label,
        autocomplete: "off",
        enterkeyhint: "next",
        inputmode: "decimal",
      });
      const slot = h("p", { class: "error", id: `${idOf(at)}-error`, hidden: true });
      errors.push(slot);
      this.form.bindCell(input, slot);
      return h("td", null, input);
    });
    const row = h(
      "tr",
      null,
      h("th", { scope: "row", class: "number" }, String(i + 1)),
      cells,
      h(
        "td",
        null,
        h("button", { type: "button", class: "icon", "aria-label": `Remove point ${i + 1}`, onclick: () => this.#remove(i) }, "×"),
      ),
    );
    this.form.bindPart(path, row, error);
    body.append(row, h("tr", { class: "errors" }, h("td", { colspan: columns.length + 2 }, error, errors)));
  }

  // Ask about what is typed; a change of the plan elsewhere asks nothing.
  #ask(plan) {
    const { body, places, problems, begun } = pipeCheckRequest(plan);
    this.#places = places;
    this.#held = null;
    const here = this.form.typing ?? "";
    const short = begun
      .filter(({ path }) => !here.startsWith(`${path}.`))
      .map(({ path }) => `Point ${Number(path.split(".")[2]) + 1} is left out until it is whole.`);
    say(this.note, short.join(" "));
    const asked = body && JSON.stringify(body);
    if (asked && asked === this.#asked) return;
    this.#asked = asked;
    if (asked) {
      this.live.ask(body);
      return;
    }
    this.live.drop();
    if (problems.length) this.#blame(new Map(problems.map(({ path, text }) => [path, text])));
    else {
      this.#tell(new Map());
      this.#newest = null;
      this.answer?.clear();
      say(this.said, FEW);
    }
  }

  #answered(answer) {
    this.#tell(new Map());
    say(this.said, "");
    const usual = answer.assumptions.find(({ pointer }) => pointer === "/grade/min_percent");
    this.form.suggest("old_pipe.min_percent", usual ? plain(usual.value, 2) : "");
    this.#show(answer);
  }

  async #show(answer) {
    this.#newest = answer;
    const { OldPipeAnswer } = await import("./answer.js");
    if (!this.answer) {
      this.answer = new OldPipeAnswer();
      this.place.replaceWith(this.answer.element);
    }
    if (this.#newest === answer) this.answer.show(answer);
  }

  #refused(problem) {
    const errors = new Map();
    for (const { pointer, detail } of problem.errors ?? []) {
      const path = pathOf(pointer, this.#places) ?? "";
      errors.set(path, errors.has(path) ? `${errors.get(path)} ${detail}` : detail);
    }
    if (!errors.size) errors.set("", problem.detail || problem.title);
    this.#blame(errors);
  }

  // Nothing is wrong yet with the field that is being typed in.
  #blame(errors) {
    if (errors.has(this.form.typing)) {
      this.#held = errors;
      return;
    }
    const rest = this.#tell(errors);
    say(this.said, [...(this.answer?.isShown ? [OLD] : []), ...rest.map(([, text]) => text)].join(" "));
    this.answer?.age();
  }

  #tell(errors) {
    return this.form.tell(errors, APART);
  }

  #rested() {
    if (this.#held) this.#blame(this.#held);
    else this.#ask(this.store.plan);
    this.#held = null;
  }

  #addRow() {
    this.store.edit((plan) => rowAdded(plan, SHEET));
    const inputs = this.table.querySelectorAll("tbody tr:nth-last-child(2) input");
    ([...inputs].find((input) => !input.value) ?? inputs[0])?.focus();
  }

  #remove(i) {
    this.store.edit((plan) => rowRemoved(plan, SHEET, i));
    const buttons = this.table.querySelectorAll("button.icon");
    (buttons[Math.min(i, buttons.length - 1)] ?? this.table.querySelector("#old-pipe-add")).focus();
  }

  #clear() {
    this.store.edit((plan) =>
      withRows(
        plan,
        SHEET,
        plan[SHEET].rows.map((row) => Object.fromEntries(Object.keys(row).map((name) => [name, ""]))),
      ),
    );
    this.table.querySelector("input").focus();
  }

  // Enter goes to the next field, past the last to a new point; arrows up and down keep the column.
  #key(event) {
    const step = { ArrowUp: -1, ArrowDown: 1 }[event.key];
    if (event.target.tagName !== "INPUT" || !(step || event.key === "Enter")) return;
    event.preventDefault();
    const inputs = [...this.table.querySelectorAll("tbody input")];
    const wide = event.target.closest("tr").querySelectorAll("input").length;
    const next = inputs[inputs.indexOf(event.target) + (step ? step * wide : 1)];
    if (next) next.focus();
    else if (!step) this.#addRow();
  }

  #paste(event, columns) {
    const path = event.target.dataset?.path;
    const rows =
      path &&
      pastedRows(
        event.clipboardData.getData("text"),
        SHEET,
        columns.filter((name) => name !== "on"),
      );
    if (!rows?.length) return;
    event.preventDefault();
    this.store.edit((plan) => rowsPasted(plan, SHEET, Number(path.split(".")[2]), rows));
  }
}
