// What a crew works out beside its readings: how far the ground lies below where it began, or a
// level book's line of sight and levels, or where steps end. From the readings as they are: no
// misclosure is spread here.
import { unitAt } from "../document/document.js";
import { readEntry, textOf } from "../units/entry.js";
import { toNumber } from "../units/rational.js";
import { tapeText } from "../units/tape.js";
import { METRES, unitOf } from "../units/units.js";

// The columns worked out for a kind of sheet: [{name, head, unit}].
export function workedColumns(plan, kind) {
  if (kind === "level_line") return [{ name: "below", head: "Below first", unit: unitOf("depth", plan.units) }];
  if (kind === "steps") {
    return [
      { name: "ends", head: "Ends at", unit: unitOf("distance", plan.units) },
      { name: "below", head: "Below start", unit: unitOf("depth", plan.units) },
    ];
  }
  if (kind !== "rod") return [];
  const unit = unitOf("elevation", plan.units);
  return [
    { name: "sight", head: "Line of sight", unit },
    { name: "level", head: "Elevation", unit },
  ];
}

// One object of texts a row, by column name; "" where nothing is known.
export function workedRows(plan, kind) {
  if (kind === "level_line") return belowFirst(plan);
  if (kind === "steps") return stepsDown(plan);
  return kind === "rod" ? levels(plan) : plan[kind].rows.map(() => ({}));
}

const read = (plan, kind, i, column) => readEntry(plan[kind].rows[i][column], unitAt(plan, `${kind}.rows.${i}.${column}`)).value;

// Two strings are tied together where both were read at one station.
function belowFirst(plan) {
  const rows = plan.level_line.rows.map((row, i) => ({
    line: textOf(row.line).trim(),
    at: read(plan, "level_line", i, "at"),
    down: read(plan, "level_line", i, "down"),
  }));
  const readable = rows.filter(({ at, down }) => at !== undefined && down !== undefined);
  const [first] = readable;
  if (!first) return rows.map(() => ({ below: "" }));
  const zero = new Map([[first.line, first.down]]);
  for (let found = true; found; ) {
    found = false;
    for (const a of readable) {
      const b = readable.find((other) => other.at === a.at && zero.has(other.line) && !zero.has(a.line));
      if (!b) continue;
      zero.set(a.line, a.down - (b.down - zero.get(b.line)));
      found = true;
    }
  }
  const unit = unitAt(plan, "level_line.rows.0.down");
  const text = ({ at, down, line }) =>
    at === undefined || down === undefined || !zero.has(line) ? "" : tapeText(down - zero.get(line), unit);
  return rows.map((row) => ({ below: text(row) }));
}

// Steps are summed as far as every one before is known.
function stepsDown(plan) {
  let [ends, below] = [0, 0];
  return plan.steps.rows.map((_, i) => {
    ends += read(plan, "steps", i, "length") ?? NaN;
    below += read(plan, "steps", i, "drop") ?? NaN;
    if (Number.isNaN(ends + below)) return { ends: "", below: "" };
    return {
      ends: tapeText(ends, unitAt(plan, "steps.rows.0.length")),
      below: tapeText(below, unitAt(plan, "steps.rows.0.drop")),
    };
  });
}

function levels(plan) {
  const known = new Map();
  const { benchmark } = plan.rod;
  const per = toNumber(METRES[plan.rod.unit]) / toNumber(METRES[unitOf("elevation", plan.units)]);
  const start = readEntry(benchmark.elevation, unitAt(plan, "rod.benchmark.elevation")).value;
  plan.known.rows.forEach(({ name, elevation }, i) =>
    known.set(textOf(name).trim(), readEntry(elevation, unitAt(plan, `known.rows.${i}.elevation`)).value),
  );
  known.set(textOf(benchmark.name).trim() || "BM", start);
  let [sight, last] = [undefined, start];
  const digits = plan.units === "us" ? 2 : 3;
  const show = (value) => (value === undefined || Number.isNaN(value) ? "" : value.toFixed(digits));
  return plan.rod.rows.map((row, i) => {
    const rod = read(plan, "rod", i, "rod");
    if (rod === undefined) return { sight: "", level: "" };
    const on = textOf(row.on).trim();
    if (row.sight === "BS") {
      const level = known.get(on) ?? last;
      sight = level === undefined ? undefined : level + rod * per;
      return { sight: show(sight), level: show(level) };
    }
    const level = sight === undefined ? undefined : sight - rod * per;
    if (on && !known.has(on)) known.set(on, level);
    if (row.sight === "FS") last = level;
    return { sight: "", level: show(level) };
  });
}
