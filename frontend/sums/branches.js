// Branches in the request: each a line with its own ground, pipe and start that ends in another.
import { isBlank, readEntry } from "./entry.js";
import { DRAWN_ONLY, isFinishedRow, unitAt } from "./document.js";
import { readHead, readInflows } from "./inflows.js";
import { planeOf } from "./line.js";
import { joinOf, MAIN, pipeLine, pointsOf } from "./shapes.js";
import { lengthUnitM, plain } from "./units.js";

const MOST_LEVELS = 5;
const LEAST_READINGS = 2;

// What a branch still needs before it counts, in words; [] where nothing is missing.
export function branchLacks(plan, row) {
  const drawn = row.run === "drawn";
  const lacks = [];
  if (isBlank(row.name)) lacks.push("a name");
  if (drawn && pointsOf(plan, `branch:${row.key}`).length < 2) lacks.push("its line on the map");
  if (drawn && !hasHost(plan, row)) lacks.push("a line on the map to end in");
  if (!drawn && isBlank(row.joins_at)) lacks.push("where it joins");
  if (isBlank(row.start_value)) lacks.push("how deep it starts");
  if (needsReadings(plan, row) && finished(plan, row.key).length < LEAST_READINGS) {
    lacks.push("two readings or more of the ground along it");
  }
  return lacks;
}

const hasHost = (plan, row) => plan.route.kind === "drawn" &&
  pointsOf(plan, row.into ? `branch:${row.into}` : MAIN).length > 1;

// A surface under the map serves a drawn branch as well; else it needs readings of its own.
export const needsReadings = (plan, row) => row.run !== "drawn" || !DRAWN_ONLY.includes(plan.ground);

const finished = (plan, key) => plan.branch_readings.rows
  .map((row, i) => ({ row, path: `branch_readings.rows.${i}` }))
  .filter(({ row }) => row.branch === key && isFinishedRow("branch_readings", row));

// {branches} that end in the main line, each with those that end in it. `ground` is the ground
// of the main line's request.
export function readBranches(plan, base, ground, reader) {
  const read = new Map();
  const branches = into("", "", 1);
  return branches.length ? { branches } : {};

  function into(host, pointer, level) {
    const list = [];
    plan.branches.rows.forEach((row, i) => {
      if (row.into !== host || branchLacks(plan, row).length || level > MOST_LEVELS) return;
      const path = `branches.rows.${i}`;
      if (read.has(row.name.trim())) {
        reader.problems.push({ path: `${path}.name`, text: "Another branch has this name: give each its own." });
      }
      read.set(row.name.trim(), row.key);
      const place = `${pointer}/branches/${list.length}`;
      const below = () => into(row.key, place, level + 1);
      list.push(readBranch({ plan, base, ground, reader, row, path, place, below }));
    });
    return list;
  }
}

function readBranch({ plan, base, ground, reader, row, path, place, below }) {
  const drawn = row.run === "drawn";
  const at = (pointer, column) => reader.place(`${place}/${pointer}`, `${path}.${column}`);
  reader.place(place, path);
  reader.place(`${place}/route`, path);
  reader.place(`${place}/ground`, path);
  at("route/length", "length");
  at(`start/${row.start_by}`, "start_value");
  at("grade/min_percent", "min_percent");
  at("limits/max_depth", "max_depth");
  at("pipe/code", "pipe");
  const plane = base && drawn ? planeOf(base) : null;
  const typed = reader.row("branches", row, path, [
    "start_value", "min_percent", "max_depth", ...(drawn ? [] : ["joins_at", "length"]),
  ]);
  const inner = below();
  return {
    name: row.name.trim(),
    joins_at: drawn ? joinStation(plan, row.key, plane) : typed.joins_at,
    route: drawn ? drawnRoute(plan, row.key, base, plane) : { length: typed.length ?? lastAt(plan, row.key) },
    ground: needsReadings(plan, row) ? readReadings(plan, row.key, reader, place) : ground,
    pipe: { code: row.pipe },
    start: { [row.start_by]: typed.start_value },
    ...(typed.min_percent !== undefined && { grade: { min_percent: typed.min_percent } }),
    ...(typed.max_depth !== undefined && { limits: { max_depth: typed.max_depth } }),
    ...readInflows(plan, reader, row.key, place),
    ...readHead(plan, reader, row.key, place),
    ...(inner.length && { branches: inner }),
  };
}

function drawnRoute(plan, key, base, plane) {
  const scale = base.route_crs === "local" ? 1 / lengthUnitM(plan.units) : 1;
  const coordinates = pipeLine(plan, key, plane).map((point) =>
    plane.fromMetres(point).map((value) => value * scale));
  return { line: { type: "LineString", coordinates }, crs: base.route_crs };
}

// The station of a drawn branch's join; a taped length of the main line stretches its stations.
export function joinStation(plan, key, plane) {
  const { along, length } = joinOf(plan, key, plane);
  const row = plan.branches.rows.find((other) => other.key === key);
  const stretch = row.into ? null : tapeStretch(plan, length);
  return Number(plain((along * (stretch ?? 1)) / lengthUnitM(plan.units), 8));
}

// How much longer the taped main line is than the drawn one of `lengthM`; 1 without a tape.
export function tapeStretch(plan, lengthM) {
  const taped = readEntry(plan.route.tape_length, unitAt(plan, "route.tape_length")).value;
  return taped > 0 && lengthM > 0 ? (taped * lengthUnitM(plan.units)) / lengthM : 1;
}

function lastAt(plan, key) {
  const unit = unitAt(plan, "branch_readings.rows.0.at");
  return Math.max(...finished(plan, key).map(({ row }) => readEntry(row.at, unit).value ?? 0));
}

function readReadings(plan, key, reader, place) {
  const readings = finished(plan, key).map(({ row, path }, i) => {
    reader.place(`${place}/ground/readings/${i}`, path);
    return reader.row("branch_readings", row, path, ["at", "down"]);
  });
  return { kind: "level_line", readings };
}
