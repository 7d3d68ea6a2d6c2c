// What stands on and beside the line: water that comes in, branches, openings at the house, a
// pump's leg, a dry well. Their columns, their usual values, and what each still needs.

import { isBlank } from "../units/entry.js";
import { BRANCH_COLUMNS, BRANCH_GROUNDS, BRANCH_SHEETS, BY_DROP, blankBranch, blankBranchRow } from "./branch_columns.js";

// Columns by table, each with the quantity typed in it; see `SHEETS` of document.js.
export const DRAWN_SHEETS = {
  inflows: {
    name: "text",
    kind: "choice",
    on: "choice",
    at: "distance",
    area: "area",
    wall_area: "area",
    coefficient: "number",
    rain_rate: "rain",
    duration: "minutes",
    return_period: "years",
    rate: "flow",
  },
  branches: BRANCH_COLUMNS,
  ...BRANCH_SHEETS,
  openings: { what: "text", elevation: "elevation", at: "distance", on: "choice" },
  covers: { what: "text", cover: "depth", wheels: "choice", run: "choice", on: "choice", from: "distance", to: "distance" },
  fills: { on: "choice", from: "distance", to: "distance", depth: "depth", full_from: "distance", full_to: "distance", width: "distance" },
  storms: { rain_depth: "depth", duration: "minutes" },
};

export const DRAWN_QUANTITIES = {
  "head.flow": "flow",
  "head.margin": "depth",
  "pump_leg.rate": "flow",
  "pump_leg.pump_head": "distance",
  "pump_leg.lift": "distance",
  "pump_leg.length": "distance",
  "pump_leg.fittings_length": "distance",
  "pump_leg.inside": "depth",
  "pump_leg.c": "number",
  "dry_well.area": "area",
  "dry_well.rain_depth": "depth",
  "dry_well.duration": "minutes",
  "dry_well.soak_rate": "rain",
  "dry_well.stone_depth": "depth",
  "dry_well.voids": "number",
  "dry_well.safety_factor": "number",
  "search.clearance": "distance",
};

// What each part of an optional sum must hold to be asked about.
export const PUMP_NEEDS = ["rate", "pump_head", "lift", "length", "inside"];
export const WELL_NEEDS = ["area", "rain_depth", "duration", "soak_rate", "stone_depth"];

export function drawnParts() {
  const blank = (part) =>
    Object.fromEntries(
      Object.keys(DRAWN_QUANTITIES)
        .filter((path) => path.startsWith(`${part}.`))
        .map((path) => [path.slice(part.length + 1), ""]),
    );
  return {
    inflows: { rows: [] },
    branches: { rows: [] },
    ...Object.fromEntries(Object.keys(BRANCH_SHEETS).map((sheet) => [sheet, { rows: [] }])),
    openings: { rows: [] },
    covers: { rows: [] },
    fills: { rows: [] },
    storms: { rows: [] },
    head: blank("head"),
    pump_leg: blank("pump_leg"),
    dry_well: blank("dry_well"),
    outlines: {},
    sites: {},
    aside: {}, // what lies along the lines of bases that are not under the map
    place: "",
  };
}

const NEEDS = {
  roof: ["area", "rain_rate"],
  yard: ["area", "rain_rate", "coefficient"],
  pump: ["rate"],
  other: ["rate"],
};

// The columns that a kind of inlet has, in the order they are asked for.
export const INFLOW_FIELDS = {
  roof: ["area", "wall_area", "rain_rate", "duration", "return_period", "coefficient"],
  yard: ["area", "coefficient", "rain_rate", "duration", "return_period"],
  pump: ["rate"],
  other: ["rate"],
};

// The columns that a row still needs before it counts.
export const inflowLacks = (row) => NEEDS[row.kind].filter((name) => isBlank(row[name]));

export function openingLacks(row) {
  return ["what", "elevation"].filter((name) => isBlank(row[name]));
}

const added = (plan, sheet, row) => ({ ...plan, [sheet]: { ...plan[sheet], rows: [...plan[sheet].rows, row] } });

// One more inlet. A roof takes its rain from the inlet before, since it rains on both.
export function withInflow(plan, { at = "", on = "", kind = "roof" } = {}) {
  const before = plan.inflows.rows.findLast((row) => !isBlank(row.rain_rate));
  const rain = ["rain_rate", "duration", "return_period"];
  const row = {
    ...Object.fromEntries(Object.keys(DRAWN_SHEETS.inflows).map((name) => [name, ""])),
    ...(before && Object.fromEntries(rain.map((name) => [name, before[name]]))),
    kind,
    at,
    on,
  };
  return added(plan, "inflows", row);
}

// One more storm to try on the dry well.
export const withStorm = (plan) => added(plan, "storms", { rain_depth: "", duration: "" });

export const stormLacks = (row) => ["rain_depth", "duration"].filter((name) => isBlank(row[name]));

export const withOpening = (plan) => added(plan, "openings", { what: "", elevation: "", at: "", on: "" });

// One more stretch of soil to be laid, from the start where there is none yet.
export const withFill = (plan) => {
  const blank = Object.fromEntries(Object.keys(DRAWN_SHEETS.fills).map((name) => [name, ""]));
  return added(plan, "fills", { ...blank, from: plan.fills.rows.length ? "" : "0" });
};

// A stretch that asks for a cover of its own: by its stations on a line, or (`run` drawn) wherever
// a line runs through an area of the map, whose ring is kept for each base.
export const blankCover = () => ({
  ...Object.fromEntries(Object.keys(DRAWN_SHEETS.covers).map((name) => [name, ""])),
  key: "",
  rings: {},
});

// One more such stretch. Answers {plan, key}.
export function withCover(plan, part = {}) {
  const key = nextCoverKey(plan);
  return { plan: added(plan, "covers", { ...blankCover(), ...part, key }), key };
}

export const nextCoverKey = ({ covers: { rows } }) => `c${1 + Math.max(0, ...rows.map(({ key }) => Number(key.slice(1))))}`;

// What it is called on the map and in sentences.
export const coverName = ({ what }) => what.trim() || "What needs cover";

const FIRST_ROWS = 3;

// One more branch, with the pipe and the start of the main line. Answers {plan, key}.
export function withBranch(plan, run) {
  const keys = plan.branches.rows.map((row) => row.key);
  const number = 1 + Math.max(0, ...keys.map((key) => Number(key.slice(1))));
  const key = `b${number}`;
  const row = {
    ...blankBranch(plan.units),
    key,
    name: letters(number),
    run,
    pipe: plan.pipe.code,
    start_by: plan.start.by,
    start_value: plan.start.by === "invert" ? "" : plan.start.value,
  };
  return { plan: withBranchTable(added(plan, "branches", row), key, "level_line"), key };
}

// The branch with rows to type in for a way of measuring its ground, where it has none yet.
export function withBranchTable(plan, key, ground) {
  if (ground === BY_DROP) return plan;
  const { sheet } = BRANCH_GROUNDS[ground];
  if (plan[sheet].rows.some(({ branch }) => branch === key)) return plan;
  const rows = Array.from({ length: FIRST_ROWS }, (_, i) => ({ ...blankBranchRow(sheet, key), ...FIRST[sheet]?.(i) }));
  return { ...plan, [sheet]: { rows: [...plan[sheet].rows, ...rows] } };
}

const FIRST = {
  branch_readings: (i) => ({ at: i ? "" : "0" }),
  branch_shots: (i) => ({ sight: i ? "IS" : "BS" }),
  branch_points: (i) => ({ at: i ? "" : "0" }),
  branch_runs: (i) => ({ from: i ? "" : "0" }),
};

// A, B, … Z, AA, …
function letters(number) {
  const rest = number - 1;
  const last = String.fromCharCode(65 + (rest % 26));
  return rest < 26 ? last : letters(Math.floor(rest / 26)) + last;
}

// What a branch is called in a list.
export const branchName = ({ name }) => (name.trim() ? `Branch ${name.trim()}` : "A branch without a name");

// The lines that a thing can lie on, as [key, name].
export const lineNames = (plan) => [["", "the main line"], ...plan.branches.rows.map((row) => [row.key, branchName(row)])];

// The plan without a branch, what flows into it, and what joins it.
export function withoutBranch(plan, key) {
  const gone = new Set([key, ...heirs(plan, key)]);
  const kept = (sheet, column) => ({ rows: plan[sheet].rows.filter((row) => !gone.has(row[column])) });
  return {
    ...plan,
    branches: kept("branches", "key"),
    ...Object.fromEntries(Object.keys(BRANCH_SHEETS).map((sheet) => [sheet, kept(sheet, "branch")])),
    crossings: kept("crossings", "on"),
    inflows: kept("inflows", "on"),
    openings: kept("openings", "on"),
    covers: kept("covers", "on"),
    fills: kept("fills", "on"),
  };
}

// The keys of all branches that end in this one, directly or through others.
export function heirs(plan, key) {
  const direct = plan.branches.rows.filter((row) => row.into === key).map((row) => row.key);
  return direct.flatMap((child) => [child, ...heirs(plan, child)]);
}

// One more row of a branch's table.
export const withBranchRow = (plan, sheet, key) =>
  added(plan, sheet, { ...blankBranchRow(sheet, key), ...(sheet === "branch_shots" && { sight: "IS" }) });
