// Branches in the request: each a line with its own ground, pipe and start that ends in another.
import { BRANCH_GROUNDS, BRANCH_PARTS, BY_DROP } from "../document/branch_columns.js";
import { isFinishedRow, SHEETS } from "../document/columns.js";
import { DRAWN_ONLY, OWN_PIPE, unitAt } from "../document/document.js";
import { joinOf, MAIN, pipeLine, pointsOf } from "../document/shapes.js";
import { stepsLength } from "../document/tables.js";
import { lineLength, planeOf } from "../geometry/polyline.js";
import { isBlank, readEntry } from "../units/entry.js";
import { lengthUnitM, plain } from "../units/units.js";
import { readCovers } from "./covers.js";
import { readCrossings } from "./crossings.js";
import { dropOf, turnedOf } from "./drop.js";
import { readHead, readInflows } from "./inflows.js";
import { bookOf } from "./level_book.js";

const MOST_LEVELS = 5;
const OWN_PIPE_NEEDS = { outside: "its outside diameter", inside: "its inside diameter", n: "its roughness" };
const GROUND_LACKS = {
  level_line: "two readings or more of the ground along it",
  rod: "its level book: a backsight and two stations or more",
  elevations: "the elevation of the ground at two stations or more",
  slopes: "the slope of the ground along it",
  steps: "the steps down along it",
};

// What a branch still needs before it counts, in words; [] where nothing is missing.
export function branchLacks(plan, row) {
  const drawn = row.run === "drawn";
  const lacks = [];
  if (isBlank(row.name)) lacks.push("a name");
  if (drawn && pointsOf(plan, `branch:${row.key}`).length < 2) lacks.push("its line on the map");
  if (drawn && !hasHost(plan, row)) lacks.push("a line on the map to end in");
  if (!drawn && isBlank(row.joins_at)) lacks.push("where it joins");
  for (const [name, words] of Object.entries(OWN_PIPE_NEEDS)) {
    if (row.pipe === OWN_PIPE && isBlank(row[name])) lacks.push(words);
  }
  if (isBlank(row.start_value)) lacks.push(row.start_by === "invert" ? "the level it starts at" : "how deep it starts");
  const kind = branchGround(plan, row);
  if (kind === BY_DROP) {
    if (isBlank(row.ground_drop)) lacks.push("the drop of the ground along it");
    if (!drawn && isBlank(row.length)) lacks.push("its length");
  } else if (kind && finished(plan, row.key, BRANCH_GROUNDS[kind].sheet).length < BRANCH_GROUNDS[kind].least) {
    lacks.push(GROUND_LACKS[kind]);
  }
  return lacks;
}

const hasHost = (plan, row) => plan.route.kind === "drawn" && pointsOf(plan, row.into ? `branch:${row.into}` : MAIN).length > 1;

// Whether the main line's surface under the map can serve a branch as well.
export const onSurface = (plan, row) => row.run === "drawn" && DRAWN_ONLY.includes(plan.ground);

// How the ground along a branch is measured: a kind of its own, or "" for the surface under the map.
export const branchGround = (plan, row) => row.ground || (onSurface(plan, row) ? "" : "level_line");

const finished = (plan, key, sheet) =>
  plan[sheet].rows
    .map((row, i) => ({ row, path: `${sheet}.rows.${i}` }))
    .filter(({ row }) => row.branch === key && isFinishedRow(sheet, row));

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
  for (const column of ["name", "drop"]) at(column, column);
  reader.place(`${place}/joins_at`, drawn ? path : `${path}.joins_at`); // a drawn join is a place on the map
  at("route/length", "length");
  at("route/tape_length", "tape_length");
  const plane = base && drawn ? planeOf(base) : null;
  const typed = reader.row("branches", row, path, ["start_value", "drop", ...(drawn ? ["tape_length"] : ["joins_at", "length"])]);
  const inner = below();
  return {
    name: row.name.trim(),
    joins_at: drawn ? joinStation(plan, row.key, plane) : typed.joins_at,
    ...(typed.drop !== undefined && { drop: typed.drop }),
    route: drawn
      ? { ...drawnRoute(plan, row.key, base, plane), ...(typed.tape_length !== undefined && { tape_length: typed.tape_length }) }
      : { length: typed.length ?? lastAt(plan, row) },
    ground: readGround({ plan, ground, reader, row, path, place }),
    ...readParts({ reader, row, path, at, value: typed.start_value }),
    ...readCovers(plan, reader, { key: row.key, pointer: place, alongOf: (key) => (drawn ? alongOf(plan, key, plane) : null) }),
    ...readCrossings(plan, reader, row.key, place),
    ...readInflows(plan, reader, row.key, place),
    ...readHead(plan, reader, row.key, place),
    ...(inner.length && { branches: inner }),
  };
}

// Pipe, start, grade, limits and stations: those that hold something.
function readParts({ reader, row, path, at, value }) {
  const bent = row.shape === "least_dig";
  const idle = bent ? "fall_step" : "max_breaks"; // a straight run has no breaks, a bent one no whole fall
  const said = Object.fromEntries(
    Object.entries(BRANCH_PARTS).map(([part, columns]) => {
      for (const column of columns) at(`${part}/${column}`, column);
      return [
        part,
        reader.row(
          "branches",
          row,
          path,
          columns.filter((column) => column !== idle),
        ),
      ];
    }),
  );
  at("pipe/code", "pipe");
  at(`start/${row.start_by}`, "start_value");
  for (const column of ["shape", "aim"]) at(`grade/${column}`, column);
  at("limits/dig_by", "dig_by");
  at("stations/at", "stations");
  const list = reader.list(`${path}.stations`);
  const parts = {
    pipe: { ...(row.pipe !== OWN_PIPE && { code: row.pipe }), ...said.pipe },
    start: { [row.start_by]: value, ...said.start },
    grade: { ...said.grade, ...(row.shape && { shape: row.shape }), ...(!bent && row.aim !== "least_fall" && { aim: row.aim }) },
    limits: { ...said.limits, ...(row.dig_by && { dig_by: row.dig_by }) },
    stations: { ...said.stations, ...(list && { at: list }) },
  };
  return Object.fromEntries(Object.entries(parts).filter(([, part]) => Object.keys(part).length));
}

function readGround({ plan, ground, reader, row, path, place }) {
  const kind = branchGround(plan, row);
  reader.place(`${place}/ground`, `${path}.ground`);
  if (!kind) return ground;
  if (kind === BY_DROP) {
    return dropOf(reader, { drop: `${path}.ground_drop`, hump_at: `${path}.hump_at`, hump_height: `${path}.hump_height` }, "ground", place);
  }
  const { sheet, list } = BRANCH_GROUNDS[kind];
  const columns = Object.keys(SHEETS[sheet]).filter((name) => name !== "branch");
  const rows = finished(plan, row.key, sheet).map((found, i) => {
    reader.place(`${place}/ground/${list}/${i}`, found.path);
    return reader.row(sheet, found.row, found.path, columns);
  });
  if (kind === "steps") reader.place(`${place}/ground/reversed`, `${path}.reversed`);
  if (kind !== "rod") return { kind, [list]: rows, ...(kind === "steps" && turnedOf(row)) };
  const fields = { name: "benchmark", elevation: "benchmark_elevation", unit: "rod_unit", distance: "levelled" };
  const paths = Object.fromEntries(Object.entries(fields).map(([name, column]) => [name, `${path}.${column}`]));
  return bookOf(reader, rows, paths, finished(plan, row.key, "branch_known"), place);
}

function drawnRoute(plan, key, base, plane) {
  const scale = base.route_crs === "local" ? 1 / lengthUnitM(plan.units) : 1;
  const coordinates = pipeLine(plan, key, plane).map((point) => plane.fromMetres(point).map((value) => value * scale));
  return { line: { type: "LineString", coordinates }, crs: base.route_crs };
}

// The station where a drawn branch joins, by the tape where the line that it ends in was taped.
export function joinStation(plan, key, plane) {
  const { along, length } = joinOf(plan, key, plane);
  const row = plan.branches.rows.find((other) => other.key === key);
  return Number(plain((along * tapeStretch(plan, length, row.into)) / lengthUnitM(plan.units), 8));
}

// How much longer a taped line is than the drawn one of `lengthM`, the main line or a branch by
// its key; 1 without a tape.
export function tapeStretch(plan, lengthM, key = "") {
  const i = plan.branches.rows.findIndex((row) => row.key === key);
  const path = key ? `branches.rows.${i}.tape_length` : "route.tape_length";
  const entry = key ? plan.branches.rows[i].tape_length : plan.route.tape_length;
  const taped = readEntry(entry, unitAt(plan, path)).value;
  return taped > 0 && lengthM > 0 ? (taped * lengthUnitM(plan.units)) / lengthM : 1;
}

// A drawn line by its key: {line, scale, toMetres}, `line` in metres on the base's plane, `scale`
// the stations to a metre of it.
export function alongOf(plan, key, plane) {
  const line = pipeLine(plan, key, plane);
  return { line, scale: tapeStretch(plan, lineLength(line), key) / lengthUnitM(plan.units), toMetres: plane.toMetres };
}

// How much longer a shape on the map is by tape, by its id; 1 for one that is no pipe.
export function shapeStretch(plan, id, lengthM) {
  const [kind, key] = id.split(":");
  return ["line", "branch"].includes(kind) ? tapeStretch(plan, lengthM, key ?? "") : 1;
}

function lastAt(plan, row) {
  const { sheet } = BRANCH_GROUNDS[branchGround(plan, row)];
  if (sheet === "branch_steps") {
    const own = finished(plan, row.key, sheet);
    return stepsLength(
      own.map((found) => found.row),
      unitAt(plan, `${own[0].path}.length`),
    );
  }
  const column = sheet === "branch_runs" ? "to" : "at";
  const stations = finished(plan, row.key, sheet).map(
    (found) => readEntry(found.row[column], unitAt(plan, `${found.path}.${column}`)).value ?? 0,
  );
  return Math.max(...stations);
}
