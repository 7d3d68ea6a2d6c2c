// What the pipe must pass on its way: each with its place, its depth, and the way to pass it.
import { missingIn } from "../../model/document/columns.js";
import { withCrossing, withoutRow } from "../../model/document/document.js";
import { lineNames } from "../../model/document/line_items.js";
import { optionsOf } from "../widgets/item_list.js";

const WAYS = [
  ["either", "whichever digs less"],
  ["over", "over it"],
  ["under", "under it"],
];

const NEEDED = {
  at: "its station",
  what: "what it is",
  top_depth: "how far its top lies below ground",
  size: "how high it is",
  clearance: "how far to keep away",
};

// What each crossing that the plan cannot count yet still needs, in sentences.
export function uncountedWords(plan) {
  return plan.crossings.rows.flatMap((row, i) => {
    const lacks = missingIn("crossings", row).map((name) => NEEDED[name]);
    const what = row.what.trim() || `crossing ${i + 1}`;
    return lacks.length ? [`The ${what} is not counted yet. Still needed: ${lacks.join(", ")}.`] : [];
  });
}

export const CROSSINGS = {
  sheet: "crossings",
  host: "crossing-list",
  addId: "add-crossing",
  first: "at",
  labels: {
    on: "It crosses",
    at: "At station",
    what: "What it is",
    top_depth: "Its top lies below ground",
    size: "How high it is",
    clearance: "Keep away by",
    pass: "Pass it",
  },
  title: (i) => `Crossing ${i + 1}`,
  fields: (plan) => [...(plan.branches.rows.length ? ["on"] : []), "at", "what", "top_depth", "size", "clearance", "pass"],
  redrawn: (plan) => plan.branches.rows.map(({ name }) => name),
  options: (plan, row, name) => optionsOf(name === "on" ? lineNames(plan) : WAYS),
  lacks: (plan, row) => missingIn("crossings", row).map((name) => NEEDED[name]),
  add: (plan) => withCrossing(plan),
  remove: (plan, i) => withoutRow(plan, "crossings", i),
};
