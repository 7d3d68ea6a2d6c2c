// Where a route of the search comes out, and by which grades, in words.

import { lineOf } from "../document/document.js";
import { pointsOf, shapesOf } from "../document/shapes.js";
import { legLength, nearestOn } from "../geometry/polyline.js";
import { within } from "../geometry/rings.js";
import { shutTo } from "../request/reach.js";
import { gradeText } from "../units/grade.js";
import { FOOT_M, stationLabel } from "../units/units.js";
import { trespassWords } from "./trespass.js";

const BESIDE_M = 4; // what lies further off does not tell where an outlet is
const HOUSE = /\bhouse\b/i;
const COMPASS = ["north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest"];
const ON_MAP = ["top", "upper right", "right", "lower right", "bottom", "lower left", "left", "upper left"];

// The least distance of an outlet from the house: the ground beside it is to fall over its first
// 10 ft (IRC R401.3).
const HOUSE_M = { us: 10 * FOOT_M, si: 3 };

const far = (metres, units) => (units === "us" ? `${Math.round(metres / FOOT_M)} ft` : `${metres.toFixed(1)} m`);

// Everything with a name that an outlet may lie beside, as {name, away(point)}, in metres.
function things(plan, plane, features) {
  const known = (features?.features ?? []).map(({ geometry, properties: { name } }) => ({ name, geometry }));
  const reached = shapesOf(plan)
    .filter(({ id }) => id.startsWith("target:"))
    .map(({ id, name }) => ({ name, geometry: { type: "LineString", coordinates: pointsOf(plan, id) } }));
  const drawn = shutTo(plan, features);
  return [...reached, ...drawn, ...known].map(({ name, geometry }) => ({ name, away: (point) => awayFrom(geometry, point, plane) }));
}

function awayFrom({ type, coordinates }, point, plane) {
  if (type === "Point") return legLength(plane.toMetres(coordinates), point);
  const line = (type === "Polygon" ? coordinates[0] : coordinates).map(plane.toMetres);
  if (line.length < 2) return line.length ? legLength(line[0], point) : Infinity;
  return type === "Polygon" && within(line, point) ? 0 : nearestOn(line, point).away;
}

// How far a place in metres on the plane lies from the house; null where none is known.
function fromHouse(plan, point, { plane, features }) {
  const houses = things(plan, plane, features).filter(({ name }) => HOUSE.test(name ?? ""));
  return houses.length ? Math.min(...houses.map(({ away }) => away(point))) : null;
}

// {where, near}: where a route, in metres on the plane, comes out, and that this is too near the house,
// or null. `yard` holds the plane, the features (or null) and the base.
export function placeWords(plan, line, yard) {
  const { base } = yard;
  const north = base.relief ? 0 : (base.north ?? null);
  const away = fromHouse(plan, line.at(-1), yard);
  const isNear = away !== null && away < HOUSE_M[plan.units] - 0.01;
  return {
    where: outletWords(plan, line, { plane: yard.plane, features: yard.features, north }),
    near: isNear ? nearHouseWords(away, plan.units) : null,
  };
}

// How the user's own line stands beside a search of the yard; "" where none is drawn.
export function ownWords(plan, { plane, features }) {
  if (lineOf(plan).length < 2) return "";
  const wrong = trespassWords(plan, plane, features);
  const said = wrong.length ? ` ${wrong.join(" ")}` : "";
  return `The verdict over the map is of your line, wherever it runs; the search stays clear of what it keeps out of.${said}`;
}

// Where it comes out: how far from the start and toward which side, and beside what. `north` is how
// far north lies clockwise from up, null where nobody said.
function outletWords(plan, line, { plane, features, north }) {
  const { units } = plan;
  const [start, end] = [line[0], line.at(-1)];
  const turned = (Math.atan2(end[0] - start[0], end[1] - start[1]) * 180) / Math.PI - (north ?? 0);
  const side = Math.round((((turned % 360) + 360) % 360) / 45) % 8;
  const away = far(legLength(start, end), units);
  const [near] = things(plan, plane, features)
    .filter(({ name, away: from }) => name && !HOUSE.test(name) && from(start) > 1e-6)
    .map(({ name, away: from }) => ({ name, metres: from(end) }))
    .filter(({ metres }) => metres <= BESIDE_M)
    .sort((a, b) => a.metres - b.metres);
  const beside = near ? `, ${near.metres < 0.3 ? "at" : `${far(near.metres, units)} from`} “${near.name}”` : "";
  return north === null
    ? `Comes out ${away} from the start, toward the ${ON_MAP[side]} of the map${beside}.`
    : `Comes out ${away} ${COMPASS[side]} of the start${beside}.`;
}

// That it lets the water out too near the house.
const nearHouseWords = (away, units) =>
  `It lets the water out ${far(away, units)} from the house. The ground beside a house is to fall over its first ` +
  `${units === "us" ? "10 ft" : "3 m"} (IRC R401.3): take a place further off.`;

// Each grade of a route and where it changes.
export function gradesWords(grades, units, way) {
  const told = (one) => gradeText(one.percent, way);
  if (grades.length === 1) return `One grade: ${told(grades[0])}.`;
  const runs = grades.map((one, i) => `${told(one)} to ${i === grades.length - 1 ? "the outlet" : stationLabel(one.to, units)}`);
  return `${grades.length === 2 ? "1 change" : `${grades.length - 1} changes`} of grade: ${runs.join(", then ")}.`;
}

// How sure it is by the ground as it was read; "" where no chance was worked out.
export function chanceWords(chance) {
  if (chance === null) return "";
  const percent = Math.round(chance * 100);
  const told = percent > 99 ? "more than 99 %" : percent < 1 ? "less than 1 %" : `about ${percent} %`;
  return ` The chance that it drains is ${told}.`;
}
