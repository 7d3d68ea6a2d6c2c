// Inlets: where water comes into the pipe, and how much; and the openings at the house where it
// could come out.
import { withoutRow } from "../../model/document/document.js";
import {
  INFLOW_FIELDS,
  inflowLacks,
  lineNames,
  openingLacks,
  stormLacks,
  withInflow,
  withOpening,
  withStorm,
} from "../../model/document/line_items.js";
import { optionsOf } from "../widgets/item_list.js";

export const INFLOW_KINDS = [
  ["roof", "Roof, by a downspout"],
  ["yard", "Open ground, by a grate"],
  ["pump", "Sump pump"],
  ["other", "Something else"],
];

const LABELS = {
  name: "Name",
  kind: "What comes in",
  on: "Into",
  at: "At station",
  area: "Area seen from above",
  wall_area: "Wall above it that drains here",
  coefficient: "Share that runs off",
  rain_rate: "Rain rate",
  duration: "That rain lasts",
  return_period: "Comes back every",
  rate: "Flow",
};

export const INFLOWS = {
  sheet: "inflows",
  host: "inflow-list",
  addId: "add-inflow",
  first: "area",
  labels: LABELS,
  hints: {
    at: "Empty: where the pipe starts.",
    wall_area: "Half of it counts, as rain drives against a wall.",
    coefficient: "0 to 1. A roof sheds all of it: empty means 1.",
    rain_rate: "Of a short burst, about 5 minutes: an hour's rate hides it. Your building office or a rainfall atlas has it.",
  },
  title: (i) => `Inlet ${i + 1}`,
  fields: (plan, row) => ["kind", "at", ...(plan.branches.rows.length ? ["on"] : []), ...INFLOW_FIELDS[row.kind], "name"],
  redrawn: (plan) => plan.branches.rows.map(({ name }) => name),
  options: (plan, row, name) => optionsOf(name === "kind" ? INFLOW_KINDS : lineNames(plan)),
  lacks: (plan, row) => inflowLacks(row).map((name) => LABELS[name].toLowerCase()),
  add: (plan) => withInflow(plan),
  remove: (plan, i) => withoutRow(plan, "inflows", i),
};

export const OPENINGS = {
  sheet: "openings",
  host: "opening-list",
  addId: "add-opening",
  first: "what",
  labels: { what: "What it is", elevation: "Its elevation", at: "At station", on: "On" },
  hints: {
    at: "Empty: where the pipe starts.",
    elevation: "In the same terms as your ground. Under a level string, type how far below the string: 9 in below.",
  },
  title: (i) => `Opening ${i + 1}`,
  fields: (plan) => ["what", "elevation", "at", ...(plan.branches.rows.length ? ["on"] : [])],
  redrawn: (plan) => plan.branches.rows.map(({ name }) => name),
  options: (plan) => optionsOf(lineNames(plan)),
  lacks: (plan, row) => openingLacks(row).map((name) => OPENINGS.labels[name].toLowerCase()),
  add: withOpening,
  remove: (plan, i) => withoutRow(plan, "openings", i),
};

// Further storms to try on the dry well.
export const STORMS = {
  sheet: "storms",
  host: "storm-list",
  addId: "add-storm",
  first: "rain_depth",
  labels: { rain_depth: "Rain", duration: "Falls within" },
  title: (i) => `Further storm ${i + 1}`,
  fields: () => ["rain_depth", "duration"],
  lacks: (plan, row) => stormLacks(row).map((name) => STORMS.labels[name].toLowerCase()),
  add: withStorm,
  remove: (plan, i) => withoutRow(plan, "storms", i),
};
