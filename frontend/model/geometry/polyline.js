// The drawn line as points [x, y] on a plane in metres, x to the right (east), y up (north).
// Every function answers a new line.

export const legLength = (a, b) => Math.hypot(b[0] - a[0], b[1] - a[1]);

// Distance from the first point to each point.
export function distances(line) {
  let sofar = 0;
  return line.map((point, i) => (sofar += i ? legLength(line[i - 1], point) : 0));
}

export const lineLength = (line) => distances(line).at(-1) ?? 0;

export const moved = (line, i, point) => line.map((p, k) => (k === i ? point : p));

export const inserted = (line, i, point) => [...line.slice(0, i), point, ...line.slice(i)];

export const removed = (line, i) => line.filter((_, k) => k !== i);

export const middle = (a, b) => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];

// Direction from a to b in degrees clockwise from up (north), 0 to 360.
export function bearing(a, b) {
  const degrees = (Math.atan2(b[0] - a[0], b[1] - a[1]) * 180) / Math.PI;
  return (degrees + 360) % 360;
}

// The point `length` away from `from` in a direction.
export function offset(from, degrees, length) {
  const angle = (degrees * Math.PI) / 180;
  return [from[0] + length * Math.sin(angle), from[1] + length * Math.cos(angle)];
}

// The line with point i at this bearing and distance from the point before; all later points
// move along, so that their own legs stay as they are.
export function withLeg(line, i, degrees, length) {
  const there = offset(line[i - 1], degrees, length);
  const step = [there[0] - line[i][0], there[1] - line[i][1]];
  return line.map((p, k) => (k < i ? p : [p[0] + step[0], p[1] + step[1]]));
}

// The point at a distance along the line, held to its ends.
export function pointAt(line, along) {
  const at = distances(line);
  const i = Math.max(
    1,
    at.findIndex((d) => d >= along),
  );
  if (along >= at.at(-1)) return line.at(-1);
  const leg = at[i] - at[i - 1];
  const share = leg ? Math.max(0, (along - at[i - 1]) / leg) : 0;
  const [a, b] = [line[i - 1], line[i]];
  return [a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share];
}

// The line up to a distance along it.
export function cutAt(line, along) {
  const at = distances(line);
  return [...line.filter((_, i) => at[i] < along - 1e-9), pointAt(line, along)];
}

// The base's plane: coordinates of its system to metres from its lower left corner and back.
export function planeOf({ origin, metres_per_unit: [mx, my] }) {
  const [x0, y0] = origin;
  return {
    toMetres: ([x, y]) => [(x - x0) * mx, (y - y0) * my],
    fromMetres: ([x, y]) => [x / mx + x0, y / my + y0],
  };
}

// The place on a line nearest to a point: {point, along, away}, all in metres; null for no line.
export function nearestOn(line, [x, y]) {
  const at = distances(line);
  let best = null;
  for (let i = 1; i < line.length; i += 1) {
    const [[ax, ay], [bx, by]] = [line[i - 1], line[i]];
    const size = (bx - ax) ** 2 + (by - ay) ** 2;
    const share = size ? Math.min(1, Math.max(0, ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / size)) : 0;
    const point = [ax + (bx - ax) * share, ay + (by - ay) * share];
    const away = legLength(point, [x, y]);
    if (!best || away < best.away) best = { point, along: at[i - 1] + share * (at[i] - at[i - 1]), away };
  }
  return best;
}

// The part of a line between two distances along it.
export function partOf(line, from, to) {
  const at = distances(line);
  const between = line.filter((_, i) => at[i] > from + 1e-9 && at[i] < to - 1e-9);
  return [pointAt(line, from), ...between, pointAt(line, to)];
}
