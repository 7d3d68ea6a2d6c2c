// Where a picture of a site plan lies on the plan's own plane. Picture points are [u, v] in
// pixels from the upper left corner, v down; plan points [x, y] in metres, y up. The same sums as
// core/ground/placement.py, which gives the equations; all lengths in metres, all angles in
// degrees.

const radians = (degrees) => (degrees * Math.PI) / 180;

// The picture as it lies: from two of its points a known distance apart, the clockwise turn, the
// picture point at the plan's 0, 0 (the lower left corner where not given), and the direction of
// north on the picture, clockwise from up. Null where the two points coincide.
export function placementOf(picture, { points, distance_m, turn = 0, origin, north = null }) {
  const [[u1, v1], [u2, v2]] = points;
  const span = Math.hypot(u2 - u1, v2 - v1);
  if (!(span > 0) || !(distance_m > 0)) return null;
  const metresPerPixel = distance_m / span;
  const [u0, v0] = origin ?? [0, picture.height];
  const a = metresPerPixel * Math.cos(radians(turn));
  const b = -metresPerPixel * Math.sin(radians(turn));
  return {
    width: picture.width,
    height: picture.height,
    metresPerPixel,
    // How much every length changes when one of the two points is a pixel off.
    clickErrorPercent: 100 / span,
    turn,
    north,
    origin: [u0, v0],
    // x = a u + b v + c, y = d u + e v + f
    transform: [a, b, -(a * u0 + b * v0), b, -a, -(b * u0 - a * v0)],
  };
}

export function toPlan({ transform: [a, b, c, d, e, f] }, [u, v]) {
  return [a * u + b * v + c, d * u + e * v + f];
}

// The inverse of a similarity is its transpose over the square of its scale.
export function toPicture({ transform: [a, b, , d, e], metresPerPixel, origin: [u0, v0] }, [x, y]) {
  const square = metresPerPixel ** 2;
  return [(a * x + d * y) / square + u0, (b * x + e * y) / square + v0];
}

// Upper left, upper right, lower right, lower left corner on the plan.
export function corners(placement) {
  const { width, height } = placement;
  return [
    [0, 0],
    [width, 0],
    [width, height],
    [0, height],
  ].map((uv) => toPlan(placement, uv));
}

// [xmin, ymin, xmax, ymax] of the picture as it lies.
export function bounds(placement) {
  const places = corners(placement);
  const [xs, ys] = [places.map(([x]) => x), places.map(([, y]) => y)];
  return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
}

const within = (degrees) => ((degrees % 360) + 360) % 360;

// Direction of north on the plan, clockwise from y, 0 to 360; null where it was not noted.
export const northOnPlan = ({ north, turn }) => (north === null ? null : within(north + turn));

// Direction from one picture point to another, clockwise from the picture's upper edge, 0 to 360.
export const pictureBearing = ([u1, v1], [u2, v2]) => within((Math.atan2(u2 - u1, v1 - v2) * 180) / Math.PI);

// The turn, from -45 to 45, that lays the picture's line from one point to another along the
// plan's nearest axis.
export function levelTurn(from, to) {
  const off = pictureBearing(from, to) % 90;
  return off > 45 ? 90 - off : -off + 0;
}

// Between the plan and a map. The plan's 0, 0 lies at `origin` in the map's system; the plan is
// turned so that north is up, and its metres become the map's units (`metresPerUnit`, as a raster
// states it). North is grid north; true north differs from it by the convergence there.
export function mapTie(origin, north, [mx, my]) {
  const [cos, sin] = [Math.cos(radians(north)), Math.sin(radians(north))];
  const [x0, y0] = origin;
  return {
    toMap: ([x, y]) => [x0 + (x * cos - y * sin) / mx, y0 + (x * sin + y * cos) / my],
    toPlan([east, north_]) {
      const [e, n] = [(east - x0) * mx, (north_ - y0) * my];
      return [e * cos + n * sin, -e * sin + n * cos];
    },
  };
}
