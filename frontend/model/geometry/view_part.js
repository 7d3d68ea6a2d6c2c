// Parts of the earth that a map shows: [west, south, east, north] in a system of coordinates.

// The part about points of that system.
export function partAbout(points) {
  const [xs, ys] = [0, 1].map((k) => points.map((point) => point[k]));
  return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
}

// A part with some of its width and height beside it.
export function grown([west, south, east, north], share) {
  const [dx, dy] = [(east - west) * share, (north - south) * share];
  return [west - dx, south - dy, east + dx, north + dy];
}

export const covers = ([w, s, e, n], [west, south, east, north]) => w <= west && s <= south && e >= east && n >= north;

export const meets = ([w, s, e, n], [west, south, east, north]) => w <= east && e >= west && s <= north && n >= south;

// The longer side in metres, by the metres of the system's units.
export const longSideM = ([west, south, east, north], [mx, my]) => Math.max((east - west) * mx, (north - south) * my);

// Where a picture of a part lies on a plane in metres, y up, by `place(point)`: the plane's part that
// holds it, and the matrix that lays a picture one wide and one tall, y down, as SVG writes it.
export function laid([west, south, east, north], place) {
  const [a, b, c, d] = [
    [west, north],
    [east, north],
    [west, south],
    [east, south],
  ].map(place);
  return { part: partAbout([a, b, c, d]), matrix: [b[0] - a[0], a[1] - b[1], c[0] - a[0], a[1] - c[1], a[0], -a[1]] };
}
