// A lot and the buildings on it, as GeoJSON areas, as the outlines of a plan.
import { within } from "../geometry/rings.js";
import { lineOf } from "./document.js";
import { outlinesOf, withOutlines } from "./shapes.js";

const AROUND_M = 60;
const BESIDE_M = 15;

// [west, south, east, north]: the ground to take about what lies in such bounds, 60 m about their
// middle and 15 m beside them. However it was asked for, the same bounds have the same ground.
export function groundAround([west, south, east, north], [eastM, northM]) {
  const [dx, dy] = [AROUND_M / eastM, AROUND_M / northM];
  const [bx, by] = [BESIDE_M / eastM, BESIDE_M / northM];
  const [x, y] = [(west + east) / 2, (south + north) / 2];
  return [Math.min(x - dx, west - bx), Math.min(y - dy, south - by), Math.max(x + dx, east + bx), Math.max(y + dy, north + by)];
}

// What turns a point of one system into one of another, by three corners of a yard known in both:
// straight between them, which is millimetres off in a yard.
export function byCorners([a, b, c], [p, q, r]) {
  const [u, v] = [b, c].map(([x, y]) => [x - a[0], y - a[1]]);
  const det = u[0] * v[1] - u[1] * v[0];
  return ([x, y]) => {
    const [dx, dy] = [x - a[0], y - a[1]];
    const s = (dx * v[1] - dy * v[0]) / det;
    const t = (u[0] * dy - u[1] * dx) / det;
    return p.map((from, k) => from + s * (q[k] - from) + t * (r[k] - from));
  };
}

// Whether the plan's line begins on a lot: only then does it belong there.
export function beginsOn(plan, features) {
  const [first] = lineOf(plan);
  const lot = lotOf(features);
  return Boolean(first && lot && within(outerRing(lot.geometry), first));
}

const lotOf = (features) => features.find(({ properties }) => properties.kind === "lot");

// Whether a point lies on a lot: in one of its parts and in no hole of it.
export function onLot(features, point) {
  const { type, coordinates } = lotOf(features).geometry;
  const parts = type === "Polygon" ? [coordinates] : coordinates;
  return parts.some(([outer, ...holes]) => within(outer, point) && !holes.some((hole) => within(hole, point)));
}

export const lotSize = (features) => areaOf(outerRing(lotOf(features).geometry));

// The plan with the lot's line and its buildings kept out of, in place of an earlier lot line and of
// buildings that a source told. Areas that somebody drew stay.
export function withLot(plan, features) {
  const lots = features.filter(({ properties }) => properties.kind === "lot");
  const buildings = features.filter(({ properties }) => properties.kind === "building");
  if (!lots.length) return plan;
  const avoid = buildings.flatMap(({ geometry, id }, i) =>
    ringsOf(geometry).map((ring) => ({ name: buildings.length > 1 ? `Building ${id || i + 1}` : "House", ring, sourced: true })),
  );
  const outlines = outlinesOf(plan);
  const drawn = outlines.avoid.filter(({ ring, sourced }) => !sourced && !avoid.some((building) => same(building.ring, ring)));
  return withOutlines(plan, { ...outlines, lot: outerRing(lots[0].geometry), avoid: [...avoid, ...drawn] });
}

// `next` is the plan on another base, {bounds}: the areas, places and fixed points that were drawn on
// the base before go along where `carry` brings them onto its ground. {plan, left}: by their names
// those that do not. Buildings that a source told belong to their lot.
export function withDrawn(before, next, carry, { bounds }) {
  if (before.base === next.base) return { plan: next, left: [] };
  const [had, has] = [outlinesOf(before), { ...outlinesOf(next) }];
  const left = [];
  for (const [list, points, word] of LISTS) {
    had[list].forEach((one, i) => {
      if (one.sourced || !one[points].length) return;
      const carried = carry && one[points].map(carry);
      if (carried && has[list].some((other) => same(other[points], carried))) return;
      if (carried?.every((point) => inside(bounds, point))) has[list] = [...has[list], { ...one, [points]: carried }];
      else left.push(one.name || `${word} ${i + 1}`);
    });
  }
  return { plan: withOutlines(next, has), left };
}

const LISTS = [
  ["avoid", "ring", "Area"],
  ["targets", "points", "Place"],
  ["fixed", "points", "Fixed point"],
];
const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);
const inside = ([xmin, ymin, xmax, ymax], [x, y]) => x >= xmin && x <= xmax && y >= ymin && y <= ymax;

// The rings around an area's parts, not closed by a repeated point.
const ringsOf = ({ type, coordinates }) => (type === "Polygon" ? [coordinates] : coordinates).map(([outer]) => outer.slice(0, -1));

// Of an area in several parts, the largest one's ring.
const outerRing = (geometry) => ringsOf(geometry).sort((a, b) => areaOf(b) - areaOf(a))[0];

const areaOf = (ring) =>
  Math.abs(ring.reduce((sum, [x, y], i) => sum + (x - ring[0][0]) * (ring[(i + 1) % ring.length][1] - ring.at(i - 1)[1]), 0)) / 2;
