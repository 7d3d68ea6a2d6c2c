// Branches as forms: where each joins, its pipe, its start, and the ground along it.
import { BRANCH_SHEETS, BY_DROP } from "../../model/document/branch_columns.js";
import { branchName, withBranch, withoutBranch } from "../../model/document/line_items.js";
import { hosts } from "../../model/document/shapes.js";
import { branchGround, branchLacks, onSurface } from "../../model/request/branches.js";
import { TURNED } from "../../model/request/drop.js";
import { byId } from "../dom.js";
import { optionsOf } from "../widgets/item_list.js";
import { AIMS, SHAPES } from "./advanced.js";
import { groundTable } from "./branch_ground.js";

const LABELS = {
  name: "Name",
  into: "Ends in",
  run: "Its run is",
  joins_at: "Joins at station",
  length: "Length",
  pipe: "Pipe",
  start_by: "At its start, set",
  start_value: "That is",
  min_percent: "Minimum grade",
  max_depth: "Maximum depth",
  ground: "Its ground measured with",
  rod_unit: "Rod in",
  benchmark: "Benchmark",
  benchmark_elevation: "Its elevation",
  levelled: "Length leveled",
  reversed: "Level turned end for end",
  ground_drop: "Drop of the ground",
  hump_at: "A hump at station",
  hump_height: "Hump above the even slope",
  drop: "Comes in higher by",
  tape_length: "Taped length",
  shallowest_cover: "Shallowest cover at its start",
  outside: "Outside diameter",
  inside: "Inside diameter",
  wall: "Wall",
  n: "Roughness n",
  shape: "The pipe runs",
  aim: "A straight grade is chosen",
  max_breaks: "Changes of grade at most",
  max_percent: "Maximum grade",
  fall_step: "Round the whole fall up to",
  min_cover: "Minimum cover",
  dig_by: "Dug by",
  outlet_taper: "Cover may thin out over the last",
  run_out_cover: "Cover kept where it thins out",
  run_in: "Cover may be less over the first",
  run_in_cover: "Cover kept on that first length",
  bedding: "Bedding under the pipe",
  trench_width: "Width of the trench",
  every: "A station every",
  stations: "Further stations",
};
// What is typed of a branch's ground beside its table.
const GROUND_FIELDS = {
  rod: ["rod_unit", "benchmark", "benchmark_elevation", "levelled"],
  steps: ["reversed"],
  [BY_DROP]: ["ground_drop", "hump_at", "hump_height"],
};
const HINTS = {
  joins_at: "Along the line it ends in.",
  length: "Empty: to its last reading.",
  min_percent: "Empty: the usual of its pipe.",
  max_depth: "Empty: as the main line.",
  start_by: "The invert is the lowest point inside the pipe; give its elevation in the same terms as the ground.",
  drop: "How far it comes in above the invert of that line. Empty: both pipes' tops at one level.",
  tape_length: "The tape rules over the drawing.",
  shallowest_cover: "How far its start may be raised if that settles it.",
  outside: "Left empty, the catalogue's values hold.",
  stations: "Separate with semicolons: 10; 22 1/2",
  min_cover: "Empty: as the main line.",
  reversed: "Turned at every step, its own error cancels.",
  ground_drop: "From its start to the join. Its length goes above.",
  hump_at: "Where there is one.",
  hump_height: "A dip counts as minus.",
};

// The description of branches for a list of things.
export const branchKind = (store) => ({
  sheet: "branches",
  host: "branch-list",
  addId: "add-branch",
  first: "name",
  labels: LABELS,
  hints: HINTS,
  title: (i) => `Branch ${i + 1}`,
  fields: (plan, row) => [
    "name",
    "into",
    "run",
    ...(row.run === "drawn" ? [] : ["joins_at", "length"]),
    "pipe",
    "start_by",
    "start_value",
    "min_percent",
    "max_depth",
    "ground",
    ...(GROUND_FIELDS[branchGround(plan, row)] ?? []),
  ],
  finer: {
    summary: "This pipe's own sizes, its grade, limits and stations",
    parts: (plan, row) => [
      ["Its pipe", ["outside", "inside", "wall", "n"]],
      ["Its ends", ["shallowest_cover", "drop", ...(row.run === "drawn" ? ["tape_length"] : [])]],
      ["Its grade", ["shape", "max_breaks", "max_percent", "fall_step", "aim"]],
      ["Its limits", ["dig_by", "min_cover", "outlet_taper", "run_out_cover", "run_in", "run_in_cover", "bedding", "trench_width"]],
      ["Its stations", ["every", "stations"]],
    ],
  },
  redrawn: (plan, row) => [
    row.key,
    hosts(plan, row.key),
    plan.branches.rows.map(({ name }) => name),
    onSurface(plan, row),
    Object.keys(BRANCH_SHEETS).map((sheet) => plan[sheet].rows.map(({ branch }) => branch)),
  ],
  options: (plan, row, column) => OPTIONS[column](plan, row),
  lacks: branchLacks,
  add: (plan) => withBranch(plan, "taped").plan,
  remove: (plan, i) => withoutBranch(plan, plan.branches.rows[i].key),
  release: (form) => Object.keys(BRANCH_SHEETS).forEach((sheet) => form.release(`${sheet}.`)),
  more: (plan, row, i, form) => groundTable(store, plan, row, form),
});

const OPTIONS = {
  into: (plan, row) =>
    optionsOf(
      hosts(plan, row.key).map((key) => [key, key ? branchName(plan.branches.rows.find((other) => other.key === key)) : "the main line"]),
    ),
  run: () =>
    optionsOf([
      ["drawn", "drawn on the map"],
      ["taped", "taped only"],
    ]),
  pipe: () => [...byId("pipe-code").children].map((group) => group.cloneNode(true)),
  start_by: () =>
    optionsOf([
      ["cover", "cover over the pipe"],
      ["depth", "trench depth"],
      ["invert", "invert elevation"],
    ]),
  dig_by: () => [...byId("dig-by").children].map((way) => way.cloneNode(true)),
  shape: () => optionsOf(SHAPES),
  aim: () => optionsOf(AIMS),
  reversed: () => optionsOf(TURNED),
  rod_unit: () => optionsOf(["ft", "in", "m", "mm"].map((unit) => [unit, unit])),
  ground: (plan, row) =>
    optionsOf([
      ...(onSurface(plan, row) ? [["", "the surface under the map"]] : []),
      [onSurface(plan, row) ? "level_line" : row.ground === "level_line" ? "level_line" : "", "a string and line level"],
      ["rod", "a level or laser, and a rod"],
      ["elevations", "elevations at stations"],
      ["slopes", "slopes, end to end"],
      ["steps", "steps down the slope"],
      [BY_DROP, "its length and drop alone"],
    ]),
};
