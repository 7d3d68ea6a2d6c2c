// What papers show around the drain, drawn on the page's plan: the lot line and areas to keep out of.

import { lengthUnitM } from "../units/units.js";
import { text } from "./typed.js";

const NAMES = { within: () => "Lot line", avoid: (i) => `Area ${i + 1}`, fixed: (i) => `Fixed point ${i + 1}` };

function featuresOf(shapes) {
  if (shapes.type === "FeatureCollection") return shapes.features.flatMap(featuresOf);
  if (shapes.type !== "Feature") return featuresOf({ type: "Feature", geometry: shapes });
  const { geometry, properties } = shapes;
  const parts =
    geometry.type === "MultiPolygon" ? geometry.coordinates.map((coordinates) => ({ type: "Polygon", coordinates })) : [geometry];
  return parts.map((part) => ({ properties: properties ?? {}, geometry: part }));
}

// The plan with what its stakes are taped from, an area by its name, and with tags for them.
export function withStakes(plan, { paper = {} }) {
  const area = (paper.fixed ? featuresOf(paper.fixed) : []).find(({ geometry }) => geometry.type === "Polygon");
  return { ...plan, stakes: { from: area?.properties.name ?? "", tags: Boolean(paper.tags) } };
}

// The plan with the first area as its lot line and every area to avoid as one, holes left out, and
// every fixed point.
export function withOutlines(plan, { paper, route = {}, units }, base) {
  if (!paper || !route.line || (route.crs ?? "OGC:CRS84") !== base.route_crs) return plan;
  const scale = route.crs === "local" ? lengthUnitM(units) : 1;
  const areas = (shapes) => (shapes ? featuresOf(shapes) : []).filter(({ geometry }) => geometry.type === "Polygon");
  const ringOf = ({ geometry }) => geometry.coordinates[0].slice(0, -1).map(([x, y]) => [x * scale, y * scale]);
  const [lot] = areas(paper.within);
  const avoid = areas(paper.avoid).map((area, i) => ({ name: area.properties.name ?? NAMES.avoid(i), ring: ringOf(area) }));
  const points = (shapes) => (shapes ? featuresOf(shapes) : []).filter(({ geometry }) => geometry.type === "Point");
  const fixed = points(paper.fixed).map(({ properties, geometry: { coordinates } }, i) => ({
    name: properties.name ?? NAMES.fixed(i),
    points: [coordinates.map((value) => value * scale)],
  }));
  return {
    ...plan,
    outlines: { ...plan.outlines, [base.id]: { lot: lot ? ringOf(lot) : [], avoid, fixed } },
    search: { ...plan.search, ...(avoid.length && { clearance: text(paper.clearance) }) },
  };
}

// A request's paper with its shapes written in one way: every area by its name, to a millionth.
export function evenPaper(paper) {
  const even = (value) => (typeof value === "number" ? Math.round(value * 1e6) / 1e6 : value.map(even));
  const said = Object.keys(NAMES)
    .filter((part) => paper[part])
    .map((part) => [
      part,
      {
        type: "FeatureCollection",
        features: featuresOf(paper[part]).map(({ properties, geometry: { type, coordinates } }, i) => ({
          type: "Feature",
          properties: { name: NAMES[part](i), ...properties },
          geometry: { type, coordinates: even(coordinates) },
        })),
      },
    ]);
  return { ...paper, ...Object.fromEntries(said) };
}
