// A search of the yard: what POST /reach is asked, and what of its answer the plan takes over.
// Points are in the coordinates of the plan's base; the planner's are in its crs, which on a
// plane of its own are the units of the page.
import { isBlankRow } from "../document/columns.js";
import { blankDocument, isLocal, lineOf, withLine } from "../document/document.js";
import { drawnParts } from "../document/line_items.js";
import { shapesOf as drawnShapes, kindOf, outlinesOf, pointsOf } from "../document/shapes.js";
import { legLength, nearestOn } from "../geometry/polyline.js";
import { lengthUnitM, plain } from "../units/units.js";
import { Reader } from "./reader.js";
import { buildRequest, rasterAlone } from "./request.js";

// Edges between bands of spare fall, in or mm; the looks of the bands depend on them.
export const EDGES = { us: [1, 3, 6, 12], si: [25, 75, 150, 300] };
const SLACK_M = 0.01; // points of a route come rounded
const SHARED = ["units", "ground", "pipe", "grade", "limits", "outlet", "accuracy", "stations"];
const SEARCHED = ["raster", "spots"];
const OPEN_TO_PIPES = ["lot", "downspout", "sump", "swale"];
const SOURCES = ["downspout", "sump"];
const NO_HEIGHTS = "A search needs the heights of the yard, not those along one line: an elevation raster, or spot heights.";

const scaleOf = (plan) => (isLocal(plan) ? lengthUnitM(plan.units) : 1);
const LEAST_CORNERS = 3;

// What the lot line is called that is drawn; a search may be let across it by that name.
export const LOT_LINE = "Lot line";

// The choice to search the whole yard although places to reach are drawn.
export const ANYWHERE = "anywhere";

// A point of the base to the planner's and back.
export const toPlanner = (plan, [x, y]) => [x / scaleOf(plan), y / scaleOf(plan)];
export const fromPlanner = (plan, [x, y]) => [x * scaleOf(plan), y * scaleOf(plan)];

const featuresOf = (features, kinds) => (features?.features ?? []).filter(({ properties: { kind } }) => kinds.includes(kind));

// Places a pipe may start at, as {key, name, point}: what brings water, where the line starts.
export function sources(plan, features) {
  const inYard = featuresOf(features, SOURCES).map(({ geometry, properties: { name } }) => ({
    key: `yard:${name}`,
    name,
    point: geometry.coordinates,
  }));
  const [first] = lineOf(plan);
  return [...inYard, ...(first ? [{ key: "line", name: "Where your line starts", point: first }] : [])];
}

// Where the search starts: as set, else where the line starts, else at what brings water, else
// in the middle of the base.
export function startOf(plan, base, features) {
  const [xmin, ymin, xmax, ymax] = base.bounds;
  const known = sources(plan, features);
  return plan.search.starts[plan.base] ?? lineOf(plan)[0] ?? known[0]?.point ?? [(xmin + xmax) / 2, (ymin + ymax) / 2];
}

export const withStart = (plan, point) => ({ ...plan, search: { ...plan.search, starts: { ...plan.search.starts, [plan.base]: point } } });

// What of the yard the search heeds, as {name, within, geometry}: the lot line and what no pipe
// runs through. An area or lot line that was drawn counts always.
export function heeded(plan, features) {
  const drawnLot = outlinesOf(plan).lot.length >= LEAST_CORNERS;
  return (features?.features ?? [])
    .filter(({ properties: { kind } }) => (kind === "lot" ? !drawnLot : !OPEN_TO_PIPES.includes(kind)))
    .map(({ geometry, properties: { kind, name } }) => ({ name, within: kind === "lot", geometry }));
}

export function withHeeded(plan, name, heeds) {
  const rest = plan.search.skip.filter((other) => other !== name);
  return { ...plan, search: { ...plan.search, skip: heeds ? rest : [...rest, name] } };
}

// Where an outlet may be asked for, as {key, name, geometry}: what is drawn first.
export function goals(plan, features) {
  const inYard = featuresOf(features, ["swale"]).map(({ geometry, properties: { name } }) => ({ key: `yard:${name}`, name, geometry }));
  const line = lineOf(plan);
  const end = { key: "end", name: "Where your line ends", geometry: { type: "Point", coordinates: line.at(-1) } };
  return [...drawnGoals(plan), ...inYard, ...(line.length > 1 ? [end] : [])];
}

// The places to reach that are drawn: one point is a place, more are a line.
function drawnGoals(plan) {
  return drawnShapes(plan)
    .filter(({ id }) => kindOf(id) === "target")
    .flatMap(({ id, name }) => {
      const points = pointsOf(plan, id);
      if (!points.length) return [];
      const geometry = points.length > 1 ? { type: "LineString", coordinates: points } : { type: "Point", coordinates: points[0] };
      return [{ key: id, name, geometry }];
    });
}

// What the search aims at, in the order it is sent: the one chosen, else all that are drawn;
// empty for anywhere in the yard.
export function aimsOf(plan, features) {
  const { goal } = plan.search;
  if (goal === ANYWHERE) return [];
  const chosen = goals(plan, features).filter(({ key }) => key === goal);
  return chosen.length ? chosen : drawnGoals(plan);
}

// Answers {body, places, waiting, problems} as `buildRequest` does, for POST /reach.
export function searchRequest(plan, base, features) {
  if (!SEARCHED.includes(plan.ground)) return { body: null, places: new Map(), waiting: NO_HEIGHTS, problems: [] };
  const start = startOf(plan, base, features);
  const own = { ...plan, ...drawnParts(), sites: plan.sites, outlines: plan.outlines, crossings: { rows: [] } };
  const drawn = { ...own, route: { ...plan.route, kind: "drawn", tape_length: "" } };
  const [mx, my] = base.metres_per_unit;
  const asked = buildRequest(withLine(drawn, [start, [start[0] + 1 / mx, start[1] + 1 / my]]), base);
  const reader = new Reader(plan);
  const clearance = reader.number("search.clearance");
  asked.places.set("/clearance", "search.clearance");
  const problems = [...asked.problems, ...reader.problems];
  const { body } = asked;
  if (!body || problems.length) return { ...asked, body: null, problems };
  const shared = Object.fromEntries(SHARED.filter((key) => body[key] !== undefined).map((key) => [key, body[key]]));
  const { water_level: _, ...outlet } = body.outlet; // it belongs to one place; the plan of a route takes it up again
  return {
    ...asked,
    body: {
      ...shared,
      ground: rasterAlone(shared.ground),
      outlet,
      crs: body.route.crs,
      bands: EDGES[plan.units],
      start: { ...body.start, point: toPlanner(plan, start) },
      ...(clearance !== undefined && { clearance }),
      ...searchedShapes(plan, features),
    },
  };
}

function searchedShapes(plan, features) {
  const { within, ...shut } = around(plan, features);
  const inside = within && !plan.search.skip.includes(LOT_LINE) ? { within } : {};
  return { ...shut, ...inside, ...collections(plan, { targets: aimsOf(plan, features) }) };
}

// The search may leave the lot; the papers and the page say all the same where a line leaves it.
export function withoutLotLine(plan, features) {
  const lots = heeded(plan, features).filter(({ within }) => within);
  return [LOT_LINE, ...lots.map(({ name }) => name)].reduce((next, name) => withHeeded(next, name, false), plan);
}

// {within, avoid} as GeoJSON in the planner's coordinates: what is drawn around the line, and what
// of the yard the search heeds. What there is none of is left out.
export function around(plan, features) {
  const all = shutTo(plan, features);
  return collections(plan, { within: all.filter(({ within }) => within), avoid: all.filter(({ within }) => !within) });
}

// The points marked to tape from, as features in the planner's coordinates.
export const fixedOf = (plan) =>
  outlinesOf(plan)
    .fixed.filter(({ points }) => points.length > 0)
    .map(({ name, points }, i) =>
      asFeature(plan, { name: name || `Fixed point ${i + 1}`, geometry: { type: "Point", coordinates: points[0] } }),
    );

// The same as {name, within, geometry} in the base's coordinates.
export function shutTo(plan, features) {
  const heard = heeded(plan, features).filter(({ name }) => !plan.search.skip.includes(name));
  const { lot, avoid } = outlinesOf(plan);
  const drawn = [
    ...avoid.map(({ name, ring }, i) => ({ name: name || `Area ${i + 1}`, ring })),
    { name: LOT_LINE, ring: lot, within: true },
  ];
  const areas = drawn
    .filter(({ ring }) => ring.length >= LEAST_CORNERS)
    .map(({ name, ring, within = false }) => ({ name, within, geometry: { type: "Polygon", coordinates: [[...ring, ring[0]]] } }));
  return [...areas, ...heard];
}

function collections(plan, parts) {
  const lists = Object.entries(parts)
    .filter(([, list]) => list.length)
    .map(([key, list]) => [key, { type: "FeatureCollection", features: list.map((one) => asFeature(plan, one)) }]);
  return Object.fromEntries(lists);
}

const asFeature = (plan, { name, geometry: { type, coordinates } }) => ({
  type: "Feature",
  properties: { name },
  geometry: { type, coordinates: planners(plan, coordinates) },
});

const planners = (plan, coordinates) =>
  typeof coordinates[0] === "number" ? toPlanner(plan, coordinates) : coordinates.map((part) => planners(plan, part));

// The body that asks for the route to one place alone, in the planner's coordinates.
export const toPlace = (body, point) => ({ ...body, to: point, ask: [point], routes: 0, draws: 0 });

// The body that asks about one of its targets alone: its route, what would bring the pipe there.
export const toTarget = (body, i) => ({
  ...body,
  routes: 1,
  draws: 0,
  targets: { ...body.targets, features: body.targets.features.slice(i, i + 1) },
});

// The number of the first route that ends on a target, both in metres on the base's plane; -1 for
// none. The search takes a cell that a target touches for the target.
export function routeOnto(routes, points, cellM) {
  return routes.findIndex((line) => {
    const end = line.at(-1);
    const away = points.length > 1 ? nearestOn(points, end).away : legLength(points[0], end);
    return away <= cellM * Math.SQRT1_2 + SLACK_M;
  });
}

// What a search leaves out of what was typed, in sentences.
export function leftOut(plan) {
  const read = plan.ground === "raster" && plan.over_raster.rows.some((row) => !isBlankRow(row));
  return read
    ? [
        "The readings over the raster count along the line they were taken on. This search goes by the raster alone, and a route used as your line starts without them.",
      ]
    : [];
}

// The plan with a route as its line, planned as the search planned it. What was measured along
// the old line does not lie there any more.
export function withRoute(plan, { line, plan_request: planned }) {
  const { grade, limits } = planned;
  const bends = grade?.shape === "least_dig" && { shape: "least_dig", max_breaks: String(grade.max_breaks) };
  const bounded = plan.limits.max_depth !== "" || plan.limits.dig_by !== "";
  const deepest = !bounded && limits?.max_depth !== undefined && { max_depth: plain(limits.max_depth, 1) };
  return withLine(
    {
      ...plan,
      route: { ...plan.route, kind: "drawn", tape_length: "" },
      grade: { ...plan.grade, ...bends },
      limits: { ...plan.limits, ...deepest },
      crossings: { rows: [] },
      fills: { rows: [] },
      over_raster: blankDocument().over_raster,
      covers: { rows: plan.covers.rows.filter((row) => row.run === "drawn" || row.on) },
    },
    line.coordinates.map((point) => fromPlanner(plan, point)),
  );
}
