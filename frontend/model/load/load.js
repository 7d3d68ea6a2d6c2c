// A plan of the page from a request that other software kept, and what of it the page's form has
// no place for.
import { BY_DROP } from "../document/branch_columns.js";
import { BLANK, blankDocument, OWN_PIPE, withLine } from "../document/document.js";
import { turnedText } from "../request/drop.js";
import { withPaper } from "../request/paper.js";
import { buildRequest } from "../request/request.js";
import { lengthUnitM } from "../units/units.js";
import { differences } from "../wording/jobs.js";
import { withBranches, withThingsOn } from "./branches.js";
import { evenPaper, withOutlines, withStakes } from "./paper.js";
import { listText, rowOf, text, textsOf } from "./typed.js";

const LISTS = { level_line: "readings", rod: "shots", elevations: "points", slopes: "runs", steps: "steps", spots: "points" };
const USUAL = { grade: { aim: "least_fall" }, route: { crs: "OGC:CRS84" } };

// {plan, left}: `left` names what the page would ask differently. `baseOf(id)` is a base that the
// page knows, or null.
export function opened(kept, baseOf) {
  const request = withLeastGrade(kept);
  const base = baseFor(request, baseOf);
  const plan = [readParts, readWorks, readGround, readRoute, withBranches, withOutlines, withStakes].reduce(
    (now, read) => read(now, request, base),
    blankDocument(request.units),
  );
  const { body } = buildRequest(plan, base);
  const asked = body ? withPaper(body, plan, base, null) : {};
  return { plan, left: differences(plain(request), plain(asked)).map(({ what }) => what) };
}

// A least grade given with the pipe becomes the plan's, where the plan gives none; the same for a
// branch.
function withLeastGrade({ pipe: { min_percent: least, ...pipe } = {}, branches, ...request }) {
  const grade = least === undefined ? request.grade : { min_percent: least, ...request.grade };
  return { ...request, pipe, ...(grade && { grade }), ...(branches && { branches: branches.map(withLeastGrade) }) };
}

// A usual value counts as the same whether stated or left out. Lines are compared to a millionth,
// joins to a thousandth, since the page works joins out from the lines.
function plain({ branches, ...request }, units = request.units) {
  const ground = { rod_unit: units === "us" ? "ft" : "m" };
  const line = request.route?.line;
  const even = line && { ...line, coordinates: line.coordinates.map((point) => point.map((x) => Math.round(x * 1e6) / 1e6)) };
  const told = { ...request, route: { ...request.route, ...(even && { line: even }) } };
  const parts = Object.entries({ ...USUAL, ground }).map(([name, usual]) => [
    name,
    Object.fromEntries(Object.entries(told[name] ?? {}).filter(([key, value]) => usual[key] !== value)),
  ]);
  const crossings = (request.crossings ?? []).map(({ pass, exposed, ...crossing }) => ({
    ...crossing,
    ...(pass !== "either" && { pass }),
    ...(exposed && { exposed }),
  }));
  return {
    ...told,
    ...Object.fromEntries(parts),
    crossings,
    ...(told.paper && { paper: evenPaper(told.paper) }),
    ...(told.joins_at !== undefined && { joins_at: Math.round(told.joins_at * 1e3) / 1e3 }),
    branches: (branches ?? []).map((branch) => plain(branch, units)),
  };
}

function baseFor({ ground, route }, baseOf) {
  const raster = ground?.raster && baseOf(ground.raster);
  const drawn = route?.line && route.crs !== "local";
  if (raster && (!drawn || (route.crs ?? "OGC:CRS84") === raster.route_crs)) return raster;
  return baseOf(BLANK);
}

// The fields of the plan's own parts.
function readParts(plan, { pipe = {}, start = {}, grade = {}, limits = {}, outlet = {}, stations = {}, accuracy = {}, supply = {} }) {
  const by = ["cover", "depth", "invert"].find((name) => name in start) ?? "cover";
  const level = outlet.invert ? "invert" : "depth";
  const [[waterBy, water]] = [...Object.entries(outlet.water_level ?? {}), [plan.outlet.water_by]];
  const { aim = "least_fall", shape = "" } = grade;
  return {
    ...plan,
    pipe: { ...filled(plan.pipe, pipe), code: pipe.code ?? OWN_PIPE },
    start: { by, value: text(start[by]), shallowest_cover: text(start.shallowest_cover) },
    grade: { ...filled(plan.grade, grade), aim, shape, max_breaks: shape === "least_dig" ? text(grade.max_breaks) : plan.grade.max_breaks },
    limits: filled(plan.limits, limits),
    outlet: {
      kind: outlet.kind ?? plan.outlet.kind,
      by: level,
      ...textsOf(outlet[level] ?? {}, ["min", "max", "prefer"]),
      water_by: waterBy,
      water: text(water),
    },
    stations: { every: text(stations.every), at: listText(stations.at) },
    accuracy: {
      ...filled(plan.accuracy, accuracy),
      instrument: accuracy.sigma === undefined ? text(accuracy.instrument ?? accuracy.lidar) : "own",
    },
    supply: { ...filled(plan.supply, supply), depth_classes: listText(supply.depth_classes) },
  };
}

// Every field of a part, blank where the request says nothing.
const filled = (part, given) => textsOf(given, Object.keys(part));

// What stands on the line and beside it.
function readWorks(plan, request) {
  const { head = {}, pump_leg: leg = {}, dry_well: well = {}, prices: { parts = {}, ...prices } = {} } = request;
  return withThingsOn(
    {
      ...plan,
      head: filled(plan.head, head),
      pump_leg: filled(plan.pump_leg, leg),
      dry_well: filled(plan.dry_well, well),
      storms: { rows: (well.storms ?? []).map((row) => rowOf("storms", row)) },
      prices: { ...filled(plan.prices, prices), parts: textsOf(parts, Object.keys(parts)) },
    },
    request,
    "",
  );
}

function readGround(plan, { ground }) {
  const kind = ground?.kind;
  if (kind === "raster") return readRaster({ ...plan, ground: kind }, ground);
  if (kind === BY_DROP) return { ...plan, ground: kind, [kind]: dropFields(ground) };
  if (!LISTS[kind]) return plan;
  const sent = ground[LISTS[kind]].map((row) => (kind === "spots" ? { x: row[0], y: row[1], z: row[2] } : row));
  const next = { ...plan, ground: kind, [kind]: { ...plan[kind], rows: sent.map((row) => rowOf(kind, row)) } };
  if (kind === "steps") return { ...next, steps: { ...next.steps, reversed: turnedText(ground.reversed) } };
  return kind === "rod" ? readBook(next, ground) : next;
}

function readRaster(plan, { vertical_unit: unit, readings, read_with: tool }) {
  const next = { ...plan, raster: { vertical_unit: text(unit), read_with: text(tool) } };
  return readings ? { ...next, over_raster: { rows: readings.map((row) => rowOf("over_raster", row)) } } : next;
}

const dropFields = ({ of, drop, hump }) => ({ of: text(of), drop: text(drop), hump_at: text(hump?.at), hump_height: text(hump?.height) });

function readBook(plan, { rod_unit: unit, benchmark, known = [], distance }) {
  const book = { unit: unit ?? plan.rod.unit, benchmark: textsOf(benchmark, ["name", "elevation"]), distance: text(distance) };
  return { ...plan, rod: { ...plan.rod, ...book }, known: { rows: known.map((point) => rowOf("known", point)) } };
}

function readRoute(plan, { route = {}, units }, base) {
  const { line, length, tape_length: tape, crs } = route;
  const typed = { length: text(length), tape_length: text(tape), kind: line || plan.ground === "raster" ? "drawn" : "taped" };
  const next = { ...plan, base: base.id, route: typed };
  if (!line || (crs ?? "OGC:CRS84") !== base.route_crs) return next;
  const scale = crs === "local" ? lengthUnitM(units) : 1;
  return withLine(
    next,
    line.coordinates.map(([x, y]) => [x * scale, y * scale]),
  );
}
