// A lot and the buildings on it, as GeoJSON areas, as the outlines of a plan.
import { withOutlines } from "./shapes.js";

const AROUND_M = 60;
const BESIDE_M = 15;

// [west, south, east, north]: the ground to take around a place, and around the lot there, if any.
export function groundAround([lon, lat], features, [eastM, northM]) {
  const [lot] = features;
  const [dx, dy] = [AROUND_M / eastM, AROUND_M / northM];
  const [bx, by] = [BESIDE_M / eastM, BESIDE_M / northM];
  const ring = lot ? outerRing(lot.geometry) : [];
  const [xs, ys] = [0, 1].map((side) => ring.map((point) => point[side]));
  return [
    Math.min(lon - dx, ...xs.map((x) => x - bx)),
    Math.min(lat - dy, ...ys.map((y) => y - by)),
    Math.max(lon + dx, ...xs.map((x) => x + bx)),
    Math.max(lat + dy, ...ys.map((y) => y + by)),
  ];
}

// The plan with the lot's line and its buildings kept out of, in place of what was drawn so.
export function withLot(plan, features) {
  const lots = features.filter(({ properties }) => properties.kind === "lot");
  const buildings = features.filter(({ properties }) => properties.kind === "building");
  if (!lots.length) return plan;
  const avoid = buildings.flatMap(({ geometry, id }, i) =>
    ringsOf(geometry).map((ring) => ({ name: buildings.length > 1 ? `Building ${id || i + 1}` : "House", ring })),
  );
  return withOutlines(plan, { lot: outerRing(lots[0].geometry), avoid, targets: [] });
}

// The rings around an area's parts, not closed by a repeated point.
const ringsOf = ({ type, coordinates }) => (type === "Polygon" ? [coordinates] : coordinates).map(([outer]) => outer.slice(0, -1));

// Of an area in several parts, the largest one's ring.
const outerRing = (geometry) => ringsOf(geometry).sort((a, b) => areaOf(b) - areaOf(a))[0];

const areaOf = (ring) =>
  Math.abs(ring.reduce((sum, [x, y], i) => sum + (x - ring[0][0]) * (ring[(i + 1) % ring.length][1] - ring.at(i - 1)[1]), 0)) / 2;
