// What a yes rests on, under the verdict: each condition with its presses.
import { acceptWords, conditionsOf, insistWords, withOneChange, withPatch } from "../../model/changes/conditions.js";
import { byId, h, say } from "../dom.js";

const AWAY = "The planner cannot be reached, so this was not tried.";
const UNREADABLE = "This cannot be tried before what is marked below is mended.";

export class Conditions {
  #asked = null;

  // `ask(plan)` answers the planner's answer to a plan without showing it, null where something is
  // still wrong in it; it rejects when the planner is away. `pipeName(code)` is a pipe's name.
  constructor(store, { ask, pipeName }) {
    Object.assign(this, { store, ask, pipeName });
    this.list = h("ul", { class: "condition-list" });
    this.said = h("p", { class: "condition-said", role: "status" });
    this.section = byId("conditions");
    this.opener = byId("conditions-toggle");
    this.opener.addEventListener("click", () => this.#open(this.section.hidden));
    this.section.addEventListener("keydown", (event) => {
      if (event.key !== "Escape") return;
      this.#open(false);
      this.opener.focus();
    });
    this.section.append(h("h2", { class: "unseen", id: "conditions-title" }, "What this yes rests on"), this.list, this.said);
  }

  #open(open) {
    this.section.hidden = !open;
    this.opener.setAttribute("aria-expanded", String(open));
  }

  hide() {
    this.#open(false);
    this.opener.hidden = true;
    this.#asked = null;
  }

  show(answer) {
    const { plan } = this.store;
    const found = conditionsOf(answer, plan);
    this.opener.hidden = found.length === 0;
    if (!found.length) this.#open(false);
    say(this.opener, found.length === 1 ? "1 condition" : `${found.length} conditions`);
    const drawn = JSON.stringify([found, this.store.plan.grade.shape, answer.units]);
    if (drawn === this.#asked) return;
    this.#asked = drawn;
    say(this.said, "");
    const lines = new Map(found.map(({ line, key }) => [line, key]));
    this.list.replaceChildren(
      ...[...lines]
        .flatMap(([line, key]) => {
          const own = found.filter((one) => one.line === line).map(({ condition }) => condition);
          return [...own.map((condition) => this.#item(condition, { line, key, units: answer.units })), this.#otherWay(own, key)];
        })
        .filter(Boolean),
    );
  }

  #item(condition, { line, key, units }) {
    const presses = [
      [insistWords(condition, units), condition.insists],
      [acceptWords(condition, this.pipeName), condition.accepts],
    ].filter(([words, patch]) => words && withPatch(this.store.plan, patch, key));
    return h(
      "li",
      null,
      h("p", null, line !== null && h("b", null, `Branch ${line}: `), condition.text),
      presses.length > 0 &&
        h(
          "div",
          { class: "condition-presses" },
          presses.map(([words, patch]) =>
            h("button", { type: "button", onclick: () => this.#take((plan) => withPatch(plan, patch, key)) }, words),
          ),
        ),
    );
  }

  // One press to see the same with a change of grade in place of these conditions.
  #otherWay(conditions, key) {
    if (!withOneChange(this.store.plan, conditions, key)) return null;
    const button = h(
      "button",
      { type: "button", class: "other-way", onclick: () => this.#try(conditions, key, button) },
      "See it with one change of grade instead",
    );
    return h("li", { class: "other-way" }, button);
  }

  async #try(conditions, key, button) {
    const before = this.store.plan;
    const plan = withOneChange(before, conditions, key);
    button.disabled = true;
    say(this.said, "Asking…");
    const answer = await this.ask(plan).catch(() => AWAY);
    button.disabled = false;
    if (this.store.plan !== before) {
      say(this.said, "");
      return;
    }
    const no =
      typeof answer === "string"
        ? answer
        : !answer
          ? UNREADABLE
          : ["yes", "conditional"].includes(answer.whole.overall)
            ? null
            : `One change of grade does not do it instead. ${answer.whole.sentence}`;
    say(this.said, no ?? "");
    if (no === null) this.#take(() => plan);
    else button.focus({ preventScroll: true });
  }

  #take(change) {
    this.store.edit((plan) => change(plan) ?? plan);
    byId("verdict").focus({ preventScroll: true }); // the button is gone with the condition
  }
}
