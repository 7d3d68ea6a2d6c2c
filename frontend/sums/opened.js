// A plan of the page from a request that other software kept, and what of it the page's form has
// no place for.
import { BLANK, blankDocument, OWN_PIPE, SHEETS, withLine, withValue } from "./document.js";
import { differences } from "./job.js";
import { buildRequest } from "./request.js";
import { lengthUnitM } from "./units.js";

const LISTS = { level_line: "readings", rod: "shots", elevations: "points", slopes: "runs", spots: "points" };
const FIELDS = {
  pipe: ["outside", "inside", "wall", "n"],
  grade: ["min_percent", "max_percent", "fall_step", "max_breaks"],
  limits: ["min_cover", "max_depth", "dig_by", "outlet_taper", "bedding", "trench_width"],
};
const USUAL = { grade: { aim: "least_fall", shape: "straight" }, route: { crs: "OGC:CRS84" } };

const text = (value) => (value === undefined || value === null ? "" : String(value));

// {plan, left}: `left` names what would be asked otherwise by the page. `baseOf(id)` is a base
// that the page knows, or null.
export function opened(kept, baseOf) {
  const request = withLeastGrade(kept);
  const base = baseFor(request, baseOf);
  const plan = [readParts, readGround, readRoute].reduce((now, read) => read(now, request, base), blankDocument(request.units));
  const { body } = buildRequest(plan, base);
  return { plan, left: differences(plain(request), plain(body ?? {})).map(({ what }) => what) };
}

// A least grade said with the pipe is the plan's own, where that says none.
function withLeastGrade({ pipe: { min_percent: least, ...pipe } = {}, ...request }) {
  const grade = least === undefined ? request.grade : { min_percent: least, ...request.grade };
  return { ...request, pipe, ...(grade && { grade }) };
}

// What the planner takes as usual is the same said or left out, and a line to a millionth.
function plain(request) {
  const ground = { rod_unit: request.units === "us" ? "ft" : "m" };
  const line = request.route?.line;
  const even = line && { ...line, coordinates: line.coordinates.map((point) => point.map((x) => Math.round(x * 1e6) / 1e6)) };
  const told = { ...request, route: { ...request.route, ...(even && { line: even }) } };
  const parts = Object.entries({ ...USUAL, ground }).map(([name, usual]) => [
    name, Object.fromEntries(Object.entries(told[name] ?? {}).filter(([key, value]) => usual[key] !== value)),
  ]);
  return { ...told, ...Object.fromEntries(parts) };
}

function baseFor({ ground, route }, baseOf) {
  const raster = ground?.raster && baseOf(ground.raster);
  const drawn = route?.line && route.crs !== "local";
  if (raster && (!drawn || (route.crs ?? "OGC:CRS84") === raster.route_crs)) return raster;
  return baseOf(BLANK);
}

function readParts(plan, { pipe = {}, start = {}, grade = {}, limits = {}, outlet = {}, stations = {}, accuracy = {}, crossings = [] }) {
  const by = ["cover", "depth", "invert"].find((name) => name in start) ?? "cover";
  const level = outlet.invert ? "invert" : "depth";
  const { min, max, prefer } = outlet[level] ?? {};
  const parts = {
    start: { by, value: text(start[by]), shallowest_cover: text(start.shallowest_cover) },
    outlet: { kind: outlet.kind ?? plan.outlet.kind, by: level, min: text(min), max: text(max), prefer: text(prefer) },
    stations: { every: text(stations.every), at: (stations.at ?? []).join("; ") },
    accuracy: {
      instrument: accuracy.sigma === undefined ? text(accuracy.instrument) : "own",
      sigma: text(accuracy.sigma), common: text(accuracy.common),
    },
    crossings: { rows: crossings.map((row) => rowOf("crossings", { pass: "either", ...row })) },
  };
  const given = { pipe, grade, limits };
  const filled = Object.entries(FIELDS).reduce((now, [part, names]) =>
    names.reduce((next, name) => withValue(next, `${part}.${name}`, text(given[part][name])), now), { ...plan, ...parts });
  const chosen = {
    "pipe.code": pipe.code ?? OWN_PIPE, "grade.aim": grade.aim ?? "least_fall", "grade.shape": grade.shape ?? "straight",
    "grade.max_breaks": text(grade.max_breaks ?? 1),
  };
  return Object.entries(chosen).reduce((now, [path, value]) => withValue(now, path, value), filled);
}

const rowOf = (sheet, row) => Object.fromEntries(Object.keys(SHEETS[sheet]).map((name) => [name, text(row[name])]));

function readGround(plan, { ground }) {
  const kind = ground?.kind;
  if (kind === "raster") return { ...plan, ground: kind, raster: { vertical_unit: text(ground.vertical_unit) } };
  if (!LISTS[kind]) return plan;
  const sent = ground[LISTS[kind]].map((row) => (kind === "spots" ? { x: row[0], y: row[1], z: row[2] } : row));
  const next = { ...plan, ground: kind, [kind]: { ...plan[kind], rows: sent.map((row) => rowOf(kind, row)) } };
  return kind === "rod" ? readBook(next, ground) : next;
}

function readBook(plan, { rod_unit: unit, benchmark, known = [], distance }) {
  const point = ({ name, elevation } = {}) => ({ name: text(name), elevation: text(elevation) });
  const book = { unit: unit ?? plan.rod.unit, benchmark: point(benchmark), known: point(known[0]), distance: text(distance) };
  return { ...plan, rod: { ...plan.rod, ...book } };
}

function readRoute(plan, { route = {}, units }, base) {
  const { line, length, tape_length: tape, crs } = route;
  const typed = { length: text(length), tape_length: text(tape), kind: line || plan.ground === "raster" ? "drawn" : "taped" };
  const next = { ...plan, base: base.id, route: typed };
  if (!line || (crs ?? "OGC:CRS84") !== base.route_crs) return next;
  const scale = crs === "local" ? lengthUnitM(units) : 1;
  return withLine(next, line.coordinates.map(([x, y]) => [x * scale, y * scale]));
}
