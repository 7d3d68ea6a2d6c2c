// The sheets where readings are typed, one for each way the ground can be known.

import { pastedRows } from "../../model/changes/paste.js";
import { BY_DROP } from "../../model/document/branch_columns.js";
import { SHEETS } from "../../model/document/columns.js";
import { TABLELESS, unitAt } from "../../model/document/document.js";
import {
  asText,
  nextCell,
  rowAdded,
  rowRemoved,
  rowsPasted,
  stationCarriedOn,
  stationsSpaced,
  withRows,
} from "../../model/document/tables.js";
import { isBlank } from "../../model/units/entry.js";
import { readMeasure } from "../../model/units/parse_measure.js";
import { toNumber } from "../../model/units/rational.js";
import { HEADS, inputMode, WORDS } from "../../model/wording/ground_tables.js";
import { workedColumns, workedRows } from "../../model/wording/reductions.js";
import { h, idOf, say } from "../dom.js";
import { drawDrop, rasterFields, showDrop, turnedField } from "./drop.js";
import { bookHead, sightChoice } from "./level_book.js";
import { tableNotes, tellNotes } from "./table_notes.js";

export class Sheets {
  #kind = null;
  #rows = "";

  constructor(host, store, form, { onExample }) {
    Object.assign(this, { host, store, form, onExample });
    store.watch((plan) => this.show(plan));
  }

  show(plan) {
    const kind = plan.ground;
    const table = tableOf(kind);
    if (kind !== this.#kind || rowsOf(plan, table) !== this.#rows) {
      if (kind === BY_DROP) this.#drawDrop();
      else if (kind === "raster") this.#drawRaster(plan);
      else this.#drawSheet(plan, kind);
    }
    this.#kind = kind;
    this.#rows = rowsOf(plan, table);
    for (const unit of this.host.querySelectorAll("[data-unit]")) {
      const text = unitAt(plan, unit.dataset.unit);
      say(unit, text && ` ${text}`);
    }
    if (table) this.#showWorked(plan, table);
    if (kind === BY_DROP) showDrop(this.host, plan[BY_DROP].of);
  }

  #showWorked(plan, kind) {
    const columns = workedColumns(plan, kind);
    if (!columns.length) return;
    const texts = workedRows(plan, kind);
    for (const cell of this.host.querySelectorAll("td.worked")) say(cell, texts[cell.dataset.row][cell.dataset.name]);
    for (const [i, row] of [...this.host.querySelectorAll("tbody tr:not(.errors)")].entries()) {
      row.classList.toggle("turn", i > 0 && plan[kind].rows[i].sight === "BS");
    }
    for (const { name, unit } of columns) say(this.host.querySelector(`[data-worked=${name}] .unit`), ` ${unit}`);
  }

  // What is told below the table; `unfinished` are the paths of rows that are left out.
  tell(plan, unfinished) {
    tellNotes(this.host, plan, tableOf(plan.ground), unfinished);
  }

  focusFirst() {
    const { ground, [ground]: sheet } = this.store.plan;
    if (TABLELESS.includes(ground)) {
      this.host.querySelector("select, input")?.focus();
      return;
    }
    const column = { rod: "rod", slopes: "percent", spots: "x", elevations: "elevation", steps: "drop" }[ground] ?? "down";
    const i = sheet.rows.findIndex((row) => isBlank(row[column]));
    this.host.querySelector(`[data-path="${ground}.rows.${Math.max(0, i)}.${column}"]`)?.focus();
  }

  #release() {
    for (const part of [this.#kind, tableOf(this.#kind), "known"]) this.form.release(`${part}.`);
  }

  #drawDrop() {
    this.#release();
    drawDrop(this.host, this.form);
    this.form.show();
  }

  #drawRaster(plan) {
    const focused = document.activeElement?.dataset?.path;
    this.#release();
    const { above, below } = rasterFields();
    this.host.replaceChildren(...above, ...this.#table(plan, OVER_RASTER), this.#tools(OVER_RASTER), below);
    for (const select of this.host.querySelectorAll(".field select")) this.form.bindChoice(select);
    this.form.show();
    this.#focus(focused, OVER_RASTER);
  }

  #focus(path, kind) {
    if (path?.startsWith(`${kind}.rows`)) this.host.querySelector(`[data-path="${path}"]`)?.focus();
  }

  // The table of a kind, and what is told below it.
  #table(plan, kind) {
    const columns = Object.keys(SHEETS[kind]);
    const head = h(
      "tr",
      null,
      h("th", { scope: "col", class: "number" }, h("span", { class: "unseen" }, "Row")),
      columns.map((name) =>
        h("th", { scope: "col" }, HEADS[kind][name], h("span", { class: "unit", "data-unit": `${kind}.rows.0.${name}` })),
      ),
      workedColumns(plan, kind).map((column) =>
        h("th", { scope: "col", class: "worked", "data-worked": column.name }, column.head, h("span", { class: "unit" })),
      ),
      h("th", { scope: "col" }, h("span", { class: "unseen" }, "Remove")),
    );
    const body = h("tbody");
    const table = h("table", { class: `sheet sheet-${kind}` }, h("thead", null, head), body);
    table.addEventListener("paste", (event) => this.#paste(event));
    table.addEventListener("keydown", (event) => this.#key(event));
    table.addEventListener("focusin", (event) => this.#carryOn(event.target));
    plan[kind].rows.forEach((_, i) => this.#drawRow(body, kind, columns, i));
    return [
      h("div", { class: "table-frame" }, table),
      ...tableNotes(
        kind,
        (edit) => this.store.edit(edit),
        (path) => (path ? this.host.querySelector(`[data-path="${path}"]`)?.focus() : this.focusFirst()),
      ),
    ];
  }

  #drawSheet(plan, kind) {
    const focused = document.activeElement?.dataset?.path;
    const open = this.host.querySelector("#closing")?.open ?? false;
    this.#release();
    this.host.replaceChildren(
      ...(kind === "rod" ? bookHead(plan, this, open) : []),
      ...(kind === "steps" ? [turnedField()] : []),
      ...this.#table(plan, kind),
      this.#tools(kind),
      h("details", { class: "more" }, h("summary", null, "How to read and write these"), h("p", { class: "hint" }, WORDS[kind])),
    );
    for (const input of this.host.querySelectorAll(".book-head .lone > input")) this.form.bind(input);
    for (const choice of this.host.querySelectorAll(".book-head select, .turned select")) this.form.bindChoice(choice);
    this.form.show();
    this.#focus(focused, kind);
  }

  #drawRow(body, kind, columns, i) {
    const error = h("p", { class: "error", id: `${idOf(`${kind}.rows.${i}`)}-error`, hidden: true });
    const errors = [];
    const cells = columns.map((name) => {
      const path = `${kind}.rows.${i}.${name}`;
      const label = `${HEADS[kind][name]}, row ${i + 1}`;
      if (name === "sight") return h("td", null, sightChoice(path, label, this.form));
      const input = h("input", {
        id: idOf(path),
        "data-path": path,
        "aria-label": label,
        autocomplete: "off",
        enterkeyhint: "next",
        inputmode: inputMode(SHEETS[kind][name]),
      });
      const slot = h("p", { class: "error", id: `${idOf(path)}-error`, hidden: true });
      errors.push(slot);
      return h("td", null, input, this.form.bindCell(input, slot));
    });
    const remove = h(
      "button",
      {
        type: "button",
        class: "icon",
        "aria-label": `Remove row ${i + 1}`,
        title: "Remove this row",
        onclick: () => this.#remove(kind, i),
      },
      "×",
    );
    const row = h(
      "tr",
      null,
      h("th", { scope: "row", class: "number" }, String(i + 1)),
      cells,
      workedColumns(this.store.plan, kind).map(({ name }) => h("td", { class: "worked", "data-row": i, "data-name": name })),
      h("td", null, remove),
    );
    this.form.bindPart(`${kind}.rows.${i}`, row, error);
    body.append(row, h("tr", { class: "errors" }, h("td", { colspan: columns.length + 2 }, error, errors)));
  }

  #tools(kind) {
    const button = (text, onclick, quiet = true) => h("button", { type: "button", class: quiet && "quiet", onclick }, text);
    const tools = h(
      "div",
      { class: "sheet-tools" },
      button("Add a row", () => this.#addRow(kind), false),
      button("Clear the sheet", () => this.#clear(kind)),
      button("Copy", (event) => this.#copy(kind, event.target)),
    );
    if (["level_line", "rod"].includes(kind)) {
      tools.append(button("Fill in an example", () => this.onExample(kind)));
    }
    if (["level_line", "elevations"].includes(kind)) {
      const spacing = h("input", { id: "spacing", class: "short", inputmode: "decimal", autocomplete: "off" });
      const fill = () => this.#space(kind, spacing);
      tools.append(
        h(
          "span",
          { class: "spacing" },
          h("label", { for: "spacing" }, "Stations every"),
          spacing,
          h("span", { class: "unit", "data-unit": `${kind}.rows.0.at` }),
          button("Set", fill),
        ),
      );
    }
    tools.append(h("p", { class: "hint" }, "Rows copied from a spreadsheet can be pasted into any cell."));
    return tools;
  }

  #addRow(kind) {
    this.store.edit((plan) => rowAdded(plan, kind));
    const i = this.store.plan[kind].rows.length - 1;
    const names = Object.keys(SHEETS[kind]).filter((name) => name !== "sight" && name !== "on");
    const empty = names.find((name) => isBlank(this.store.plan[kind].rows[i][name])) ?? names[0];
    this.host.querySelector(`[data-path="${kind}.rows.${i}.${empty}"]`)?.focus();
  }

  // The button goes with its row: the hand stays on the one that takes its place.
  #remove(kind, i) {
    this.store.edit((plan) => rowRemoved(plan, kind, i));
    const buttons = this.host.querySelectorAll("button.icon");
    (buttons[Math.min(i, buttons.length - 1)] ?? this.host.querySelector(".sheet-tools button"))?.focus();
  }

  #clear(kind) {
    this.store.edit((plan) =>
      withRows(
        plan,
        kind,
        plan[kind].rows.map((row) => Object.fromEntries(Object.keys(row).map((name) => [name, name === "sight" ? row.sight : ""]))),
      ),
    );
    this.focusFirst();
  }

  async #copy(kind, button) {
    try {
      await navigator.clipboard.writeText(asText(this.store.plan, kind));
      say(button, "Copied");
    } catch {
      say(button, "Copying is not allowed here");
    }
    setTimeout(() => say(button, "Copy"), 2000);
  }

  #space(kind, spacing) {
    const read = readMeasure(spacing.value, unitAt(this.store.plan, `${kind}.rows.0.at`));
    const good = read.value && toNumber(read.value) > 0;
    if (good) this.store.edit((plan) => stationsSpaced(plan, kind, toNumber(read.value)));
    else spacing.focus();
  }

  #paste(event) {
    const path = event.target.dataset?.path;
    const [kind, , i] = path?.split(".") ?? [];
    const rows = kind && pastedRows(event.clipboardData.getData("text"), kind);
    if (!rows?.length) return;
    event.preventDefault();
    this.store.edit((plan) => rowsPasted(plan, kind, Number(i), rows));
  }

  // Enter goes to the next cell to fill; arrows up and down keep the column.
  #key(event) {
    const path = event.target.dataset?.path;
    if (!path) return;
    const [kind, , row, column] = path.split(".");
    const step = { ArrowUp: -1, ArrowDown: 1 }[event.key];
    if (step) {
      const there = this.host.querySelector(`[data-path="${kind}.rows.${Number(row) + step}.${column}"]`);
      if (there) {
        event.preventDefault();
        there.focus();
      }
    } else if (event.key === "Enter") {
      event.preventDefault();
      this.#next(event.target, kind);
    }
  }

  #next(input, kind) {
    const [, , row, column] = input.dataset.path.split(".");
    const next = nextCell(this.store.plan, kind, Number(row), column);
    if (next.added) this.#addRow(kind);
    else this.host.querySelector(`[data-path="${kind}.rows.${next.row}.${next.column}"]`)?.focus();
  }

  // A reading typed beside an empty station gets the next station by the spacing.
  #carryOn(input) {
    const path = input.dataset?.path;
    if (!path) return;
    input.select?.();
    const [kind, , row, column] = path.split(".");
    this.store.edit((plan) => stationCarriedOn(plan, kind, Number(row), column), { key: path });
  }
}

const OVER_RASTER = "over_raster";

// The table that is typed in for a way to measure; null where there is none.
const tableOf = (kind) => (kind === "raster" ? OVER_RASTER : TABLELESS.includes(kind) ? null : kind);

// How many rows the drawn tables of a way to measure have.
const rowsOf = (plan, kind) => kind && `${plan[kind].rows.length} ${kind === "rod" ? plan.known.rows.length : ""}`;
