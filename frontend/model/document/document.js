// The plan as the user has it: everything typed and drawn, kept as typed. Plain data, never
// changed in place. Paths such as "level_line.rows.2.down" name every value in it.

import { convertEntry, convertList, isBlank, readEntry, readString, textOf } from "../units/entry.js";
import { readGrade, wayTyped } from "../units/grade.js";
import { rodCounterpart, unitOf } from "../units/units.js";
import { BY_DROP, blankBranch } from "./branch_columns.js";
import { SHEETS } from "./columns.js";
import { blankCover, DRAWN_QUANTITIES, drawnParts, withBranchTable } from "./line_items.js";
import { blankPrices, PRICE_QUANTITIES } from "./prices.js";
import { blankSupply, SUPPLY_QUANTITIES } from "./supply.js";

export const BLANK = "blank";
export const DRAWN_ONLY = ["raster", "spots"];
export const TABLELESS = ["raster", "length_and_drop"]; // ways to know the ground without rows to type

const QUANTITIES = {
  "route.length": "distance",
  "route.tape_length": "distance",
  "rod.benchmark.elevation": "elevation",
  "rod.distance": "distance",
  "length_and_drop.drop": "depth",
  "length_and_drop.hump_at": "distance",
  "length_and_drop.hump_height": "depth",
  "pipe.outside": "depth",
  "pipe.inside": "depth",
  "pipe.wall": "depth",
  "pipe.n": "number",
  "start.shallowest_cover": "depth",
  "grade.min_percent": "grade",
  "grade.max_percent": "grade",
  "grade.fall_step": "depth",
  "grade.max_breaks": "number",
  "limits.min_cover": "depth",
  "limits.max_depth": "depth",
  "limits.outlet_taper": "distance",
  "limits.run_out_cover": "depth",
  "limits.run_in": "distance",
  "limits.run_in_cover": "depth",
  "limits.bedding": "depth",
  "limits.trench_width": "depth",
  "accuracy.sigma": "depth",
  "accuracy.common": "depth",
  "stations.every": "distance",
  "stations.at": "distances",
  "old_pipe.min_percent": "percent",
  "old_pipe.sigma": "depth",
  ...DRAWN_QUANTITIES,
  ...PRICE_QUANTITIES,
  ...SUPPLY_QUANTITIES,
};
const LISTS = ["distances", "depths"];
const BY_LEVEL = ["start.value", "outlet.min", "outlet.max", "outlet.prefer"];
const WATER_LEVEL = "outlet.water";

const ROWS = 5;
const ROWS_OVER_RASTER = 3;
const rowOf = (kind) => Object.fromEntries(Object.keys(SHEETS[kind]).map((name) => [name, ""]));
const blankRows = (kind) => Array.from({ length: ROWS }, () => rowOf(kind));

// A plan with nothing measured yet and the usual choices made.
export function blankDocument(units = "us") {
  const us = units === "us";
  return {
    version: 1,
    job: "", // the id of the job that it is kept as
    units,
    base: BLANK,
    lines: {},
    route: { kind: "taped", length: "", tape_length: "" },
    ground: "level_line",
    level_line: { rows: blankRows("level_line") },
    rod: {
      unit: us ? "ft" : "m",
      benchmark: { name: "BM", elevation: "100" },
      distance: "",
      rows: blankRows("rod").map((row, i) => ({ ...row, sight: i ? "IS" : "BS" })),
    },
    known: { rows: [] },
    elevations: { rows: blankRows("elevations") },
    slopes: { rows: blankRows("slopes") },
    steps: { reversed: "", rows: blankRows("steps") },
    length_and_drop: { of: "", drop: "", hump_at: "", hump_height: "" },
    spots: { rows: blankRows("spots") },
    crossings: { rows: [] },
    raster: { vertical_unit: "", read_with: "" },
    over_raster: { rows: blankRows("over_raster").slice(0, ROWS_OVER_RASTER) },
    pipe: { code: "corrugated-single-4", outside: "", inside: "", wall: "", n: "" },
    start: { by: "cover", value: us ? "8" : "200", shallowest_cover: "" },
    grade: { min_percent: "", max_percent: "", fall_step: "", aim: "least_fall", shape: "", max_breaks: "1", way: "" },
    limits: {
      min_cover: "",
      max_depth: "",
      dig_by: "",
      outlet_taper: "",
      run_out_cover: "",
      run_in: "",
      run_in_cover: "",
      bedding: "",
      trench_width: "",
    },
    outlet: { kind: "pop_up", by: "depth", min: "", max: "", prefer: "", water_by: "depth", water: "" },
    stations: { every: "", at: "" },
    accuracy: { instrument: "", sigma: "", common: "", lawn: "" },
    old_pipe: { by: "down", pipe: "", instrument: "", sigma: "", min_percent: "", hold: "" },
    old_points: { rows: blankRows("old_points") },
    prices: blankPrices(),
    supply: blankSupply(),
    stakes: { from: null, tags: false }, // the area they are taped from by its name, null for the house
    search: { starts: {}, skip: [], goal: "", clearance: us ? "2" : "0.6" },
    ...drawnParts(),
  };
}

// A kept plan, with the usual choice in every field that was added since it was kept.
export function completed(plan) {
  const kept = plan.covers ? plan : withOpenShape(plan);
  const usual = blankDocument(kept.units);
  const parts = Object.keys(usual).map((name) => {
    const [value, part] = [kept[name], usual[name]];
    const isPart = typeof part === "object" && name !== "lines";
    return [name, isPart ? { ...part, ...value } : (value ?? part)];
  });
  const whole = Object.fromEntries(parts);
  const branches = whole.branches.rows.map((row) => ({ ...blankBranch(kept.units), ...row }));
  const crossings = whole.crossings.rows.map((row) => ({ on: "", exposed: "", ...row }));
  const covers = whole.covers.rows.map((row) => ({ ...blankCover(), ...row }));
  const { known, ...rod } = whole.rod; // before there was a list, a book could close on one point
  const rows = known && !isBlank(known.name) ? [known] : whole.known.rows;
  return {
    ...whole,
    rod,
    known: { rows },
    branches: { rows: branches },
    crossings: { rows: crossings },
    covers: { rows: covers },
  };
}

// Plans kept before a straight grade could be insisted on say "straight" where the shape was left
// open.
function withOpenShape(plan) {
  const open = (part) => (part?.shape === "straight" ? { ...part, shape: "" } : part);
  const { grade, branches } = plan;
  return {
    ...plan,
    ...(grade && { grade: open(grade) }),
    ...(branches && { branches: { ...branches, rows: branches.rows.map(open) } }),
  };
}

// Whether the plan is drawn on a plane of its own, a blank sheet or a site plan, in metres.
export const isLocal = (plan) => plan.base === BLANK || plan.base in plan.sites;

// Whether a trench can be dug by the plan: not where only the pipe's two ends are known.
export const isDiggable = (plan) => plan.ground !== BY_DROP || plan[BY_DROP].of !== "pipe";

export const lineOf = (plan) => plan.lines[plan.base] ?? [];

export const withLine = (plan, line) => ({
  ...plan,
  lines: { ...plan.lines, [plan.base]: line },
});

// Choose how the ground is known. A surface needs a line on the map; readings along a tape need
// only its length. How well it is known is asked again.
export function withGround(plan, kind) {
  const drawn = DRAWN_ONLY.includes(kind) || (plan.route.kind === "drawn" && lineOf(plan).length > 1);
  const route = { ...plan.route, kind: drawn ? "drawn" : "taped" };
  const accuracy = { instrument: "", sigma: "", common: "", lawn: "" };
  return { ...plan, ground: kind, route, accuracy };
}

export function valueAt(plan, path) {
  return path.split(".").reduce((part, key) => part?.[key], plan);
}

export function withValue(plan, path, value) {
  const [key, ...rest] = path.split(".");
  const next = rest.length ? withValue(plan[key], rest.join("."), value) : value;
  if (plan[key] === next) return plan;
  if (Array.isArray(plan)) return plan.map((item, i) => (i === Number(key) ? next : item));
  return { ...plan, [key]: next };
}

// Reads the measure at a path: {value: number}, {empty: true} or {error}; a grade that must be asked
// about has `readings` beside its error.
// An elevation may be typed as how far it lies below the string: "9 in below".
export function readAt(plan, path) {
  const [quantity, entry, unit] = [quantityAt(plan, path), valueAt(plan, path), unitAt(plan, path)];
  if (quantity === "grade") return readGrade(entry);
  if (unit === "mm" && READING.test(path)) return readString(entry);
  if (quantity !== "elevation" || !BELOW.test(textOf(entry))) return readEntry(entry, unit);
  const found = readEntry(textOf(entry).replace(BELOW, ""), unit);
  return found.value === undefined ? found : { value: -found.value };
}

const READING = /^(level_line|over_raster|branch_readings)\.rows\.\d+\.down$/;
const BELOW = / below(?: the (?:string|line))?\s*$/i;

// The plan, showing grades in the same way as the plan before it.
export const withWayOf = (plan, { grade: { way } }) => withValue(plan, "grade.way", way);

const PIPE_GRADES = /^(grade|branches\.rows\.\d+)\.(min|max)_percent$/;

// The plan with a text typed. A pipe's grade is shown in the way that it was typed.
export function withTyped(plan, path, text) {
  const next = withValue(plan, path, text);
  const way = PIPE_GRADES.test(path) ? wayTyped(text) : null;
  return way === null ? next : withValue(next, "grade.way", way);
}

// A pipe described by its own measures, instead of one from the catalogue.
export const OWN_PIPE = "own";

// The plan with a choice made. Another pipe clears the sizes typed for the one before; a way of
// digging sets the greatest depth, so it clears the depth typed.
export function withChoice(plan, path, value) {
  const next = withValue(plan, path, value);
  if (path === "pipe.code") return { ...next, pipe: { code: value, outside: "", inside: "", wall: "", n: "" } };
  if (path === "length_and_drop.of" && value === "pipe") return byPipe(next);
  if (path === "limits.dig_by" && value) return withValue(next, "limits.max_depth", "");
  const [, branch, column] = /^branches\.rows\.(\d+)\.(\w+)$/.exec(path) ?? [];
  return branch ? withBranchChoice(next, Number(branch), column, value) : next;
}

// The pipe from one level to another: it starts at an invert, 0 until another is typed, and ends
// in the drain it ties into. Whatever needs the ground is cleared.
const byPipe = (plan) => ({
  ...plan,
  start: { by: "invert", value: plan.start.by === "invert" ? plan.start.value : "0", shallowest_cover: "" },
  outlet: { ...plan.outlet, kind: "tie_in", min: "", max: "", prefer: "" },
  grade: { ...plan.grade, shape: "straight" },
  accuracy: { instrument: "", sigma: "", common: "" },
  length_and_drop: { ...plan.length_and_drop, hump_at: "", hump_height: "" },
});

function withBranchChoice(plan, i, column, value) {
  const given = (part) => ({ ...plan, branches: { rows: plan.branches.rows.map((row, k) => (k === i ? { ...row, ...part } : row)) } });
  if (column === "pipe") return given({ outside: "", inside: "", wall: "", n: "" });
  if (column === "dig_by" && value) return given({ max_depth: "" });
  if (column === "ground" && value) return withBranchTable(plan, plan.branches.rows[i].key, value);
  return plan;
}

// One more thing to pass, with the usual size and clearance of a buried line.
export function withCrossing(plan, { at = "", on = "" } = {}) {
  const us = plan.units === "us";
  const row = {
    on,
    at,
    what: "gas line",
    top_depth: "",
    size: us ? "1" : "25",
    clearance: us ? "6" : "150",
    pass: "either",
    exposed: "",
  };
  return withValue(plan, "crossings.rows", [...plan.crossings.rows, row]);
}

// One more point of known level for the level book to close on.
export const withKnownPoint = (plan) => withValue(plan, "known.rows", [...plan.known.rows, { name: "", elevation: "" }]);

export const withoutRow = (plan, sheet, i) =>
  withValue(
    plan,
    `${sheet}.rows`,
    plan[sheet].rows.filter((_, k) => k !== i),
  );

// The unit a value is typed in; "" where it has none.
export function unitAt(plan, path) {
  const quantity = quantityAt(plan, path);
  return quantity === "rod" ? rodUnit(plan, path) : unitOf(quantity, plan.units);
}

function rodUnit(plan, path) {
  const [sheet, , row] = path.split(".");
  if (sheet !== "branch_shots") return plan.rod.unit;
  const key = plan.branch_shots.rows[row].branch;
  return plan.branches.rows.find((branch) => branch.key === key).rod_unit;
}

export function quantityAt(plan, path) {
  if (BY_LEVEL.includes(path)) {
    return plan[path.split(".")[0]].by === "invert" ? "elevation" : "depth";
  }
  if (path === WATER_LEVEL) return plan.outlet.water_by;
  const [sheet, rows, part, column] = path.split(".");
  if (sheet === "sites") return part === "distance" ? "distance" : "number";
  if (rows === "rows") {
    const quantity = SHEETS[sheet][column];
    if (quantity === "level") return plan.branches.rows[part].start_by === "invert" ? "elevation" : "depth";
    if (quantity !== "plane") return quantity;
    return isLocal(plan) ? "distance" : "number";
  }
  if (sheet === "prices" && part) return "number";
  return QUANTITIES[path] ?? "text";
}

// Every path that holds a measure.
export function measurePaths(plan) {
  const cells = Object.keys(SHEETS).flatMap((sheet) =>
    plan[sheet].rows.flatMap((_, i) =>
      Object.entries(SHEETS[sheet])
        .filter(([, quantity]) => quantity !== "text" && quantity !== "choice")
        .map(([column]) => `${sheet}.rows.${i}.${column}`),
    ),
  );
  const scales = Object.keys(plan.sites).map((id) => `sites.${id}.distance`);
  return [...Object.keys(QUANTITIES), ...BY_LEVEL, WATER_LEVEL, ...cells, ...scales];
}

// What the page filled in itself, in both systems: a round figure stays one. [path, quantity, us, si].
const FILLED_IN = [
  [/^(start\.value|branches\.rows\.\d+\.start_value)$/, "depth", "8", "200"],
  [/^search\.clearance$/, "distance", "2", "0.6"],
  [/^crossings\.rows\.\d+\.size$/, "depth", "1", "25"],
  [/^crossings\.rows\.\d+\.clearance$/, "depth", "6", "150"],
];

function counterpart(plan, path, entry) {
  const [, quantity, ...figures] = FILLED_IN.find(([where]) => where.test(path)) ?? [];
  const [here, there] = plan.units === "us" ? figures : figures.reverse();
  return quantity && quantity === quantityAt(plan, path) && entry === here ? there : null;
}

// The plan in the other unit system, every typed value converted exactly and in place; what the
// page filled in takes its round figure there.
export function inUnits(plan, units) {
  if (units === plan.units) return plan;
  const rows = plan.branches.rows.map((row) => ({ ...row, rod_unit: rodCounterpart(row.rod_unit) }));
  const target = { ...plan, units, rod: { ...plan.rod, unit: rodCounterpart(plan.rod.unit) }, branches: { rows } };
  return measurePaths(plan).reduce((next, path) => {
    const filled = counterpart(plan, path, valueAt(plan, path));
    if (filled !== null) return withValue(next, path, filled);
    const convert = LISTS.includes(quantityAt(plan, path)) ? convertList : convertEntry;
    const entry = convert(valueAt(plan, path), unitAt(plan, path), unitAt(target, path));
    return withValue(next, path, entry);
  }, target);
}
