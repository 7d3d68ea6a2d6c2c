// From the plan as typed to the body of POST /plan, and back from an error's pointer to the
// field it is about.
import { BY_DROP } from "../document/branch_columns.js";
import { isBlankRow, isFinishedRow } from "../document/columns.js";
import { isLocal, lineOf, OWN_PIPE } from "../document/document.js";
import { readPrices } from "../document/prices.js";
import { readSupply } from "../document/supply.js";
import { lastStation } from "../document/tables.js";
import { lineLength, planeOf } from "../geometry/polyline.js";
import { textOf } from "../units/entry.js";
import { distanceText, lengthUnitM } from "../units/units.js";
import { alongOf, readBranches } from "./branches.js";
import { readCovers } from "./covers.js";
import { readCrossings } from "./crossings.js";
import { dropOf, turnedOf } from "./drop.js";
import { readHead, readInflows, readPumpLeg, readWell } from "./inflows.js";
import { bookOf } from "./level_book.js";
import { Reader } from "./reader.js";

const LIMITS = ["min_cover", "max_depth", "outlet_taper", "run_out_cover", "run_in", "run_in_cover", "bedding", "trench_width"];
const LISTS = { level_line: "readings", rod: "shots", elevations: "points", slopes: "runs", steps: "steps" };
const LEAST_ROWS = { level_line: 2, rod: 3, elevations: 2, slopes: 1, steps: 1, spots: 3 };
const START = {
  level_line: "Type two readings or more: each with its station, and from the string down to the ground.",
  rod: "Type the level book: a backsight on the benchmark, then the rod at two stations or more.",
  elevations: "Type the elevation of the ground at two stations or more.",
  slopes: "Type at least one slope: from where, to where, and its grade.",
  steps: "Type at least one step: its length, and how far the ground drops along it.",
  spots: "Type at least three spot heights around your line.",
};

const MORE = {
  level_line: () => "Good. One more station with its reading and there is an answer; five or more make it a sound one.",
  rod: (n) => `Good. ${n === 1 ? "One more sight" : "Two more sights"} and there is an answer.`,
  elevations: () => "Good. One more station with its elevation and there is an answer.",
  spots: (n) => `Good. ${n === 1 ? "One more height" : "Two more heights"} and there is an answer.`,
};

// Answers {body, places, problems, waiting, unfinished}. `body` is null while something cannot
// be read (`problems`: [{path, text}]) or is still missing (`waiting`: what to do next).
// `places` maps pointers to paths. `unfinished` are rows left out because a part is missing.
export function buildRequest(plan, base) {
  const reader = new Reader(plan);
  const ground = readGround(plan, reader);
  const route = readRoute(plan, base, reader);
  const body = {
    units: plan.units,
    route: route.body,
    ground: ground.body,
    pipe: readPipe(plan, reader),
    start: readStart(plan, reader),
    ...readGrade(plan, reader),
    ...reader.part("limits", LIMITS, {
      dig_by: plan.limits.dig_by || undefined,
    }),
    outlet: readOutlet(plan, reader),
    ...readStations(plan, reader),
    ...readAccuracy(plan, reader),
    ...readCovers(plan, reader, { key: "", pointer: "", alongOf: (key) => onMap(plan) && alongOf(plan, key, planeOf(base)) }),
    ...readCrossings(plan, reader, "", ""),
    ...readInflows(plan, reader, "", ""),
    ...readHead(plan, reader, "", ""),
    ...readPumpLeg(plan, reader),
    ...readWell(plan, reader),
    ...readPrices(plan, reader),
    ...readSupply(plan, reader),
  };
  if (route.body?.line) body.ground = endedWith(ground.body, () => drawnLength(plan, base, route.body), plan.units);
  if (!route.waiting) Object.assign(body, readBranches(plan, base, rasterAlone(ground.body), reader));
  const lineFirst = plan.route.kind === "drawn" && (plan.ground !== "raster" || base.scaled === false) && route.waiting;
  const waiting = lineFirst || ground.waiting || route.waiting || null;
  return {
    body: reader.problems.length || waiting ? null : body,
    places: reader.places,
    problems: reader.problems,
    waiting,
    unfinished: ground.unfinished,
  };
}

// A drawn line's length in the units of its request.
const drawnLength = (plan, base, { line, crs, tape_length: tape }) =>
  tape ?? (crs === "local" ? lineLength(line.coordinates) : lineLength(lineOf(plan).map(planeOf(base).toMetres)) / lengthUnitM(plan.units));

// A last station that reads as the drawn line's length does is the line's end, so that nobody is told of
// a stretch that no tape shows.
function endedWith(ground, lengthOf, units) {
  const [list, column] = ENDS[ground.kind] ?? [];
  if (!list) return ground;
  const length = lengthOf();
  const last = Math.max(...ground[list].map((row) => row[column] ?? 0));
  if (last === length || distanceText(last * lengthUnitM(units), units) !== distanceText(length * lengthUnitM(units), units)) return ground;
  return { ...ground, [list]: ground[list].map((row) => (row[column] === last ? { ...row, [column]: length } : row)) };
}
const ENDS = { level_line: ["readings", "at"], rod: ["shots", "at"], elevations: ["points", "at"], slopes: ["runs", "to"] };

const onMap = (plan) => plan.route.kind === "drawn";

function readGround(plan, reader) {
  const kind = plan.ground;
  reader.place("/ground", "ground");
  if (kind === "raster") {
    reader.place("/ground/vertical_unit", "raster.vertical_unit");
    const unit = plan.raster.vertical_unit;
    const read = overRaster(plan, reader);
    const body = { kind, raster: plan.base, ...(unit && { vertical_unit: unit }), ...read.body };
    const waiting = isLocal(plan) ? "Choose an elevation raster, or add your own; or say how else the ground was measured." : null;
    return { body, waiting, unfinished: read.unfinished };
  }
  if (kind === BY_DROP) return readDrop(plan, reader);
  const { rows, unfinished } = readRows(plan, kind, reader);
  const lacking = LEAST_ROWS[kind] - rows.length;
  const waiting = lacking > 0 ? (rows.length && MORE[kind]?.(lacking)) || START[kind] : null;
  const list = LISTS[kind] ?? "points";
  const body = kind === "rod" ? readBook(plan, rows, reader) : { kind, [list]: rows, ...turnedOf(plan[kind]) };
  if (kind === "steps") reader.place("/ground/reversed", "steps.reversed");
  return { body, waiting, unfinished };
}

// {body, unfinished} of what was read by hand over a raster: `readings`, and `read_with` where that
// was chosen. A reading alone on its string tells nothing, so it waits for another.
function overRaster(plan, reader) {
  const string = (row) => textOf(row.line).trim();
  const { rows } = plan.over_raster;
  const finished = rows.filter((row) => isFinishedRow("over_raster", row));
  const serves = (row) => finished.includes(row) && finished.filter((other) => string(other) === string(row)).length > 1;
  const [readings, unfinished] = [[], []];
  rows.forEach((row, i) => {
    if (isBlankRow(row)) return;
    const path = `over_raster.rows.${i}`;
    if (!serves(row)) {
      unfinished.push(path);
      return;
    }
    reader.place(`/ground/readings/${readings.length}`, path);
    readings.push(reader.row("over_raster", row, path));
  });
  reader.place("/ground/read_with", "raster.read_with");
  const tool = plan.raster.read_with;
  return { body: readings.length ? { readings, ...(tool && { read_with: tool }) } : {}, unfinished };
}

// The same raster for another line, without what was read by hand along this one.
export function rasterAlone(ground) {
  if (ground?.kind !== "raster") return ground;
  const { readings: _, read_with: __, ...raster } = ground;
  return raster;
}

// Length and drop alone: whose drop it is, the drop, and a hump where there is one.
function readDrop(plan, reader) {
  const { of } = plan[BY_DROP];
  const at = (name) => `${BY_DROP}.${name}`;
  reader.place("/ground/of", at("of"));
  const body = dropOf(reader, { drop: at("drop"), hump_at: at("hump_at"), hump_height: at("hump_height") }, of, "");
  const waiting = !of
    ? "Say whose drop it is: the ground's, or the pipe's own from end to end."
    : body.drop === undefined
      ? "Give the drop from start to end."
      : null;
  return { body, waiting, unfinished: [] };
}

function readRows(plan, kind, reader) {
  const list = LISTS[kind] ?? "points";
  const rows = [];
  const unfinished = [];
  plan[kind].rows.forEach((row, i) => {
    if (isBlankRow(row)) return;
    const path = `${kind}.rows.${i}`;
    if (!isFinishedRow(kind, row)) {
      unfinished.push(path);
      return;
    }
    reader.place(`/ground/${list}/${rows.length}`, path);
    const read = reader.row(kind, row, path);
    rows.push(kind === "spots" ? [read.x, read.y, read.z] : read);
  });
  return { rows, unfinished };
}

const readBook = (plan, shots, reader) =>
  bookOf(
    reader,
    shots,
    {
      name: "rod.benchmark.name",
      elevation: "rod.benchmark.elevation",
      unit: "rod.unit",
      distance: "rod.distance",
    },
    plan.known.rows.map((row, i) => ({ row, path: `known.rows.${i}` })),
    "",
  );

function readRoute(plan, base, reader) {
  reader.place("/route", "route");
  if (plan.route.kind === "taped") {
    reader.place("/route/length", "route.length");
    const typed = reader.number("route.length");
    const length = typed ?? lastStation(plan, plan.ground);
    if (length > 0) return { body: { length } };
    return { waiting: "Give the length of the run." };
  }
  reader.place("/route/tape_length", "route.tape_length");
  reader.place("/route/line", "line");
  const line = lineOf(plan);
  if (base.scaled === false) {
    return { waiting: "Set the scale of your site plan: click two points on it that lie a known distance apart." };
  }
  line.forEach((_, i) => reader.place(`/route/line/coordinates/${i}`, `line.${i}`));
  if (line.length < 2) {
    return { waiting: "Draw your line: first where the water goes in, then each bend, last the outlet." };
  }
  const scale = base.route_crs === "local" ? 1 / lengthUnitM(plan.units) : 1;
  const coordinates = line.map(([x, y]) => [x * scale, y * scale]);
  const tape = reader.number("route.tape_length");
  return {
    body: {
      line: { type: "LineString", coordinates },
      crs: base.route_crs,
      ...(tape !== undefined && { tape_length: tape }),
    },
  };
}

function readPipe(plan, reader) {
  reader.place("/pipe/code", "pipe.code");
  const { pipe } = reader.part("pipe", ["outside", "inside", "wall", "n"]);
  if (plan.pipe.code !== OWN_PIPE) return { code: plan.pipe.code, ...pipe };
  for (const [name, words] of OWN_PIPE_NEEDS) {
    const path = `pipe.${name}`;
    if (pipe?.[name] === undefined && !reader.problems.some((p) => p.path === path)) {
      reader.problems.push({ path, text: words });
    }
  }
  return pipe;
}

const OWN_PIPE_NEEDS = [
  ["outside", "Give your pipe's outside diameter."],
  ["inside", "Give your pipe's inside diameter."],
  ["n", "Give its roughness: about 0.011 for smooth plastic, 0.022 for corrugated."],
];

function readStart(plan, reader) {
  const by = plan.start.by;
  reader.place(`/start/${by}`, "start.value");
  const value = reader.number("start.value");
  if (value === undefined && !reader.problems.some((p) => p.path === "start.value")) {
    reader.problems.push({ path: "start.value", text: "Say how deep the pipe starts." });
  }
  const { start } = reader.part("start", ["shallowest_cover"]);
  return { [by]: value, ...start };
}

// Only what is not the planner's own choice goes into the request.
function readGrade(plan, reader) {
  const { aim, shape } = plan.grade;
  const bent = shape === "least_dig";
  const fields = ["min_percent", "max_percent", ...(bent ? ["max_breaks"] : ["fall_step"])];
  return reader.part("grade", fields, {
    aim: aim === "least_fall" || bent ? undefined : aim,
    shape: shape || undefined,
  });
}

function readOutlet(plan, reader) {
  const { kind, by } = plan.outlet;
  const { outlet } = reader.part("outlet", ["min", "max", "prefer"]);
  for (const name of ["min", "max", "prefer"]) {
    reader.place(`/outlet/${by}/${name}`, `outlet.${name}`);
  }
  reader.place(`/outlet/${by}`, "outlet.min");
  reader.place("/outlet/kind", "outlet.kind");
  reader.place("/outlet/water_level", "outlet.water");
  const water = reader.number("outlet.water");
  return {
    kind,
    ...(outlet && { [by]: outlet }),
    ...(water !== undefined && { water_level: { [plan.outlet.water_by]: water } }),
  };
}

function readStations(plan, reader) {
  reader.place("/stations/every", "stations.every");
  reader.place("/stations/at", "stations.at");
  const every = reader.number("stations.every");
  const at = reader.list("stations.at");
  const stations = { ...(every !== undefined && { every }), ...(at && { at }) };
  return Object.keys(stations).length ? { stations } : {};
}

// How the lidar of a raster was flown, which stands among the instruments.
export const FLOWN = ["dense", "usual", "spec_only"];

// Nothing where the usual accuracy of the kind of ground is to hold.
function readAccuracy(plan, reader) {
  const { instrument, lawn } = plan.accuracy;
  for (const name of ["instrument", "sigma", "common", "lawn"]) reader.place(`/accuracy/${name}`, `accuracy.${name}`);
  reader.place("/accuracy/lidar", "accuracy.instrument");
  const sigma = instrument === "own" ? reader.number("accuracy.sigma") : undefined;
  const common = sigma === undefined ? undefined : reader.number("accuracy.common");
  const accuracy = {
    ...(sigma !== undefined && { sigma }),
    ...(common !== undefined && { common }),
    ...(instrument && instrument !== "own" && { [FLOWN.includes(instrument) ? "lidar" : "instrument"]: instrument }),
    ...(lawn && { lawn }),
  };
  return Object.keys(accuracy).length ? { accuracy } : {};
}

// The path that an error's pointer is about: its own place, or the nearest one above it.
export function pathOf(pointer, places) {
  const steps = pointer.split("/").slice(1);
  for (let kept = steps.length; kept > 0; kept -= 1) {
    const place = places.get(`/${steps.slice(0, kept).join("/")}`);
    if (place === undefined) continue;
    if (!/\.rows\.\d+$/.test(place) || kept === steps.length) return place;
    const column = place.startsWith("spots.") ? ["x", "y", "z"][steps[kept]] : steps[kept];
    return `${place}.${column}`;
  }
  return null;
}
