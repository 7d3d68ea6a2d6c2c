// Stretches that ask for a cover of their own, in the request: a walk, a drive, a bed. An area of
// the map becomes a stretch wherever a line runs through it, so it follows the line.

import { partsOf } from "../geometry/rings.js";
import { isBlank } from "../units/entry.js";
import { stationLabel } from "../units/units.js";

const COLUMNS = ["from", "to", "cover", "what"];
const NEEDED = {
  what: "what it is",
  cover: "how much soil it needs over the pipe",
  from: "where it begins",
  to: "where it ends",
};
// Shorter than this an area only touches a line.
const TOUCH_M = 0.02;
const DIGITS = { us: 2, si: 3 };

// What people usually ask for, by what bears on the ground, in each unit system's depth.
export const USUAL_COVERS = [
  { what: "walk", words: "A walk", us: "6", si: "150" },
  { what: "drive", words: "A drive, under car wheels", us: "12", si: "300", wheels: "yes" },
  { what: "dug bed", words: "A bed that is dug", us: "12", si: "300" },
  { what: "aerated lawn", words: "A lawn that is aerated", us: "6", si: "150" },
];

// Whether cars pass over it, where that was said.
const wheelsOf = ({ wheels }) => (wheels ? { wheels: wheels === "yes" } : {});

export const ringOf = (plan, row) => row.rings[plan.base] ?? [];

// What a row still needs before it counts, in words.
export function coverLacks(plan, row) {
  const drawn = row.run === "drawn";
  const blank = ["what", "cover", ...(drawn ? [] : ["from", "to"])].filter((name) => isBlank(row[name]));
  return [
    ...blank.map((name) => NEEDED[name]),
    ...(drawn && plan.route.kind !== "drawn" ? ["a line on the map"] : []),
    ...(drawn && ringOf(plan, row).length < 3 ? ["its corners on the map"] : []),
  ];
}

// The stretches of a line under an area, [[from, to], …] in stations, rounded outward to what a
// tape shows. `ring` and `line` in metres; `scale` is stations to a metre of the line.
export function stretchesUnder(ring, { line, scale }, units) {
  const step = 10 ** DIGITS[units];
  return partsOf(line, ring, true, TOUCH_M).map(([from, to]) => [
    Math.floor(from * scale * step + 1e-6) / step,
    Math.ceil(to * scale * step - 1e-6) / step,
  ]);
}

// {covers} on the main line (`key` "") or a branch, which stands at `pointer` in the request.
// `alongOf(key)` answers {line, scale, toMetres} of a drawn line, null for one that is not.
export function readCovers(plan, reader, { key, pointer, alongOf }) {
  const covers = [];
  const put = (cover, path, asLine) => {
    const place = `${pointer}/covers/${covers.length}`;
    reader.place(place, path);
    if (asLine) for (const end of ["from", "to"]) reader.place(`${place}/${end}`, path);
    covers.push(cover);
  };
  plan.covers.rows.forEach((row, i) => {
    const path = `covers.rows.${i}`;
    if (coverLacks(plan, row).length) return;
    if (row.run !== "drawn") {
      if (row.on === key) put({ ...reader.row("covers", row, path, COLUMNS), ...wheelsOf(row) }, path, false);
      return;
    }
    const along = alongOf(key);
    if (!along || along.line.length < 2) return;
    const asked = { ...reader.row("covers", row, path, ["cover", "what"]), ...wheelsOf(row) };
    for (const [from, to] of stretchesUnder(ringOf(plan, row).map(along.toMetres), along, plan.units)) {
      put({ from, to, ...asked }, path, true);
    }
  });
  reader.place(`${pointer}/covers`, "covers");
  return covers.length ? { covers } : {};
}

// Where the lines of a plan run under an area, in words; "" while it has no corners.
export function underWords(plan, row, lines) {
  if (ringOf(plan, row).length < 3) return "";
  const found = lines.flatMap(({ name, along }) =>
    stretchesUnder(ringOf(plan, row).map(along.toMetres), along, plan.units).map(
      ([from, to]) => `${name} from ${stationLabel(from, plan.units)} to ${stationLabel(to, plan.units)}`,
    ),
  );
  return found.length ? `Above ${found.join("; ")}.` : "No pipe runs under it.";
}

// What each row still needs before the plan can count it, in sentences.
export const uncountedCovers = (plan) =>
  plan.covers.rows.flatMap((row, i) => {
    const lacks = coverLacks(plan, row);
    const what = row.what.trim() ? `The cover under the ${row.what.trim()}` : `Stretch ${i + 1} with its own cover`;
    return lacks.length ? [`${what} is not counted yet. Still needed: ${lacks.join(", ")}.`] : [];
  });
