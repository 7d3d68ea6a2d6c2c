// A level book on the page: what is typed above its table, and the choice of a sight.

import { withKnownPoint } from "../../model/document/document.js";
import { SIGHTS } from "../../model/wording/ground_tables.js";
import { h, idOf } from "../dom.js";
import { knownPoints } from "./known_points.js";

// Which sight a row is.
export function sightChoice(path, label, form) {
  const select = h(
    "select",
    { id: idOf(path), "data-choice": path, "aria-label": label },
    Object.entries(SIGHTS).map(([value, text]) => h("option", { value }, text)),
  );
  form.bindChoice(select);
  return select;
}

// What stands above the table: the benchmark, the rod's unit, and, folded away unless `open`, further
// known points.
export function bookHead(plan, { store, form }, open) {
  const field = (path, label) =>
    h("div", { class: "field lone" }, h("label", { for: idOf(path) }, label), h("input", { id: idOf(path), "data-path": path }));
  const unit = idOf("rod.unit");
  return [
    h(
      "div",
      { class: "book-head pair three" },
      field("rod.benchmark.name", "Benchmark"),
      field("rod.benchmark.elevation", "Its elevation"),
      h(
        "div",
        { class: "field" },
        h("label", { for: unit }, "Rod in"),
        h(
          "select",
          { id: unit, "data-choice": "rod.unit" },
          ["ft", "in", "m", "mm"].map((name) => h("option", { value: name }, name)),
        ),
      ),
    ),
    h(
      "details",
      { class: "more book-head", id: "closing", open },
      h("summary", null, "Other known points to close on, and the length leveled"),
      h(
        "p",
        { class: "hint" },
        "Closing means reading a point of known level at the end, the benchmark again or " +
          "another: what it differs by is the error of the whole book. Write the point's name beside its foresight. " +
          "The length says how large an error may be.",
      ),
      knownPoints({
        store,
        form,
        paths: plan.known.rows.map((_, i) => `known.rows.${i}`),
        add: withKnownPoint,
      }),
      h("div", { class: "pair" }, field("rod.distance", "Length leveled")),
    ),
  ];
}
