// Where a drawn pipe lies in an area to keep out of, or outside the lot line, in words: what is drawn,
// and what of the yard is known, as the papers have it.

import { kindOf, MAIN, pipeLine, shapesOf } from "../document/shapes.js";
import { lineLength } from "../geometry/polyline.js";
import { crossingsOf, partsOf } from "../geometry/rings.js";
import { shapeStretch } from "../request/branches.js";
import { shutTo } from "../request/reach.js";
import { lengthUnitM, stationLabel } from "../units/units.js";

// A sentence for each pipe and each outline that it lies wrong to; none where nothing is known.
// `features` are those of the yard under the map, or null.
export function trespassWords(plan, plane, features = null) {
  if (plan.route.kind !== "drawn") return [];
  const shut = shutTo(plan, features);
  const pipes = shapesOf(plan).filter(({ id }) => ["line", "branch"].includes(kindOf(id)));
  return pipes.flatMap(({ id, name }) => {
    const line = pipeLine(plan, id === MAIN ? "" : id.split(":")[1], plane);
    const stretch = shapeStretch(plan, id, lineLength(line));
    const at = (along) => stationLabel((along * stretch) / lengthUnitM(plan.units), plan.units);
    const pipe = id === MAIN ? "The main line" : name;
    return shut.flatMap((one) => {
      const places = line.length < 2 ? [] : placesOf(line, one, plane);
      const told = places.map(([from, to]) => (at(from) === at(to) ? at(from) : `${at(from)} to ${at(to)}`)).join(", ");
      if (!told) return [];
      return one.within
        ? [`${pipe} leaves your lot: ${told}. Move the line or the outline.`]
        : [`${pipe} runs through ${one.name}, which it must keep out of: ${told}. Move the line or the outline.`];
    });
  });
}

// The parts of a line, as [from, to] along it, that lie in an area or across a line to keep out of, or
// outside the lot.
function placesOf(line, { within, geometry: { type, coordinates } }, plane) {
  const metres = (points) => points.map(plane.toMetres);
  if (type === "Polygon") return partsOf(line, metres(coordinates[0].slice(0, -1)), !within);
  if (type === "LineString") return crossingsOf(line, metres(coordinates)).map((along) => [along, along]);
  return [];
}
