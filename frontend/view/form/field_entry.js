// The sheet of readings for use in the yard: one row at a time in big fields with a number pad of
// its own. It is the same sheet as on the desk; #in-the-yard in the address opens it, so that a
// reload comes back to it and the phone's back button leaves it.
import { SHEETS } from "../../model/document/columns.js";
import { readAt, TABLELESS, unitAt, valueAt, withValue } from "../../model/document/document.js";
import { nextCell, READINGS, rowAdded, rowRemoved, stationCarriedOn } from "../../model/document/tables.js";
import { isBlank, textOf } from "../../model/units/entry.js";
import { HEADS, SIGHTS } from "../../model/wording/ground_tables.js";
import { workedColumns, workedRows } from "../../model/wording/reductions.js";
import { addressSays, goTo, keepAddress } from "../../state/address.js";
import { byId, h, say } from "../dom.js";
import { NumberPad } from "../widgets/number_pad.js";
import { showError } from "./form.js";

const PLACE = "in-the-yard";
const TYPED_BY_LETTERS = ["text"];

export class YardSheet {
  #row = 0;
  #column = null;
  #drawn = "";

  constructor(store, form) {
    Object.assign(this, { store, form });
    this.dialog = byId("yard-view");
    [this.rows, this.fields] = ["yard-rows", "yard-fields"].map(byId);
    this.pad = new NumberPad(byId("yard-pad"), { inputOf: () => byId(`yard-${this.#column}`), next: () => this.#next() });
    byId("yard-open").addEventListener("click", () => {
      goTo({ [PLACE]: true });
    });
    byId("yard-close").addEventListener("click", () => this.#leave());
    byId("yard-undo").addEventListener("click", () => store.undo());
    byId("yard-remove").addEventListener("click", () => this.#remove());
    this.dialog.addEventListener("cancel", (event) => {
      event.preventDefault();
      this.#leave();
    });
    this.fields.addEventListener("keydown", (event) => this.#key(event));
    addEventListener("hashchange", () => this.#follow());
    store.watch(() => this.dialog.open && this.show());
    this.#follow();
  }

  #follow() {
    const wanted = addressSays(PLACE) !== null && !TABLELESS.includes(this.store.plan.ground);
    if (wanted && !this.dialog.open) this.#enter();
    if (!wanted && this.dialog.open) this.dialog.close();
  }

  #enter() {
    this.dialog.showModal();
    const { ground, [ground]: sheet } = this.store.plan;
    const reading = READINGS.find((name) => name in SHEETS[ground]);
    const first = sheet.rows.findIndex((row) => isBlank(row[reading]));
    if (!sheet.rows.length) this.store.edit((plan) => rowAdded(plan, ground));
    this.#go(first < 0 ? Math.max(0, sheet.rows.length - 1) : first, reading);
  }

  #leave() {
    keepAddress({ [PLACE]: null });
    this.dialog.close();
    byId("yard-open").focus();
  }

  show() {
    const { plan } = this.store;
    const kind = plan.ground;
    if (TABLELESS.includes(kind)) {
      this.#leave();
      return;
    }
    this.#row = Math.min(this.#row, plan[kind].rows.length - 1);
    const key = `${kind} ${this.#row} ${plan.units}`;
    if (key !== this.#drawn) this.#drawFields(plan, kind);
    this.#drawn = key;
    for (const input of this.fields.querySelectorAll("input[data-yard]")) {
      const text = textOf(valueAt(plan, input.dataset.yard));
      if (input.value !== text) input.value = text;
      this.#ask(input, plan);
    }
    this.#showSight(plan, kind);
    this.#drawRows(plan, kind);
    byId("yard-undo").disabled = !this.store.canUndo;
    byId("yard-remove").disabled = plan[kind].rows.length < 2;
    say(
      byId("yard-kept"),
      this.store.keeps
        ? "Kept in this browser as you type, also when the battery dies."
        : "This browser does not keep what you type: finish before you close the page.",
    );
  }

  // The rows so far, as on the sheet; a tap takes one up.
  #drawRows(plan, kind) {
    const names = Object.keys(SHEETS[kind]).filter(
      (name) => plan[kind].rows.some((row) => !isBlank(row[name])) || !["line", "on"].includes(name),
    );
    const worked = workedColumns(plan, kind);
    const texts = workedRows(plan, kind);
    const head = h(
      "tr",
      null,
      h("th", null, h("span", { class: "unseen" }, "Row")),
      names.map((name) => h("th", { scope: "col" }, HEADS[kind][name], unit(unitAt(plan, `${kind}.rows.0.${name}`)))),
      worked.map((column) => h("th", { scope: "col", class: "worked" }, column.head, unit(column.unit))),
    );
    const rows = plan[kind].rows.map((row, i) =>
      h(
        "tr",
        {
          class: [i === this.#row && "now", row.sight === "BS" && i > 0 && "turn"].filter(Boolean).join(" ") || null,
          onclick: () => this.#take(i),
        },
        h(
          "th",
          { scope: "row" },
          h(
            "button",
            {
              type: "button",
              "aria-current": i === this.#row && "true",
              "aria-label": `Take up row ${i + 1}`,
            },
            String(i + 1),
          ),
        ),
        names.map((name) => h("td", null, textOf(row[name]))),
        worked.map(({ name }) => h("td", { class: "worked" }, texts[i][name])),
      ),
    );
    const focused = this.rows.contains(document.activeElement);
    this.rows.replaceChildren(
      h(
        "table",
        { class: `sheet yard-table sheet-${kind}` },
        h("caption", { class: "unseen" }, "The readings so far"),
        h("thead", null, head),
        h("tbody", null, rows),
      ),
    );
    const now = this.rows.querySelector("tr.now");
    if (focused) now?.querySelector("button").focus();
    now?.scrollIntoView({ block: "nearest" });
  }

  #drawFields(plan, kind) {
    const names = Object.keys(SHEETS[kind]);
    say(byId("yard-row"), `row ${this.#row + 1}`);
    this.fields.replaceChildren(...names.map((name) => (name === "sight" ? this.#sightField(kind) : this.#field(plan, kind, name))));
    this.#drawPad(plan);
  }

  #field(plan, kind, name) {
    const path = `${kind}.rows.${this.#row}.${name}`;
    const letters = TYPED_BY_LETTERS.includes(SHEETS[kind][name]);
    const id = `yard-${name}`;
    const input = h("input", {
      id,
      "data-yard": path,
      autocomplete: "off",
      spellcheck: "false",
      enterkeyhint: "next",
      inputmode: letters ? "text" : "none",
    });
    input.addEventListener("input", () => {
      this.form.typed(path);
      this.store.edit((now) => withValue(now, path, input.value), { key: path, origin: input });
    });
    input.addEventListener("focus", () => this.#focused(name, input));
    return h(
      "div",
      { class: "field", "data-column": name },
      h("label", { for: id }, HEADS[kind][name], unit(unitAt(plan, path))),
      input,
      (SHEETS[kind][name] === "grade" || name === "down") && h("p", { class: "error", id: `${id}-ask`, role: "status", hidden: true }),
    );
  }

  // A grade or a reading that could be meant in several ways is asked about under its field.
  #ask(input, plan) {
    const slot = byId(`${input.id}-ask`);
    if (!slot) return;
    const { error, readings = [] } = readAt(plan, input.dataset.yard);
    showError(slot, readings.length ? error : "", readings, (typed) => {
      this.store.edit((now) => withValue(now, input.dataset.yard, typed));
      input.focus();
    });
  }

  #sightField(kind) {
    return h(
      "fieldset",
      { class: "switch", "data-column": "sight" },
      h("legend", { class: "unseen" }, HEADS[kind].sight),
      Object.entries(SIGHTS).map(([value, text]) =>
        h(
          "label",
          null,
          h("input", {
            type: "radio",
            name: "yard-sight",
            value,
            onchange: () => this.store.edit((plan) => withValue(plan, `${kind}.rows.${this.#row}.sight`, value)),
          }),
          ` ${text}`,
        ),
      ),
    );
  }

  #showSight(plan, kind) {
    for (const radio of this.fields.querySelectorAll("input[name=yard-sight]")) {
      radio.checked = radio.value === plan[kind].rows[this.#row].sight;
    }
  }

  #focused(name, input) {
    this.#column = name;
    input.select();
    const { ground } = this.store.plan;
    this.store.edit((plan) => stationCarriedOn(plan, ground, this.#row, name), { key: input.dataset.yard });
    this.#drawPad(this.store.plan);
  }

  #drawPad(plan) {
    const inches = this.#column && unitAt(plan, `${plan.ground}.rows.0.${this.#column}`) === "in";
    this.pad.show(plan.units, inches);
  }

  #key(event) {
    if (event.key !== "Enter" || event.target.type === "radio") return;
    event.preventDefault();
    this.#next();
  }

  #next() {
    const { plan } = this.store;
    const next = nextCell(plan, plan.ground, this.#row, this.#column);
    if (next.added) this.store.edit((now) => rowAdded(now, now.ground));
    this.#go(next.row, next.column);
  }

  #take(i) {
    const reading = READINGS.find((name) => name in SHEETS[this.store.plan.ground]);
    this.#go(i, reading);
  }

  #go(row, column) {
    [this.#row, this.#column] = [row, column];
    this.show();
    byId(`yard-${column}`)?.focus();
  }

  #remove() {
    this.store.edit((plan) => rowRemoved(plan, plan.ground, this.#row));
    this.#drawn = "";
    this.#take(Math.max(0, Math.min(this.#row, this.store.plan[this.store.plan.ground].rows.length - 1)));
  }
}

const unit = (text) => text && h("span", { class: "unit" }, ` ${text}`);
