// Online map tiles (Web Mercator, the usual numbering by zoom, column and row) laid under a small
// yard on a plane in metres.
const EARTH_M = 6378137; // WGS 84, semi-major axis (NGA.STND.0036)
const SQUARED_ECCENTRICITY = 0.00669437999014; // WGS 84 (NGA.STND.0036)
const TILE_PX = 256;
const HALF_SIDE_M = 60;
const MOST_TILES = 120;

const radians = (degrees) => (degrees * Math.PI) / 180;

// Metres to one degree of longitude and of latitude on the ellipsoid at a latitude.
export function metresPerDegree(lat) {
  const w = 1 - SQUARED_ECCENTRICITY * Math.sin(radians(lat)) ** 2;
  const east = (EARTH_M * Math.cos(radians(lat))) / Math.sqrt(w);
  const north = (EARTH_M * (1 - SQUARED_ECCENTRICITY)) / w ** 1.5;
  return [radians(east), radians(north)];
}

// A place typed as latitude and longitude, parted by a comma or a space: [lon, lat]; null where
// it cannot be one, or lies too near a pole for these tiles.
export function readPlace(text) {
  const parts = text
    .trim()
    .split(/[\s,;]+/)
    .map(Number);
  if (parts.length !== 2 || parts.some((value) => !Number.isFinite(value))) return null;
  const [lat, lon] = parts;
  return Math.abs(lat) <= 85 && Math.abs(lon) <= 180 ? [lon, lat] : null;
}

// The online map around a place as a base.
export function tileBase(tiles, [lon, lat]) {
  const size = metresPerDegree(lat);
  const [dx, dy] = size.map((metres) => HALF_SIDE_M / metres);
  return {
    id: "tiles",
    name: "Online map",
    origin: [lon - dx, lat - dy],
    metres_per_unit: size,
    bounds: [lon - dx, lat - dy, lon + dx, lat + dy],
    route_crs: "OGC:CRS84",
    relief: null,
    north: 0,
    tiles,
  };
}

const column = (lon, z) => ((lon + 180) / 360) * 2 ** z;
const row = (lat, z) => ((1 - Math.asinh(Math.tan(radians(lat))) / Math.PI) / 2) * 2 ** z;
const lonOf = (x, z) => (x / 2 ** z) * 360 - 180;
const latOf = (y, z) => (Math.atan(Math.sinh(Math.PI * (1 - (2 * y) / 2 ** z))) * 180) / Math.PI;

// The zoom whose tiles have about the map's own pixels, `pixelM` metres to a pixel.
export function zoomFor(lat, pixelM, most) {
  const world = 2 * Math.PI * EARTH_M * Math.cos(radians(lat));
  return Math.max(1, Math.min(most, Math.round(Math.log2(world / (TILE_PX * pixelM)))));
}

// The tiles over [west, south, east, north]: {url, bounds}; a lower zoom where they were too many.
export function tilesOver({ url }, [west, south, east, north], z) {
  const [left, right] = [west, east].map((lon) => Math.floor(column(lon, z)));
  const [top, bottom] = [north, south].map((lat) => Math.floor(row(lat, z)));
  if ((right - left + 1) * (bottom - top + 1) > MOST_TILES) return tilesOver({ url }, [west, south, east, north], z - 1);
  const found = [];
  for (let x = left; x <= right; x += 1) {
    for (let y = top; y <= bottom; y += 1) {
      found.push({
        url: url.replace("{z}", z).replace("{x}", x).replace("{y}", y),
        bounds: [lonOf(x, z), latOf(y + 1, z), lonOf(x + 1, z), latOf(y, z)],
      });
    }
  }
  return found;
}
