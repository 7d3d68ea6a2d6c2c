// Site plans as a base: a picture with its scale, its turn and its north. What is drawn on it is
// kept in metres on its plane, and follows the picture when scale or turn change.

import { bounds, levelTurn, mapTie, northOnPlan, placementOf, toPicture, toPlan } from "../geometry/placement.js";
import { convertEntry, readEntry } from "../units/entry.js";
import { lengthUnitM, plain, unitOf } from "../units/units.js";
import { shapesMoved } from "./shapes.js";

export const EMPTY_SITE = { points: [], distance: "", turn: "", north: "", tie: null };
const PROVISIONAL_M = 50;

export const siteOf = (plan, id) => plan.sites[id] ?? EMPTY_SITE;

const degrees = (entry) => {
  const { value } = readEntry(entry, "");
  return value !== undefined && Math.abs(value) <= 360 ? value : undefined;
};

// {placement, scaled}: how a picture lies; until its scale is known, as if its longer side were
// PROVISIONAL_M long.
export function placed(picture, site, units) {
  const turn = degrees(site.turn) ?? 0;
  const north = degrees(site.north) ?? null;
  const distance = readEntry(site.distance, unitOf("distance", units)).value;
  const known =
    site.points.length === 2 && distance > 0
      ? placementOf(picture, { points: site.points, distance_m: distance * lengthUnitM(units), turn, north })
      : null;
  if (known) return { placement: known, scaled: true };
  const side = Math.max(picture.width, picture.height);
  const points = [
    [0, 0],
    [side, 0],
  ];
  return { placement: placementOf(picture, { points, distance_m: PROVISIONAL_M, turn, north }), scaled: false };
}

// A site plan as a base of the map.
export function siteBase(picture, site, units) {
  const { placement, scaled } = placed(picture, site, units);
  return {
    id: picture.id,
    name: picture.name,
    origin: [0, 0],
    metres_per_unit: [1, 1],
    route_crs: "local",
    relief: null,
    bounds: bounds(placement),
    sheet: { picture, placement },
    north: northOnPlan(placement),
    scaled,
    tie: scaled ? (site.tie ?? null) : null,
  };
}

// The plan with a site plan placed differently; `change` holds the fields of its site that
// change.
export function withSite(plan, picture, change) {
  const before = siteOf(plan, picture.id);
  const after = { ...before, ...change };
  const [from, to] = [before, after].map((site) => placed(picture, site, plan.units).placement);
  const next = { ...plan, sites: { ...plan.sites, [picture.id]: after } };
  if (JSON.stringify(from) === JSON.stringify(to)) return next;
  return shapesMoved(next, picture.id, (point) => toPlan(to, toPicture(from, point)));
}

// How a site plan lies, as the planner keeps it, in typed fields and the units of the page.
export function keptSite({ placement }, units) {
  if (!placement) return EMPTY_SITE;
  const [from, to] = [placement.units, units].map((system) => unitOf("distance", system));
  return {
    points: placement.scale.points,
    distance: convertEntry(String(placement.scale.distance), from, to),
    turn: placement.turn ? String(placement.turn) : "",
    north: placement.north === null ? "" : String(placement.north),
    tie: placement.on_map ?? null,
  };
}

// The body that tells the planner how a site plan lies; null while its scale is not known.
export function placementBody(picture, site, units) {
  const { placement, scaled } = placed(picture, site, units);
  if (!scaled) return null;
  const distance = readEntry(site.distance, unitOf("distance", units)).value;
  const { turn, north } = placement;
  const tied = north !== null && site.tie;
  return { units, scale: { points: site.points, distance }, turn, north, ...(tied && { on_map: site.tie }) };
}

// The tie of a site plan to a raster, whose `point` of the plan lies at `at` on the raster:
// {crs, origin}, the origin where the plan's 0, 0 lies.
export function tieAt({ north }, point, at, { route_crs: crs, metres_per_unit: size }) {
  const [dx, dy] = mapTie([0, 0], north, size).toMap(point);
  return { crs, origin: [at[0] - dx, at[1] - dy] };
}

// Where a point of a tied site plan lies on a raster.
export const tiedAt = ({ tie, north }, point, raster) => mapTie(tie.origin, north, raster.metres_per_unit).toMap(point);

// What turns a point of one base into the same place on another; null where they are not both
// placed in one coordinate system.
export function carryBetween(from, to) {
  if (from.route_crs === to.route_crs && to.route_crs !== "local") return (point) => point;
  if (from.tie?.crs === to.route_crs && from.north !== null) {
    return mapTie(from.tie.origin, from.north, to.metres_per_unit).toMap;
  }
  if (to.tie?.crs === from.route_crs && to.north !== null) {
    return mapTie(to.tie.origin, to.north, from.metres_per_unit).toPlan;
  }
  return null;
}

// The turn that lays the line between the two scale points level or upright.
export const levelled = (site) => plain(levelTurn(...site.points), 2);
