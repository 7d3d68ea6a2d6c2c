// What the papers show around the drain, which no sum depends on: the areas to keep out of, the
// lot line, points that stand still, and the raster or site plan that the line is drawn on.

import { placementBody, siteOf } from "../document/site_plans.js";
import { around, fixedOf } from "./reach.js";
import { Reader } from "./reader.js";

// A request with its `paper` part; as it is where there is nothing to show. `features` are those
// of the demo yard while it is the base, or null.
export function withPaper(body, plan, base, features) {
  const paper = body.route.line ? { ...shut(plan, features), ...standing(plan), ...beneath(plan, base) } : {};
  const shown = Object.keys(paper).length ? { ...body, paper } : body;
  return withStakes(shown, { from: cornersNow(shown, plan), tags: plan.stakes.tags });
}

// The points that were marked to tape from, by their names.
function standing(plan) {
  const marked = fixedOf(plan);
  return marked.length ? { fixed: { type: "FeatureCollection", features: marked } } : {};
}

function shut(plan, features) {
  const shapes = around(plan, features);
  const clearance = shapes.avoid && new Reader(plan).number("search.clearance");
  return { ...shapes, ...(clearance > 0 && { clearance }) };
}

// The raster that the ground is read from need not be named: the planner shows it anyway.
function beneath(plan, base) {
  if (base.sheet) {
    const placement = placementBody(base.sheet.picture, siteOf(plan, base.id), plan.units);
    return placement ? { beneath: { site_plan: base.id, scale: placement.scale, turn: placement.turn } } : {};
  }
  return base.relief && plan.ground !== "raster" ? { beneath: { raster: base.id } } : {};
}

const isArea = ({ geometry }) => geometry.type === "Polygon";

// The names of the areas of a request whose corners can be taped from.
export const cornersOf = ({ paper }) => (paper?.avoid?.features ?? []).filter(isArea).map(({ properties }) => properties.name);

// The name of the area that stakes are taped from: the one chosen, "" for none; else what is called a house.
export function cornersNow(body, { stakes: { from } }) {
  const names = cornersOf(body);
  return from === null ? (names.find((name) => /house/i.test(name)) ?? "") : names.includes(from) ? from : "";
}

// A request with what its stakes are taped from, an area by its name, and with tags for them.
function withStakes(body, { from, tags }) {
  const features = (body.paper?.avoid?.features ?? []).filter((area) => isArea(area) && area.properties.name === from);
  const all = [...features, ...(body.paper?.fixed?.features ?? [])];
  const fixed = all.length > 0 && { fixed: { type: "FeatureCollection", features: all } };
  return fixed || tags ? { ...body, paper: { ...body.paper, ...fixed, ...(tags && { tags }) } } : body;
}
