// The demo yard as a plan. Its raster comes with the planner.
import { blankDocument, withLine } from "./document.js";

// The demo yard with one of its lines drawn over its raster.
export function demoDocument(demo, routeName, units = "us") {
  const plan = blankDocument(units);
  const line = demo.routes[routeName].line.coordinates;
  const accuracy = demoAccuracy(demo, units);
  const place = { base: demo.raster, ground: "raster", route: { ...plan.route, kind: "drawn" }, accuracy };
  return withLine({ ...plan, ...place }, line);
}

// The demo raster stands for a survey on the ground, not for one from the air.
function demoAccuracy(demo, units) {
  const sigma = demo.raster_accuracy?.sigma;
  if (sigma === undefined) return { instrument: "", sigma: "", common: "", lawn: "" };
  return { instrument: "own", common: "", lawn: "", sigma: String(units === "us" ? sigma : Math.round(sigma * 25.4)) };
}
