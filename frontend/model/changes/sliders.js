// What can be tried with a slider: its field, range and step in each unit system.

import { quantityAt, readAt, unitAt, valueAt, withValue } from "../document/document.js";
import { isBlank, readEntry } from "../units/entry.js";
import { gradeTyped } from "../units/grade.js";
import { plain } from "../units/units.js";

export const SLIDERS = [
  { path: "grade.min_percent", usual: "/grade/min_percent", us: [0.25, 5, 0.05], si: [0.25, 5, 0.05] },
  { path: "start.value", by: "start.by", us: [0, 36, 0.5], si: [0, 900, 10] },
  { path: "limits.max_depth", us: [12, 72, 1], si: [300, 1800, 25], openTop: true },
  { path: "outlet.max", by: "outlet.by", usual: "/outlet/depth/max", floor: "/outlet/depth/min", us: [1, 48, 0.5], si: [25, 1200, 10] },
];

// Where a slider stands: {least, most, step, value, unit, open}. `usual` maps pointers to what
// the last answer took where a field was left empty. `open` says that no limit is set. Null
// where its field takes a level, which has no range of its own, or cannot be read.
export function sliderAt(plan, { path, by, usual: pointer, floor, openTop, ...ranges }, usual) {
  if (by && valueAt(plan, by) === "invert") return null;
  const [low, high, step] = ranges[plan.units];
  const unit = unitAt(plan, path);
  const typed = readAt(plan, path);
  if (typed.error) return null;
  const open = Boolean(openTop && isBlank(valueAt(plan, path)));
  const value = open ? high : (typed.value ?? usual.get(pointer));
  if (value === undefined) return null;
  const least = floor ? (leastOf(plan, floor, usual) ?? low) : low;
  return { least: Math.min(least, value), most: Math.max(high, value), step, value, unit, open };
}

function leastOf(plan, floor, usual) {
  const typed = readEntry(plan.outlet.min, unitAt(plan, "outlet.min"));
  return typed.value ?? usual.get(floor);
}

// The plan with a slider moved. At the top of an open-ended one no limit is set.
export function withSlide(plan, { path, openTop, ...ranges }, value) {
  const [, high, step] = ranges[plan.units];
  const digits = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const text = plain(value, digits);
  if (quantityAt(plan, path) === "grade") return withValue(plan, path, gradeTyped(Number(text), plan.grade.way));
  return withValue(plan, path, openTop && value >= high ? "" : text);
}
