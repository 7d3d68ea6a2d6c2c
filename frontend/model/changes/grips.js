// What of the pipe can be moved on the drawing: its field, range and step in each unit system.
import { quantityAt, readAt, unitAt, valueAt, withValue } from "../document/document.js";
import { gradeTyped } from "../units/grade.js";
import { plain } from "../units/units.js";

export const GRIPS = [
  { path: "start.value", by: "start.by", us: [0, 72, 0.25], si: [0, 1800, 5] },
  { path: "grade.min_percent", usual: "/grade/min_percent", us: [0.1, 20, 0.05], si: [0.1, 20, 0.05] },
  { path: "outlet.max", by: "outlet.by", us: [0, 72, 0.25], si: [0, 1800, 5] },
];

// Where a grip stands: {at, level} on the drawing, {least, most, step, value, unit}, and `valueAt`,
// the value that brings it to a level. `usual` maps pointers to what the last answer took where a
// field was left empty. Null where its field takes a level, or cannot be read.
export function gripAt(plan, grip, usual, answer) {
  if (grip.by && valueAt(plan, grip.by) === "invert") return null;
  const [least, most, step] = grip[plan.units];
  const typed = readAt(plan, grip.path);
  if (typed.error) return null;
  const common = { least, most, step, unit: unitAt(plan, grip.path) };
  const small = plan.units === "us" ? 12 : 1000;
  const { profile, stations } = answer;
  if (grip.path === "grade.min_percent") {
    const [run] = answer.grade_runs;
    const at = (run.from + run.to) / 2;
    const level = profile.invert[0] - (run.percent / 100) * at;
    const value = typed.value ?? usual.get(grip.usual);
    if (value === undefined) return null;
    return { ...common, at, level, value, valueAt: (z) => (100 * (profile.invert[0] - z)) / at };
  }
  const end = grip.path === "outlet.max";
  const at = end ? profile.at.at(-1) : 0;
  const level = end ? profile.invert.at(-1) : profile.invert[0];
  const value = end ? stations.at(-1).dig_depth : typed.value;
  if (value === undefined) return null;
  return { ...common, at, level, value, valueAt: (z) => value + (level - z) * small };
}

// The plan with a grip moved, within its range and to its step. An outlet that is moved lies there:
// neither deeper nor shallower.
export function withGrip(plan, grip, value) {
  const [least, most, step] = grip[plan.units];
  const digits = String(step).split(".")[1]?.length ?? 0;
  const text = plain(Math.min(most, Math.max(least, Math.round(value / step) * step)), digits);
  if (quantityAt(plan, grip.path) === "grade") return withValue(plan, grip.path, gradeTyped(Number(text), plan.grade.way));
  const moved = withValue(plan, grip.path, text);
  return grip.path === "outlet.max" ? withValue(moved, "outlet.min", text) : moved;
}
