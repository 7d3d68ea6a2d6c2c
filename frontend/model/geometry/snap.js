// Snapping: a place a hand points at, moved onto what is already there.
import { legLength, nearestOn } from "./polyline.js";

// `lines` are {points, name} in metres, a ring with its first point again at its end. Within
// `reach` metres one of their points wins over the line between. Answers {point, name}: the place
// itself and a null name where nothing is near.
export function snapped(place, lines, reach) {
  let best = { point: place, name: null, away: reach };
  for (const { points, name } of lines) {
    for (const point of points) {
      const away = legLength(point, place);
      if (away < best.away) best = { point, name, away };
    }
  }
  if (best.name !== null) return { point: best.point, name: best.name };
  for (const { points, name } of lines) {
    const near = nearestOn(points, place);
    if (near && near.away < best.away) best = { point: near.point, name, away: near.away };
  }
  return { point: best.point, name: best.name };
}

// The lines of a GeoJSON collection to snap to, in metres.
export function featureLines({ features }, plane) {
  return features.flatMap(({ geometry: { type, coordinates }, properties: { name } }) => {
    if (type === "Polygon") return coordinates.map((ring) => ({ points: ring.map(plane.toMetres), name }));
    if (type === "LineString") return [{ points: coordinates.map(plane.toMetres), name }];
    return [{ points: [plane.toMetres(coordinates)], name }];
  });
}
