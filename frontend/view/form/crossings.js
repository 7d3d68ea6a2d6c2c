// What the pipe must pass on its way, each with its place, its depth, and the way to pass it; and soil
// to be laid over it.
import { missingIn } from "../../model/document/columns.js";
import { withCrossing, withoutRow } from "../../model/document/document.js";
import { lineNames, withFill } from "../../model/document/line_items.js";
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

// What each crossing, and all soil to lay, that the plan cannot count yet still needs, in sentences.
export function uncountedWords(plan) {
  const told = (sheet, needed, nameOf) =>
    plan[sheet].rows.flatMap((row, i) => {
      const lacks = missingIn(sheet, row).map((name) => needed[name]);
      return lacks.length ? [`The ${nameOf(row, i)} is not counted yet. Still needed: ${lacks.join(", ")}.`] : [];
    });
  return [
    ...told("crossings", NEEDED, (row, i) => row.what.trim() || `crossing ${i + 1}`),
    ...told("fills", FILL_NEEDED, () => "soil to lay"),
  ];
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
    exposed: "Exposed by hand already, and its depth measured there",
  },
  ticks: ["exposed"],
  title: (i) => `Crossing ${i + 1}`,
  fields: (plan) => [...(plan.branches.rows.length ? ["on"] : []), "at", "what", "top_depth", "size", "clearance", "pass", "exposed"],
  redrawn: (plan) => plan.branches.rows.map(({ name }) => name),
  options: (plan, row, name) => optionsOf(name === "on" ? lineNames(plan) : WAYS),
  lacks: (plan, row) => missingIn("crossings", row).map((name) => NEEDED[name]),
  add: (plan) => withCrossing(plan),
  remove: (plan, i) => withoutRow(plan, "crossings", i),
};

const FILL_NEEDED = { from: "where it begins", to: "where it ends", depth: "how deep it is" };

export const FILLS = {
  sheet: "fills",
  host: "fill-list",
  addId: "add-fill",
  first: "to",
  labels: {
    on: "It lies on",
    from: "From station",
    to: "To station",
    depth: "Soil to lay",
    full_from: "Full from station",
    full_to: "Full to station",
    width: "Width of its strip",
  },
  title: (i) => `Soil ${i + 1}`,
  fields: (plan) => [...(plan.branches.rows.length ? ["on"] : []), "from", "to", "depth"],
  finer: {
    summary: "Its shape",
    parts: () => [["Where it is full, and how wide it lies", ["full_from", "full_to", "width"]]],
  },
  hints: {
    full_from: "Empty: it thins out over 3 ft (1 m) at each end, but not at the start of the line.",
    width: "For its volume alone. Empty: 6 ft (2 m).",
  },
  redrawn: (plan) => plan.branches.rows.map(({ name }) => name),
  options: (plan) => optionsOf(lineNames(plan)),
  lacks: (plan, row) => missingIn("fills", row).map((name) => FILL_NEEDED[name]),
  add: withFill,
  remove: (plan, i) => withoutRow(plan, "fills", i),
};
