// Tables of readings: rows added, removed, filled on, pasted over.
import { isBlank, readEntry, textOf } from "../units/entry.js";
import { tapeText } from "../units/tape.js";
import { isBlankRow, isFinishedRow, SHEETS } from "./columns.js";
import { unitAt, withValue } from "./document.js";

// A new row for a sheet, its station carried on by the spacing of the two rows before.
export function nextRow(plan, kind) {
  const rows = plan[kind].rows;
  const row = Object.fromEntries(Object.keys(SHEETS[kind]).map((name) => [name, ""]));
  const last = rows.at(-1);
  if (kind === "rod") return { ...row, sight: last ? "IS" : "BS" };
  if (kind === "slopes") return { ...row, from: last ? last.to : "0" };
  if (kind === "steps") return { ...row, length: last ? last.length : "" };
  if (!last || !("at" in row)) return row;
  return { ...row, at: nextStation(plan, kind, rows.length), ...lineOfRow(last) };
}

const lineOfRow = (row) => (row.line ? { line: row.line } : {});

// The station that row `i` would have if the spacing before it went on; "" where unknown.
export function nextStation(plan, kind, i) {
  const rows = plan[kind].rows;
  const unit = unitAt(plan, `${kind}.rows.0.at`);
  if (i === 0) return "0";
  const [before, last] = [i - 2, i - 1].map((k) => readEntry(rows[k]?.at, unit).value);
  if (last === undefined || before === undefined || last <= before) return "";
  return tapeText(2 * last - before, unit);
}

// Columns that Enter passes over: words that seldom change, and what is chosen, not typed.
const PASSED_OVER = ["line", "on", "sight"];
export const READINGS = ["down", "elevation", "rod", "percent", "drop", "z"];

// Where Enter leads from a cell: {row, column} of the next empty one, or of the first empty one
// of a row to be added (`added`). Where the spacing gives the station, its reading is next.
export function nextCell(plan, kind, i, column) {
  const columns = Object.keys(SHEETS[kind]).filter((name) => !PASSED_OVER.includes(name));
  const emptyIn = (row, from) => columns.slice(from).find((name) => isBlank(row[name]));
  const { rows } = plan[kind];
  for (let row = i; row < rows.length; row += 1) {
    const from = row === i ? columns.indexOf(column) + 1 : 0;
    const found = emptyIn(rows[row], from);
    if (!found) continue;
    return { row, column: found === "at" ? skippingStation(plan, kind, row) : found, added: false };
  }
  return { row: rows.length, column: emptyIn(nextRow(plan, kind), 0) ?? columns[0], added: true };
}

function skippingStation(plan, kind, i) {
  const reading = ["down", "elevation"].find((name) => name in SHEETS[kind]);
  const known = reading && isBlank(plan[kind].rows[i][reading]) && nextStation(plan, kind, i) !== "";
  return known ? reading : "at";
}

// The plan with the station of row `i` carried on by the spacing, where it has none and its
// reading is about to be typed.
export function stationCarriedOn(plan, kind, i, column) {
  const row = plan[kind].rows[i];
  if (!["down", "elevation"].includes(column) || !isBlank(row.at) || !isBlank(row[column])) return plan;
  const station = nextStation(plan, kind, i);
  return station ? withValue(plan, `${kind}.rows.${i}.at`, station) : plan;
}

export const withRows = (plan, kind, rows) => withValue(plan, `${kind}.rows`, rows);

export const rowAdded = (plan, kind) => withRows(plan, kind, [...plan[kind].rows, nextRow(plan, kind)]);

export const rowRemoved = (plan, kind, i) =>
  withRows(
    plan,
    kind,
    plan[kind].rows.filter((_, k) => k !== i),
  );

// Pasted rows go in from row `i` on. On the first row they replace the whole sheet, if nothing is
// typed below it; else they overwrite row by row.
export function rowsPasted(plan, kind, i, pasted) {
  const rows = plan[kind].rows;
  const empty = Object.fromEntries(Object.keys(SHEETS[kind]).map((name) => [name, ""]));
  const fill = kind === "rod" ? { ...empty, sight: "IS" } : empty;
  const after = rows.slice(i + pasted.length);
  const next = pasted.map((row, k) => ({ ...(rows[i + k] ?? fill), ...row }));
  const rest = after.every(isBlankRow) ? [] : after;
  return withRows(plan, kind, [...rows.slice(0, i), ...next, ...rest]);
}

// Stations every `spacing` from 0 for the sheet's rows; readings stay.
export function stationsSpaced(plan, kind, spacing) {
  const rows = plan[kind].rows.map((row, i) => ({ ...row, at: tapeText(i * spacing, unitAt(plan, `${kind}.rows.0.at`)) }));
  return withRows(plan, kind, rows);
}

// The greatest station on a sheet's finished rows, in the plan's units; null where there is none.
export function lastStation(plan, kind) {
  if (kind === "steps") return stepsLength(plan.steps.rows, unitAt(plan, "steps.rows.0.length"));
  const column = kind === "slopes" ? "to" : "at";
  if (!SHEETS[kind]?.[column]) return null;
  const unit = unitAt(plan, `${kind}.rows.0.${column}`);
  const stations = plan[kind].rows
    .filter((row) => isFinishedRow(kind, row) && !isBlank(row[column]))
    .map((row) => readEntry(row[column], unit).value)
    .filter((value) => value !== undefined);
  return stations.length ? Math.max(...stations) : null;
}

// The length of the finished steps, end to end; null where there is none.
export function stepsLength(rows, unit) {
  const lengths = rows.filter((row) => isFinishedRow("steps", row)).map((row) => readEntry(row.length, unit).value ?? 0);
  return lengths.length ? Number(lengths.reduce((a, b) => a + b, 0).toFixed(9)) : null;
}

// The sheet as tab-separated text with a header, to copy into a spreadsheet.
export function asText(plan, kind) {
  const columns = Object.keys(SHEETS[kind]);
  const rows = plan[kind].rows.filter((row) => !isBlankRow(row));
  return [columns, ...rows.map((row) => columns.map((name) => textOf(row[name])))].map((cells) => cells.join("\t")).join("\n");
}

// Which rows come before one with a smaller station: sheets are read in order along the run.
const IN_ORDER = ["level_line", "elevations"];

const stationsOf = (plan, kind) => plan[kind].rows.map((row) => readEntry(row.at, unitAt(plan, `${kind}.rows.0.at`)).value);

export function isOutOfOrder(plan, kind) {
  if (!IN_ORDER.includes(kind)) return false;
  const stations = stationsOf(plan, kind).filter((at) => at !== undefined);
  return stations.some((at, i) => at < stations[i - 1]);
}

// The column that numbers typed as stations must be readings of: where nothing else is typed and they
// do not grow, as stations would. Null where all is in its place.
export function misplacedReadings(plan, kind) {
  if (!IN_ORDER.includes(kind)) return null;
  const column = READINGS.find((name) => name in SHEETS[kind]);
  const rows = plan[kind].rows;
  const stations = stationsOf(plan, kind).filter((at) => at !== undefined);
  const empty = rows.every((row) => isBlank(row[column]));
  return empty && stations.length > 1 && stations.some((at, i) => at <= stations[i - 1]) ? column : null;
}

// The numbers typed as stations in the column of readings, the first at station 0.
export function readingsInPlace(plan, kind) {
  const column = misplacedReadings(plan, kind);
  const rows = plan[kind].rows.map((row, i) => ({ ...row, at: i ? "" : "0", [column]: row.at }));
  return withRows(plan, kind, rows);
}

// The sheet with its rows by station, rows without one last. Nothing else changes.
export function rowsInOrder(plan, kind) {
  const stations = stationsOf(plan, kind);
  const order = [...stations.keys()].sort((a, b) => (stations[a] ?? Infinity) - (stations[b] ?? Infinity) || a - b);
  return withRows(
    plan,
    kind,
    order.map((i) => plan[kind].rows[i]),
  );
}
