// The columns of every table of the plan, and what a row of one must hold to be used.

import { isBlank } from "../units/entry.js";
import { DRAWN_SHEETS } from "./line_items.js";

// The columns of each table, of ground readings and of things along the line, with the quantity
// typed in each.
export const SHEETS = {
  level_line: { at: "distance", down: "depth", line: "text" },
  rod: { sight: "choice", on: "text", at: "distance", rod: "rod" },
  elevations: { at: "distance", elevation: "elevation" },
  slopes: { from: "distance", to: "distance", percent: "grade" },
  steps: { length: "distance", drop: "depth" },
  spots: { x: "plane", y: "plane", z: "elevation" },
  over_raster: { at: "distance", down: "depth", line: "text" },
  crossings: {
    on: "choice",
    at: "distance",
    what: "text",
    top_depth: "depth",
    size: "depth",
    clearance: "depth",
    pass: "choice",
    exposed: "choice",
  },
  known: { name: "text", elevation: "elevation" },
  old_points: {
    at: "distance",
    invert: "elevation",
    ground: "elevation",
    depth: "depth",
    down: "depth",
    rod: "elevation",
    on: "choice",
  },
  ...DRAWN_SHEETS,
};

// What a row must hold to be used.
const NEEDED = {
  level_line: ["at", "down"],
  rod: ["sight", "rod"],
  elevations: ["at", "elevation"],
  slopes: ["from", "to", "percent"],
  steps: ["length", "drop"],
  spots: ["x", "y", "z"],
  over_raster: ["at", "down"],
  crossings: ["at", "what", "top_depth", "size", "clearance"],
  fills: ["from", "to", "depth"],
  known: ["name", "elevation"],
  branch_readings: ["at", "down"],
  branch_shots: ["sight", "rod"],
  branch_points: ["at", "elevation"],
  branch_runs: ["from", "to", "percent"],
  branch_steps: ["length", "drop"],
  branch_known: ["name", "elevation"],
};

export const isBlankRow = (row) => Object.entries(row).every(([name, entry]) => name === "sight" || isBlank(entry));

// The columns that an unfinished row still lacks.
export const missingIn = (kind, row) => NEEDED[kind].filter((name) => isBlank(row[name]));

export const isFinishedRow = (kind, row) => NEEDED[kind].every((name) => !isBlank(row[name]));
