// Where a line runs through a ring of points, or outside it, on a plane in metres.
import { lineLength, pointAt } from "./polyline.js";

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
// those of no more than `least` only touch the ring and are left out.
export function partsOf(line, ring, inside, least = TOUCH_M) {
  const whole = lineLength(line);
  const cuts = [0, ...cutsOf(line, ring), whole].sort((a, b) => a - b);
  const parts = [];
  for (let i = 1; i < cuts.length; i += 1) {
    const [from, to] = [cuts[i - 1], cuts[i]];
    if (to - from < 1e-9 || within(ring, pointAt(line, (from + to) / 2)) !== inside) continue;
    if (parts.length && from - parts.at(-1)[1] < 1e-9) parts.at(-1)[1] = to;
    else parts.push([from, to]);
  }
  return parts.filter(([from, to]) => to - from > least);
}

// Where a line crosses another, in metres along it; a crossing at an end of it only touches.
export function crossingsOf(line, other, least = TOUCH_M) {
  const whole = lineLength(line);
  const edges = other.slice(1).map((to, i) => [other[i], to]);
  return cutsAt(line, edges).filter((along) => along > least && along < whole - least);
}

const cutsOf = (line, ring) =>
  cutsAt(
    line,
    ring.map((to, k) => [ring.at(k - 1), to]),
  );

function cutsAt(line, edges) {
  const cuts = [];
  let sofar = 0;
  for (let i = 1; i < line.length; i += 1) {
    const [[px, py], [qx, qy]] = [line[i - 1], line[i]];
    const leg = Math.hypot(qx - px, qy - py);
    for (const [[ax, ay], [bx, by]] of edges) {
      const turn = (qx - px) * (by - ay) - (qy - py) * (bx - ax);
      if (!turn) continue;
      const along = ((ax - px) * (by - ay) - (ay - py) * (bx - ax)) / turn;
      const across = ((ax - px) * (qy - py) - (ay - py) * (qx - px)) / turn;
      if (along >= 0 && along <= 1 && across >= 0 && across <= 1) cuts.push(sofar + along * leg);
    }
    sofar += leg;
  }
  return cuts;
}
