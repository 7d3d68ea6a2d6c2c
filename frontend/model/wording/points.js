// What is said of points of a shape: their names, and where they stand while they move.

import { isClosed, isOnePoint, kindOf, leastPoints } from "../document/shapes.js";
import { distances, legLength, lineLength } from "../geometry/polyline.js";
import { distanceText, lengthUnitM, stationLabel } from "../units/units.js";

const ENDS = { line: ["Start", "Outlet"], branch: ["Start", "Join"], target: ["One end", "Other end"] };

export function pointName(i, count, id = "line") {
  if (isClosed(id)) return `Corner ${i + 1}`;
  if (isOnePoint(id)) return "The point";
  if (kindOf(id) === "target" && count < 2) return "The place";
  const [first, last] = ENDS[kindOf(id)];
  if (i === 0) return first;
  return i === count - 1 ? last : `Bend ${i}`;
}

// Station and leg of a point while a hand moves it; `stretch` is the tape's length over the
// drawn one, `onto` what it is snapped to or null.
export function movingWords(line, i, { id, units, stretch = 1, onto = null }) {
  const before = line.at(i - 1);
  const closed = isClosed(id);
  const words = [];
  if (!closed && leastPoints(id) > 1) words.push(stationLabel((distances(line)[i] * stretch) / lengthUnitM(units), units));
  if ((i || closed) && line.length > 1) {
    words.push(`${closed ? "side" : "leg"} ${distanceText(legLength(before, line[i]), units)}`);
  }
  if (onto) words.push(`on ${onto}`);
  return words.join(", ");
}

// A shape's size in words.
export function sizeWords(line, { id, units, stretch = 1 }) {
  if (isClosed(id)) {
    const unit = lengthUnitM(units);
    return `${line.length} corners, ${Math.round(ringArea(line) / unit ** 2)} ${units === "us" ? "sq ft" : "m²"}`;
  }
  const bends = line.length - 2;
  const count = bends === 0 ? "no bend" : bends === 1 ? "1 bend" : `${bends} bends`;
  if (kindOf(id) === "target") return `${distanceText(lineLength(line), units)} long`;
  const [from, to] = kindOf(id) === "line" ? ["start", "outlet"] : ["its start", "where it joins"];
  return `${distanceText(lineLength(line) * stretch, units)} from ${from} to ${to}, ${count}`;
}

// The area inside a ring of points, by the surveyor's (shoelace) formula.
export function ringArea(ring) {
  const twice = ring.reduce((sum, [x, y], i) => {
    const [nx, ny] = ring[(i + 1) % ring.length];
    return sum + x * ny - nx * y;
  }, 0);
  return Math.abs(twice) / 2;
}
