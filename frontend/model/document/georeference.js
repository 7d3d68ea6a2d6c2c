// How a base lies on the earth.
import { mapTie } from "../geometry/placement.js";

const IN_PLACE = /^(OGC:CRS84|EPSG:\d+)$/;
const same = (point) => point;

// {crs, size, to, from}: the system that a base lies in, the metres of its unit, and what turns a point
// of the base into one of the system and back; null where it lies nowhere. A site plan lies where it was
// tied, as long as one of `rasters` tells that system's unit.
export function georeferenceOf(base, rasters) {
  if (!base) return null;
  const { route_crs, metres_per_unit, tie, north } = base;
  if (IN_PLACE.test(route_crs)) return { crs: route_crs, size: metres_per_unit, to: same, from: same };
  const size = tie && north !== null && rasters.find((raster) => raster.route_crs === tie.crs)?.metres_per_unit;
  if (!size) return null;
  const { toMap: to, toPlan: from } = mapTie(tie.origin, north, size);
  return { crs: tie.crs, size, to, from };
}
