// What the pipe must pass on its way: each with its place, its depth, and the way to pass it.
import { SHEETS, withCrossing, withoutRow } from "../sums/document.js";
import { optionsOf } from "./things.js";

const WAYS = [["either", "whichever digs less"], ["over", "over it"], ["under", "under it"]];

export const CROSSINGS = {
  sheet: "crossings", host: "crossing-list", addId: "add-crossing", first: "at",
  labels: {
    at: "At station", what: "What it is", top_depth: "Its top lies below ground", size: "How high it is",
    clearance: "Keep away by", pass: "Pass it",
  },
  title: (i) => `Crossing ${i + 1}`,
  fields: () => Object.keys(SHEETS.crossings),
  options: () => optionsOf(WAYS),
  add: (plan) => withCrossing(plan),
  remove: (plan, i) => withoutRow(plan, "crossings", i),
};
