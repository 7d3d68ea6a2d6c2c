// Where a drawn pipe lies in an area to keep out of, or outside the lot line, in words: what is drawn,
// and what of the yard is known, as the papers have it.

import { isFinishedRow } from "../document/columns.js";
import { kindOf, MAIN, pipeLine, shapesOf } from "../document/shapes.js";
import { lineLength } from "../geometry/polyline.js";
import { crossingsOf, partsOf } from "../geometry/rings.js";
import { shapeStretch } from "../request/branches.js";
import { shutTo } from "../request/reach.js";
import { readEntry, textOf } from "../units/entry.js";
import { toNumber } from "../units/rational.js";
import { lengthUnitM, METRES, stationLabel, unitOf } from "../units/units.js";

// A sentence for each pipe and each outline that it lies wrong to; none where nothing is known.
// `features` are those of the yard under the map, or null.
export function trespassWords(plan, plane, features = null) {
  if (plan.route.kind !== "drawn") return [];
  const shut = shutTo(plan, features);
  const pipes = shapesOf(plan).filter(({ id }) => ["line", "branch"].includes(kindOf(id)));
  return pipes.flatMap(({ id, name }) => {
    const key = id === MAIN ? "" : id.split(":")[1];
    const line = pipeLine(plan, key, plane);
    const stretch = shapeStretch(plan, id, lineLength(line));
    const at = (along) => stationLabel((along * stretch) / lengthUnitM(plan.units), plan.units);
    const pipe = id === MAIN ? "The main line" : name;
    const place = ([from, to]) => (at(from) === at(to) ? at(from) : `${at(from)} to ${at(to)}`);
    const stated = crossingsStated(plan, key);
    return shut.flatMap((one) => {
      const places = line.length < 2 ? [] : placesOf(line, one, plane);
      if (one.within)
        return places.length ? [`${pipe} leaves your lot: ${places.map(place).join(", ")}. Move the line or the outline.`] : [];
      const crossed = places.map((ends) =>
        stated.find(({ at_m, near_m }) => ends.every((end) => Math.abs(end * stretch - at_m) <= near_m)),
      );
      const stray = places.filter((_, i) => !crossed[i]);
      const told = `${pipe} runs through ${one.name}, which it must keep out of: ${stray.map(place).join(", ")}.`;
      return [
        ...crossed.flatMap((found, i) =>
          found ? [`${one.name}, ${place(places[i])}: taken for the crossing stated at ${found.label} (${found.what}).`] : [],
        ),
        ...(stray.length ? [`${told} Move the line or the outline, or add it as a crossing if a pipe may pass it.`] : []),
      ];
    });
  });
}

// The crossings stated on a line, and how near to one what is drawn is the same thing: within its own
// size and clearance, or what tape and screen differ by.
const NEAR_M = 1;

function crossingsStated(plan, key) {
  const { units } = plan;
  const [length, depth] = [unitOf("distance", units), unitOf("depth", units)];
  const metres = (entry, unit) => (readEntry(entry, unit).value ?? Number.NaN) * toNumber(METRES[unit]);
  return plan.crossings.rows
    .filter((row) => row.on === key && isFinishedRow("crossings", row))
    .map((row) => {
      const at_m = metres(row.at, length);
      const near_m = Math.max(NEAR_M, metres(row.size, depth) + metres(row.clearance, depth));
      return { at_m, near_m, label: stationLabel(at_m / lengthUnitM(units), units), what: textOf(row.what) };
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
