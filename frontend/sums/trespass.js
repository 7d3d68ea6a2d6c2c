// Where a drawn pipe lies in an area to keep out of, or outside the lot line, in words.
import { shapeStretch } from "./branches.js";
import { lineLength, pointAt } from "./line.js";
import { kindOf, MAIN, outlinesOf, pipeLine, shapesOf } from "./shapes.js";
import { lengthUnitM, stationLabel } from "./units.js";

// An outlet drawn on the lot line itself is on the lot: no hand and no screen is finer than this.
const TOUCH_M = 0.15;

// Whether a point lies in a ring, by the parity of the edges to its right.
export function within(ring, [x, y]) {
  return ring.reduce((is, [bx, by], i) => {
    const [ax, ay] = ring.at(i - 1);
    return ay > y !== by > y && x < ax + ((y - ay) * (bx - ax)) / (by - ay) ? !is : is;
  }, false);
}

// The parts of a line inside a ring, or outside it, as [from, to] along the line, all in metres;
// what only touches the ring is left out.
export function partsOf(line, ring, inside) {
  const whole = lineLength(line);
  const cuts = [0, ...cutsOf(line, ring), whole].sort((a, b) => a - b);
  const parts = [];
  for (let i = 1; i < cuts.length; i += 1) {
    const [from, to] = [cuts[i - 1], cuts[i]];
    if (to - from < 1e-9 || within(ring, pointAt(line, (from + to) / 2)) !== inside) continue;
    if (parts.length && from - parts.at(-1)[1] < 1e-9) parts.at(-1)[1] = to;
    else parts.push([from, to]);
  }
  return parts.filter(([from, to]) => to - from > TOUCH_M);
}

function cutsOf(line, ring) {
  const cuts = [];
  let sofar = 0;
  for (let i = 1; i < line.length; i += 1) {
    const [[px, py], [qx, qy]] = [line[i - 1], line[i]];
    const leg = Math.hypot(qx - px, qy - py);
    ring.forEach(([bx, by], k) => {
      const [ax, ay] = ring.at(k - 1);
      const turn = (qx - px) * (by - ay) - (qy - py) * (bx - ax);
      if (!turn) return;
      const along = ((ax - px) * (by - ay) - (ay - py) * (bx - ax)) / turn;
      const across = ((ax - px) * (qy - py) - (ay - py) * (qx - px)) / turn;
      if (along >= 0 && along <= 1 && across >= 0 && across <= 1) cuts.push(sofar + along * leg);
    });
    sofar += leg;
  }
  return cuts;
}

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
    const found = (ring, inside) =>
      (ring.length < 3 ? [] : partsOf(line, ring.map(plane.toMetres), inside)).map(where).join(", ");
    const pipe = id === MAIN ? "The main line" : name;
    return [
      ...avoid.map((area, i) => [found(area.ring, true), `runs through ${area.name || `Area ${i + 1}`}, which it must keep out of`]),
      [found(lot, false), "leaves your lot"],
    ].filter(([places]) => places).map(([places, does]) => `${pipe} ${does}: ${places}. Move the line or the outline.`);
  });
}
