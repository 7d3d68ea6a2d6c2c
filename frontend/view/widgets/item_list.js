// A list of things along the line, each a small form of its own: crossings, inlets, branches,
// openings. One description of a kind serves them all.
import { SHEETS } from "../../model/document/columns.js";
import { unitAt } from "../../model/document/document.js";
import { byId, h, idOf, say } from "../dom.js";

export class ThingList {
  #drawn = null;

  // `kind` holds: sheet, host and addId (element ids), labels by column, add(plan) and
  // remove(plan, i), title(i), fields(plan, row), options(plan, row, column) for choices, `ticks` of which
  // columns are yes or nothing, and,
  // if wanted, hints by column, lacks(plan, row) in words, more(plan, row, i), first (the column
  // that takes the focus), redrawn(plan, row): what beside the fields calls for a new drawing,
  // finer: {summary, parts(plan, row)}: further fields, folded away, as [heading, columns].
  constructor(store, form, kind) {
    Object.assign(this, { store, form, kind, host: byId(kind.host) });
    byId(kind.addId).addEventListener("click", () => this.add());
    store.watch((plan) => this.show(plan));
  }

  add() {
    this.store.edit((plan) => this.kind.add(plan));
    this.focus(this.store.plan[this.kind.sheet].rows.length - 1);
  }

  // Bring the first field of a row, or the one named, under the hand.
  focus(i, column = this.kind.first) {
    byId(idOf(`${this.kind.sheet}.rows.${i}.${column}`))?.focus();
  }

  show(plan) {
    const { sheet, fields, finer, redrawn = () => "" } = this.kind;
    const { rows } = plan[sheet];
    const drawn = JSON.stringify(rows.map((row) => [fields(plan, row), finer?.parts(plan, row), redrawn(plan, row)]));
    if (drawn !== this.#drawn) this.#draw(plan, rows);
    this.#drawn = drawn;
    for (const unit of this.host.querySelectorAll("[data-unit]")) {
      const text = unitAt(plan, unit.dataset.unit);
      say(unit, text && ` (${text})`);
    }
    if (!this.kind.lacks) return;
    rows.forEach((row, i) => {
      const lacks = this.kind.lacks(plan, row);
      say(byId(`${idOf(`${sheet}.rows.${i}`)}-lacks`), lacks.length ? `Not counted yet. Still needed: ${lacks.join(", ")}.` : "");
    });
  }

  #draw(plan, rows) {
    const focused = this.host.contains(document.activeElement) ? document.activeElement.id : null;
    const open = [...this.host.querySelectorAll("details[open]")].map(({ id }) => id);
    this.form.release(`${this.kind.sheet}.`);
    this.kind.release?.(this.form);
    this.host.replaceChildren(...rows.map((row, i) => this.#thing(plan, row, i)));
    for (const id of open) byId(id)?.setAttribute("open", "");
    this.form.show();
    if (focused) byId(focused)?.focus();
  }

  #thing(plan, row, i) {
    const { sheet, title, fields, more, finer, remove, lacks } = this.kind;
    const path = `${sheet}.rows.${i}`;
    const error = h("p", { class: "error", id: `${idOf(path)}-error`, hidden: true });
    const frame = h(
      "fieldset",
      { class: "crossing" },
      h("legend", null, title(i, row)),
      h(
        "div",
        { class: "pair" },
        fields(plan, row).map((name) => this.#field(plan, row, `${path}.${name}`, name)),
      ),
      more?.(plan, row, i, this.form),
      finer &&
        h(
          "details",
          { class: "more", id: `${idOf(path)}-finer` },
          h("summary", null, finer.summary),
          finer.parts(plan, row).map(([heading, columns]) =>
            h(
              "div",
              { role: "group", "aria-label": heading },
              h("h3", { class: "finer-head" }, heading),
              h(
                "div",
                { class: "pair" },
                columns.map((name) => this.#field(plan, row, `${path}.${name}`, name)),
              ),
            ),
          ),
        ),
      lacks && h("p", { class: "hint unfinished", id: `${idOf(path)}-lacks` }),
      error,
      h(
        "button",
        {
          type: "button",
          class: "quiet",
          onclick: () => this.store.edit((now) => remove(now, i)),
        },
        `Remove ${title(i, row).toLowerCase()}`,
      ),
    );
    this.form.bindPart(path, frame, error);
    return frame;
  }

  #field(plan, row, path, name) {
    const { sheet, labels, hints = {}, options } = this.kind;
    const id = idOf(path);
    const quantity = SHEETS[sheet][name];
    const hint = hints[name] && h("p", { class: "hint", id: `${id}-hint` }, hints[name]);
    if (this.kind.ticks?.includes(name)) {
      const tick = h("input", { id, type: "checkbox", "data-choice": path });
      const field = h("div", { class: "field tick-field" }, h("label", { for: id }, tick, labels[name]), hint);
      this.form.bindChoice(tick);
      return field;
    }
    if (quantity === "choice") {
      const select = h("select", { id, "data-choice": path }, options(plan, row, name));
      const field = h("div", { class: "field" }, h("label", { for: id }, labels[name]), select, hint);
      this.form.bindChoice(select);
      return field;
    }
    const grade = quantity === "grade";
    const unit = !grade && unitAt(plan, path) && h("span", { class: "unit", "data-unit": path });
    const slot = h("p", { class: "error", id: `${id}-error`, hidden: true });
    const input = h("input", {
      id,
      "data-path": path,
      autocomplete: "off",
      inputmode: !["text", "distances", "grade", "elevation"].includes(quantity) && "decimal",
      "aria-describedby": hint?.id,
    });
    const note = this.form.bindCell(input, slot);
    return h("div", { class: "field" }, h("label", { for: id }, labels[name], unit), input, note, slot, hint);
  }
}

// The options of a choice: [[value, words], ...].
export const optionsOf = (list) => list.map(([value, text]) => h("option", { value }, text));
