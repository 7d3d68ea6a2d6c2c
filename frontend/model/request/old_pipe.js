// An old pipe without a plan: what is typed of it, the request that it makes, and what the answer
// says of each point. It is part of the plan's document, so that one history undoes it too.
import { isBlank } from "../units/entry.js";
import { depthText, plain } from "../units/units.js";
import { Reader } from "./reader.js";

export const SHEET = "old_points";
// How its points are read, with the columns that each way fills.
export const WAYS = {
  down: { words: "down from a level string", columns: ["at", "down", "on"] },
  rod: { words: "by a level or laser, and a rod", columns: ["at", "rod", "on"] },
  depth: { words: "depth from ground of known height", columns: ["at", "ground", "depth", "on"] },
  invert: { words: "heights of its inside bottom", columns: ["at", "invert"] },
};
export const ENDS = [
  ["", "every point"],
  ["end", "all but its outlet"],
  ["start", "all but its start"],
  ["both", "all but its two ends"],
];

const neededIn = (by) => WAYS[by].columns.filter((name) => name !== "on");

// Rows with all that their way needs, and the paths of those begun without it.
export function pointRows(plan) {
  const needed = neededIn(plan.old_pipe.by);
  const rows = plan[SHEET].rows.map((row, i) => ({ row, path: `${SHEET}.rows.${i}` }));
  const blank = ({ row }) => needed.every((name) => isBlank(row[name]));
  const whole = ({ row }) => needed.every((name) => !isBlank(row[name]));
  return { whole: rows.filter(whole), begun: rows.filter((one) => !whole(one) && !blank(one)) };
}

// The body of POST /pipe-check: {body, places, problems, begun}; no body while there is too little
// or something that cannot be read.
export function pipeCheckRequest(plan) {
  const reader = new Reader(plan);
  const { by, pipe, instrument, hold } = plan.old_pipe;
  const { whole, begun } = pointRows(plan);
  const columns = WAYS[by].columns;
  const points = whole.map(({ row, path }, i) => {
    reader.place(`/points/${i}`, path);
    return reader.row(SHEET, row, path, columns);
  });
  for (const name of ["pipe", "min_percent", "instrument", "sigma"]) reader.place(POINTERS[name], `old_pipe.${name}`);
  const least = reader.number("old_pipe.min_percent");
  const sigma = instrument === "own" ? reader.number("old_pipe.sigma") : undefined;
  const { places, problems } = reader;
  if (problems.length || points.length < 2) return { body: null, places, problems, begun };
  const accuracy = instrument === "own" ? sigma !== undefined && { sigma } : instrument && { instrument };
  return {
    body: {
      units: plan.units,
      points: held(points, hold),
      ...(pipe && { pipe: { code: pipe } }),
      ...(least !== undefined && { grade: { min_percent: least } }),
      ...(accuracy && { accuracy }),
    },
    places,
    problems,
    begun,
  };
}

const POINTERS = {
  pipe: "/pipe",
  min_percent: "/grade/min_percent",
  instrument: "/accuracy/instrument",
  sigma: "/accuracy/sigma",
};

// The points, with the ends that cannot be moved marked.
function held(points, hold) {
  const at = points.map((point) => point.at);
  const ends = { "": [], start: [Math.min(...at)], end: [Math.max(...at)], both: [Math.min(...at), Math.max(...at)] }[hold];
  return points.map((point) => (ends.includes(point.at) ? { ...point, fixed: true } : point));
}

// Every point in the words of a table: [{label, invert, grade, water, move, state}].
export function pointWords({ points, stretches, least_moves: least, units }) {
  const marks = new Map((least.moves ?? []).map(({ at, mark }) => [at, mark]));
  const digits = units === "us" ? 2 : 3;
  return points.map((point, i) => ({
    label: point.label,
    invert: plain(point.invert, digits),
    grade: point.grade_percent === null ? "" : `${plain(point.grade_percent, 2)}\u00a0%`,
    state: stretches[i]?.falls_back ? "back" : stretches[i]?.under_least ? "flat" : "",
    water: point.standing_water ? depthText(point.standing_water, units) : "",
    move: !point.move ? "" : `${point.move > 0 ? "lift" : "lower"} ${marks.get(point.at)}`,
  }));
}

// The water in each belly as corners [at, elevation]: its level, then the pipe's bottom back.
export function waterShapes({ points, standing_water: bellies }) {
  return bellies.map(({ from, to, held_by: sill }) => {
    const level = points.find(({ at }) => at === sill).invert;
    const under = points.filter(({ at }) => at > from && at < to).map(({ at, invert }) => [at, invert]);
    return [[from, level], [to, level], ...under.reverse()];
  });
}
