// Where a drawn pipe lies in an area to keep out of, or outside the lot line, in words.

import { kindOf, MAIN, outlinesOf, pipeLine, shapesOf } from "../document/shapes.js";
import { lineLength } from "../geometry/polyline.js";
import { partsOf } from "../geometry/rings.js";
import { shapeStretch } from "../request/branches.js";
import { lengthUnitM, stationLabel } from "../units/units.js";

// A sentence for each pipe and each outline that it lies wrong to; none where nothing is drawn.
export function trespassWords(plan, plane) {
  if (plan.route.kind !== "drawn") return [];
  const { lot, avoid } = outlinesOf(plan);
  const pipes = shapesOf(plan).filter(({ id }) => ["line", "branch"].includes(kindOf(id)));
  return pipes.flatMap(({ id, name }) => {
    const line = pipeLine(plan, id === MAIN ? "" : id.split(":")[1], plane);
    const stretch = shapeStretch(plan, id, lineLength(line));
    const at = (along) => stationLabel((along * stretch) / lengthUnitM(plan.units), plan.units);
    const where = ([from, to]) => `${at(from)} to ${at(to)}`;
    const found = (ring, inside) => (ring.length < 3 ? [] : partsOf(line, ring.map(plane.toMetres), inside)).map(where).join(", ");
    const pipe = id === MAIN ? "The main line" : name;
    return [
      ...avoid.map((area, i) => [found(area.ring, true), `runs through ${area.name || `Area ${i + 1}`}, which it must keep out of`]),
      [found(lot, false), "leaves your lot"],
    ]
      .filter(([places]) => places)
      .map(([places, does]) => `${pipe} ${does}: ${places}. Move the line or the outline.`);
  });
}
