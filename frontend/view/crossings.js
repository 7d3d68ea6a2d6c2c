// What the pipe must pass on its way: each with its place, its depth, and the way to pass it.
import { SHEETS, unitAt, withCrossing, withoutCrossing } from "../sums/document.js";
import { byId, h, idOf, say } from "./element.js";

const LABELS = {
  at: "At station", what: "What it is", top_depth: "Its top lies below ground", size: "How high it is",
  clearance: "Keep away by", pass: "Pass it",
};
const WAYS = { either: "whichever digs less", over: "over it", under: "under it" };

export class Crossings {
  #shown = -1;

  constructor(store, form) {
    Object.assign(this, { store, form, host: byId("crossing-list") });
    byId("add-crossing").addEventListener("click", () => this.#add());
    store.watch((plan) => this.show(plan));
  }

  show(plan) {
    const count = plan.crossings.rows.length;
    if (count !== this.#shown) this.#draw(count);
    this.#shown = count;
    for (const unit of this.host.querySelectorAll("[data-unit]")) {
      say(unit, ` (${unitAt(plan, unit.dataset.unit)})`);
    }
  }

  #add() {
    this.store.edit(withCrossing);
    byId(idOf(`crossings.rows.${this.store.plan.crossings.rows.length - 1}.at`)).focus();
  }

  #draw(count) {
    this.form.release("crossings.");
    this.host.replaceChildren(...Array.from({ length: count }, (_, i) => this.#crossing(i)));
    this.form.show();
  }

  #crossing(i) {
    const error = h("p", { class: "error", id: `${idOf(`crossings.rows.${i}`)}-error`, hidden: true });
    const remove = h("button", {
      type: "button", class: "quiet", onclick: () => this.store.edit((plan) => withoutCrossing(plan, i)),
    }, `Remove crossing ${i + 1}`);
    const frame = h("fieldset", { class: "crossing" },
      h("legend", null, `Crossing ${i + 1}`),
      h("div", { class: "pair" }, Object.keys(SHEETS.crossings).map((name) => this.#field(i, name))),
      error, remove);
    this.form.bindPart(`crossings.rows.${i}`, frame, error);
    return frame;
  }

  #field(i, name) {
    const path = `crossings.rows.${i}.${name}`;
    const id = idOf(path);
    const isMeasure = !["text", "choice"].includes(SHEETS.crossings[name]);
    const label = h("label", { for: id }, LABELS[name], isMeasure && h("span", { class: "unit", "data-unit": path }));
    if (name === "pass") {
      const select = h("select", { id, "data-choice": path },
        Object.entries(WAYS).map(([value, text]) => h("option", { value }, text)));
      const field = h("div", { class: "field" }, label, select);
      this.form.bindChoice(select);
      return field;
    }
    const slot = h("p", { class: "error", id: `${id}-error`, hidden: true });
    const input = h("input", { id, "data-path": path, autocomplete: "off", inputmode: isMeasure && "decimal" });
    this.form.bindCell(input, slot);
    return h("div", { class: "field" }, label, input, slot);
  }
}
