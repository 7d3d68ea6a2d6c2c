// How the trench is read: from what, on which surface, of which line, how closely; and clearing
// what was read, which is asked twice.

import { branchNames, lineNow, readingsNow, SURFACES, WAYS, wayNow, waysOf } from "../../model/request/trench.js";
import { convertEntry, textOf } from "../../model/units/entry.js";
import { readMeasure } from "../../model/units/parse_measure.js";
import { unitOf } from "../../model/units/units.js";
import { h, say } from "../dom.js";

const MAIN_LINE = "";

export class TrenchChoices {
  // `onChange({by, on, branch, tolerance})` gets what was chosen anew, `onClear()` is called when sure.
  constructor({ onChange, onClear }) {
    this.onChange = onChange;
    this.way = this.#select("trench-by", "It is read", (by) => ({ by }));
    this.surface = this.#select("trench-on", "Down to", (on) => ({ on }));
    this.line = this.#select("trench-line", "Line", (name) => ({ branch: name === MAIN_LINE ? null : name }));
    this.tolerance = h("input", { id: "trench-tolerance", autocomplete: "off", inputmode: "decimal", onchange: () => this.#tolerated() });
    this.unit = h("span", { class: "unit" });
    this.error = h("p", { class: "error", id: "trench-tolerance-error", hidden: true });
    this.clear = h("button", { type: "button", id: "trench-clear", class: "quiet", onclick: () => this.#sure(true) });
    this.sure = h(
      "div",
      { class: "trench-sure", role: "group", "aria-label": "Clear the readings for good?", hidden: true },
      h("p", null, "They are gone for good then."),
      h(
        "button",
        {
          type: "button",
          id: "trench-clear-sure",
          onclick: () => {
            this.#sure(false);
            onClear();
          },
        },
        "Yes, clear them",
      ),
      h("button", { type: "button", id: "trench-clear-not", onclick: () => this.#sure(false) }, "Keep them"),
    );
    this.kept = h("p", { class: "hint" });
    this.element = h(
      "div",
      { class: "trench-choices" },
      this.way.field,
      this.surface.field,
      this.line.field,
      h(
        "div",
        { class: "field" },
        h("label", { for: "trench-tolerance" }, "May be off by"),
        h("span", { class: "measure" }, this.tolerance, this.unit),
        this.error,
      ),
      h("div", { class: "trench-clearing" }, this.kept, this.clear, this.sure),
    );
  }

  show(log, plan, check) {
    const { kept } = log;
    const unit = unitOf("depth", plan.units);
    const names = branchNames(plan);
    this.way.offer(
      waysOf(kept, plan).map((by) => [by, WAYS[by].choice]),
      wayNow(kept, plan),
    );
    this.surface.offer(Object.entries(SURFACES), kept.on);
    this.line.offer([[MAIN_LINE, "main line"], ...names.map((name) => [name, `branch ${name}`])], lineNow(kept, plan) ?? MAIN_LINE);
    this.line.field.hidden = !names.length;
    this.now = { kept, unit };
    const text = kept.tolerance ? textOf(convertEntry(kept.tolerance.typed, kept.tolerance.unit, unit)) : "";
    if (document.activeElement !== this.tolerance && this.error.hidden) this.tolerance.value = text;
    this.tolerance.placeholder = !kept.tolerance && check ? String(check.tolerance) : "";
    say(this.unit, unit);
    const count = readingsNow(kept, plan).length;
    say(this.clear, `Clear ${count === 1 ? "this reading" : `these ${count} readings`}…`);
    this.clear.hidden = !count || !this.sure.hidden;
    say(
      this.kept,
      log.keeps
        ? "Kept in this browser until you clear them."
        : "This browser does not keep what you type: finish before you close the page.",
    );
  }

  #select(id, text, changeOf) {
    const select = h("select", { id, onchange: () => this.onChange(changeOf(select.value)) });
    const offer = (options, value) => {
      const key = JSON.stringify(options);
      if (select.dataset.key !== key) {
        select.dataset.key = key;
        select.replaceChildren(...options.map(([name, words]) => h("option", { value: name }, words)));
      }
      select.value = value;
      select.disabled = options.length < 2;
    };
    return { field: h("div", { class: "field" }, h("label", { for: id }, text), select), offer };
  }

  #tolerated() {
    const typed = this.tolerance.value.trim();
    const found = readMeasure(typed, this.now.unit);
    say(this.error, found.error ?? "");
    this.error.hidden = !found.error;
    if (!found.error) this.onChange({ tolerance: typed ? { shown: typed, typed, unit: this.now.unit } : "" });
  }

  #sure(asked) {
    this.sure.hidden = !asked;
    this.clear.hidden = asked;
    if (asked) this.sure.querySelector("#trench-clear-not").focus();
  }
}
