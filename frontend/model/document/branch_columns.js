// What is typed for a branch: its columns, where each stands in the request, and the tables of
// the ground along it.

// Columns of a branch, each with the quantity typed in it. A `level` is a depth or an elevation,
// as the choice beside it says.
export const BRANCH_COLUMNS = {
  name: "text",
  into: "choice",
  run: "choice",
  joins_at: "distance",
  length: "distance",
  tape_length: "distance",
  drop: "depth",
  pipe: "choice",
  outside: "depth",
  inside: "depth",
  wall: "depth",
  n: "number",
  start_by: "choice",
  start_value: "level",
  shallowest_cover: "depth",
  min_percent: "grade",
  max_percent: "grade",
  fall_step: "depth",
  shape: "choice",
  max_breaks: "number",
  aim: "choice",
  min_cover: "depth",
  max_depth: "depth",
  dig_by: "choice",
  outlet_taper: "distance",
  run_out_cover: "depth",
  run_in: "distance",
  run_in_cover: "depth",
  bedding: "depth",
  trench_width: "depth",
  every: "distance",
  stations: "distances",
  ground: "choice",
  rod_unit: "choice",
  benchmark: "text",
  benchmark_elevation: "elevation",
  levelled: "distance",
  reversed: "choice",
  ground_drop: "depth",
  hump_at: "distance",
  hump_height: "depth",
};

// Where each column that holds a measure goes in a branch of the request, by its part.
export const BRANCH_PARTS = {
  pipe: ["outside", "inside", "wall", "n"],
  start: ["shallowest_cover"],
  grade: ["min_percent", "max_percent", "fall_step", "max_breaks"],
  limits: ["min_cover", "max_depth", "outlet_taper", "run_out_cover", "run_in", "run_in_cover", "bedding", "trench_width"],
  stations: ["every"],
};

// The ways to measure the ground along a branch: the table typed in, the list in the request that
// its rows go to, and the fewest rows that make a ground.
export const BRANCH_GROUNDS = {
  level_line: { sheet: "branch_readings", list: "readings", least: 2 },
  rod: { sheet: "branch_shots", list: "shots", least: 3 },
  elevations: { sheet: "branch_points", list: "points", least: 2 },
  slopes: { sheet: "branch_runs", list: "runs", least: 1 },
  steps: { sheet: "branch_steps", list: "steps", least: 1 },
};

// Known by its drop alone: columns of the branch, no table.
export const BY_DROP = "length_and_drop";

// Tables whose rows say in `branch` which branch they belong to.
export const BRANCH_SHEETS = {
  branch_readings: { branch: "choice", at: "distance", down: "depth", line: "text" },
  branch_shots: { branch: "choice", sight: "choice", on: "text", at: "distance", rod: "rod" },
  branch_points: { branch: "choice", at: "distance", elevation: "elevation" },
  branch_runs: { branch: "choice", from: "distance", to: "distance", percent: "grade" },
  branch_steps: { branch: "choice", length: "distance", drop: "depth" },
  branch_known: { branch: "choice", name: "text", elevation: "elevation" },
};

// A branch with the usual choices made and nothing measured.
export const blankBranch = (units) => ({
  ...Object.fromEntries(Object.keys(BRANCH_COLUMNS).map((name) => [name, ""])),
  start_by: "cover",
  shape: "",
  aim: "least_fall",
  rod_unit: units === "us" ? "ft" : "m",
  benchmark: "BM",
  benchmark_elevation: "100",
  lines: {},
});

// An empty row of a branch's table.
export const blankBranchRow = (sheet, key) => ({
  ...Object.fromEntries(Object.keys(BRANCH_SHEETS[sheet]).map((name) => [name, ""])),
  branch: key,
});
