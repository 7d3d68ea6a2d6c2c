// Stretches that ask for a cover of their own as forms: by stations on a line, or as an area of the map.

import { withoutRow, withValue } from "../../model/document/document.js";
import { coverName, lineNames, withCover } from "../../model/document/line_items.js";
import { kindOf, MAIN, shapesOf } from "../../model/document/shapes.js";
import { alongOf } from "../../model/request/branches.js";
import { coverLacks, ringOf, USUAL_COVERS, underWords } from "../../model/request/covers.js";
import { unitOf } from "../../model/units/units.js";
import { h } from "../dom.js";
import { optionsOf } from "../widgets/item_list.js";

const ABOUT =
  "Figures of common practice; 12 in (300 mm) under wheels after a county code. If your pipe's maker asks for more, go by that.";

const WHEELS = [
  ["", "not said"],
  ["yes", "yes"],
  ["no", "no"],
];

// The description of such stretches for a list of things. `planeOf()` answers the base's plane,
// `onMove(id)` takes an area's corners under the hand.
export const coverKind = (store, { planeOf, onMove }) => ({
  sheet: "covers",
  host: "cover-list",
  addId: "add-cover",
  first: "what",
  labels: {
    what: "What it is",
    cover: "Soil over the pipe, at least",
    wheels: "Do cars pass over it?",
    run: "It lies",
    on: "On",
    from: "From station",
    to: "To station",
  },
  title: (i) => `Stretch ${i + 1}`,
  fields: (plan, row) => [
    "what",
    "cover",
    "wheels",
    ...(plan.route.kind === "drawn" || row.run ? ["run"] : []),
    ...(row.run === "drawn" ? [] : [...(plan.branches.rows.length ? ["on"] : []), "from", "to"]),
  ],
  redrawn: (plan, row) => [plan.branches.rows.map(({ name }) => name), plan.units, row.run === "drawn" && wordsOf(plan, row, planeOf())],
  options: (plan, row, name) =>
    optionsOf(
      {
        on: lineNames(plan),
        wheels: WHEELS,
        run: [
          ["", "between two stations"],
          ["drawn", "in an area on the map"],
        ],
      }[name],
    ),
  lacks: coverLacks,
  more: (plan, row, i) =>
    h(
      "div",
      { class: "cover-more" },
      h(
        "div",
        { class: "cover-usual", role: "group", "aria-label": `Usual figures for stretch ${i + 1}` },
        USUAL_COVERS.map((usual) =>
          h(
            "button",
            { type: "button", class: "quiet", onclick: () => take(store, i, usual) },
            `${usual.words}: ${usual[plan.units]} ${unitOf("depth", plan.units)}`,
          ),
        ),
      ),
      h("p", { class: "hint" }, ABOUT),
      row.run === "drawn" &&
        plan.route.kind === "drawn" &&
        h(
          "div",
          { class: "cover-usual" },
          h("p", null, wordsOf(plan, row, planeOf())),
          h(
            "button",
            {
              type: "button",
              onclick: () => onMove(`cover:${row.key}`),
              "aria-label": `Corners of ${coverName(row)} on the map`,
            },
            ringOf(plan, row).length ? "Move its corners" : "Draw its corners",
          ),
        ),
    ),
  add: (plan) => withCover(plan).plan,
  remove: (plan, i) => withoutRow(plan, "covers", i),
});

// A usual figure; the name that somebody typed stays.
function take(store, i, usual) {
  store.edit((plan) => {
    const row = plan.covers.rows[i];
    const named = row.what.trim() && !USUAL_COVERS.some(({ what }) => what === row.what.trim());
    const covered = withValue(plan, `covers.rows.${i}.cover`, usual[plan.units]);
    const next = withValue(covered, `covers.rows.${i}.wheels`, usual.wheels ?? "");
    return named ? next : withValue(next, `covers.rows.${i}.what`, usual.what);
  });
}

function wordsOf(plan, row, plane) {
  if (plan.route.kind !== "drawn" || !plane) return "";
  const lines = shapesOf(plan)
    .filter(({ id }) => id === MAIN || kindOf(id) === "branch")
    .map(({ id, name }) => ({
      name: id === MAIN ? "the main line" : name,
      along: alongOf(plan, id === MAIN ? "" : id.split(":")[1], plane),
    }))
    .filter(({ along }) => along.line.length > 1);
  return underWords(plan, row, lines);
}
