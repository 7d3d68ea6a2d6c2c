// What the sources of ground that whoever runs the planner named have. All throw with the reason where
// the planner refuses.
import { call } from "./call.js";
import { send } from "./planner.js";

// At a place {at: [x, y], crs}: {lon, lat, ground}; {bounds, features}. These are in the place's own
// system; those at a place in degrees in any that is asked for.
export const fetchGround = (place, units) => send(`ground?${new URLSearchParams({ ...placed(place), units })}`);
export const fetchLot = (place, crs = place.crs) => send(`lots?${new URLSearchParams({ ...placed(place), crs })}`);

const placed = ({ at: [x, y], crs }) => (crs === "OGC:CRS84" ? { lon: x, lat: y } : { x, y, crs });

// Keep what a source has in [west, south, east, north] of `crs` as a raster of one's own.
export const keepWindow = (name, bounds, crs) => send(`sources/${name}/windows`, { method: "POST", body: { bounds, crs } });

// Shading and contours there: {picture, between}, the picture a Blob. What is thrown has the answer's
// `status`, if there was one.
export async function fetchRelief(name, [west, south, east, north], crs, units, signal) {
  const query = new URLSearchParams({ west, south, east, north, crs, units });
  const response = await call(`sources/${name}/relief.png?${query}`, { signal });
  if (response.ok) return { picture: await response.blob(), between: response.headers.get("Contour-Interval") };
  const { detail, title } = await response.json();
  throw Object.assign(new Error(detail || title), { status: response.status });
}
