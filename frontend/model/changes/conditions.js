// What a yes rests on: each condition with the changes that it offers, as merge patches (RFC 7396)
// of the request, made in the plan as it is typed.
import { BRANCH_COLUMNS } from "../document/branch_columns.js";
import { valueAt, withChoice, withValue } from "../document/document.js";
import { depthText, plain, unitOf } from "../units/units.js";
import { linesOf } from "../wording/pipe_fill.js";

// Conditions that one change of grade may make unnecessary.
const BY_GRADE = ["run_out", "riser", "ditch", "bank"];
const ONE_CHANGE = { grade: { shape: "least_dig", max_breaks: 1 } };
const UNSAID = ["run_in", "deep"]; // the value taken for these is not what an empty field stands for

// [{line, key, condition}] of every line: `line` is the branch's name, null for the main line, and
// `key` is the plan's for it; null where the plan has no such branch.
export function conditionsOf(answer, plan) {
  return linesOf(answer).flatMap(
    ({
      name,
      answer: {
        answer: { conditions = [] },
      },
    }) => conditions.map((condition) => ({ line: name, key: keyOf(plan, name), condition })),
  );
}

export const keyOf = (plan, name) => (name === null ? "" : (plan.branches.rows.find((row) => row.name.trim() === name)?.key ?? null));

// The plan with a patch of a line's request made in its fields; null where one has no field.
export function withPatch(plan, patch, key = "") {
  if (!patch || key === null) return null;
  return leavesOf(patch).reduce((now, [steps, value]) => now && withLeaf(now, steps, value, key), plan);
}

function leavesOf(patch, at = []) {
  return Object.entries(patch).flatMap(([name, value]) =>
    value !== null && typeof value === "object" ? leavesOf(value, [...at, name]) : [[[...at, name], value]],
  );
}

function withLeaf(plan, steps, value, key) {
  const text = value === null ? "" : typeof value === "number" ? plain(value, 6) : value;
  const path = key ? branchPath(plan, steps, key) : mainPath(steps);
  if (!path || valueAt(plan, path) === undefined) return null;
  if (path === "pipe.code" || /\.pipe$/.test(path)) return withChoice(plan, path, text);
  const next = withValue(plan, path, text);
  return path.startsWith("outlet.") ? withValue(next, "outlet.by", steps[1]) : next;
}

function mainPath([part, name, end]) {
  if (part === "outlet") return end ? `outlet.${end}` : null;
  return ["limits", "grade", "pipe"].includes(part) && !end ? `${part}.${name}` : null;
}

function branchPath(plan, [part, name], key) {
  const i = plan.branches.rows.findIndex((row) => row.key === key);
  if (part === "start" && plan.branches.rows[i]?.start_by === name) return `branches.rows.${i}.start_value`;
  const column = part === "pipe" ? "pipe" : name;
  return i >= 0 && ["limits", "grade", "pipe"].includes(part) && column in BRANCH_COLUMNS ? `branches.rows.${i}.${column}` : null;
}

// The plan with one change of grade allowed in a line, and with the usual values kept that gave
// way there; null where that spares the line no condition, or where its shape was stated.
export function withOneChange(plan, conditions, key) {
  const codes = conditions.map(({ code }) => code);
  const spared = conditions.filter(({ code }) => BY_GRADE.includes(code));
  const shape = key ? plan.branches.rows.find((row) => row.key === key)?.shape : plan.grade.shape;
  if (!spared.length || shape !== "" || codes.includes("grade_change")) return null;
  return [...spared.map(({ insists }) => insists), ONE_CHANGE].reduce((now, patch) => now && withPatch(now, patch, key), plan);
}

// The words of the button that insists on the usual value; null where there is no such value.
export function insistWords({ code, usual, insists }, units) {
  if (!insists) return null;
  switch (code) {
    case "run_in":
      return `Insist on the usual ${depthText(usual, units)} of cover from the start on`;
    case "run_out":
      return `Insist on thin cover over the usual ${plain(usual, 2)} ${unitOf("distance", units)} only`;
    case "grade_change":
      return "Insist on one straight grade";
    case "deep":
      return `Insist on no deeper than ${depthText(insists.limits.max_depth, units)}`;
    default:
      return `Insist on the usual depth of ${depthText(usual, units)} at the outlet`;
  }
}

// The words of the button that states what was taken; null where there is nothing to state.
// `pipeName` gives a pipe's name by its code.
export function acceptWords({ code, accepts }, pipeName) {
  if (!accepts) return null;
  return code === "pipe_too_small" ? `Try ${pipeName(accepts.pipe.code)}` : "Take it as it is";
}

// The values taken for empty fields whose usual value gave way: [[pointer, value], …].
export const takenValues = ({ conditions = [] }) =>
  conditions.filter(({ code, taken }) => typeof taken === "number" && !UNSAID.includes(code)).map(({ pointer, taken }) => [pointer, taken]);
