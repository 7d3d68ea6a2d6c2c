// Rows pasted from a spreadsheet or a text file, with or without a header row.
import { SHEETS } from "../document/columns.js";
import { readMeasure } from "../units/parse_measure.js";

// Words that head a column, by the column they mean.
const HEADINGS = {
  at: ["at", "station", "sta", "distance", "dist", "chainage"],
  down: ["down", "reading", "read", "string down", "string to ground", "drop"],
  line: ["line", "string"],
  elevation: ["elevation", "elev", "el", "level", "height", "z"],
  invert: ["invert", "inv", "inside bottom", "elevation", "elev", "level", "height"],
  ground: ["ground", "surface", "elevation", "elev"],
  depth: ["depth", "deep", "reading", "read"],
  from: ["from", "start"],
  to: ["to", "end"],
  length: ["length", "len", "step", "run"],
  drop: ["drop", "fall", "down"],
  percent: ["percent", "slope", "grade", "%"],
  x: ["x", "east", "easting", "right"],
  y: ["y", "north", "northing", "up"],
  z: ["z", "elevation", "elev", "height"],
  sight: ["sight", "kind"],
  on: ["on", "point", "pt", "name"],
  rod: ["rod", "reading", "read"],
  bs: ["bs", "backsight", "back"],
  is: ["is", "intermediate", "inter"],
  fs: ["fs", "foresight", "fore"],
};

// Text of several cells or lines as rows for a sheet of readings. One bare value is not a
// table: null, so that the paste goes on as usual. `names` are the columns that the sheet shows.
export function pastedRows(text, kind, names = Object.keys(SHEETS[kind])) {
  const table = cellsOf(text);
  if (table.length < 2 && (table[0]?.length ?? 0) < 2) return null;
  const heading = headingOf(table[0], kind, names);
  const body = heading ? table.slice(1) : table;
  const columns = heading ?? plainColumns(kind, body, names);
  const rows = body.filter((cells) => cells.some((cell) => cell !== ""));
  return rows.flatMap((cells) => rowsOf(cells, columns, kind));
}

function cellsOf(text) {
  const lines = text.replace(/\r\n?/g, "\n").replace(/\n+$/, "").split("\n");
  const split = separator(lines);
  return lines.map((line) => split(line.trimEnd()).map((cell) => cell.trim().replace(/^"(.*)"$/, "$1")));
}

function separator(lines) {
  if (lines.some((line) => line.includes("\t"))) return (line) => line.split("\t");
  if (lines.some((line) => line.includes(";"))) return (line) => line.split(";");
  if (lines.some((line) => line.includes(","))) return (line) => line.split(",");
  if (lines.every((line) => /\S {2,}\S/.test(line.trim()) || line.trim() === "")) {
    return (line) => line.trim().split(/ {2,}/);
  }
  // Columns are parted by one space, but a fraction such as "10 1/2" stays whole.
  return (line) => line.trim().split(/ (?!\d+\/\d)/);
}

// The meaning of each column, from a first row that holds words; null where it holds readings.
function headingOf(cells, kind, names) {
  const words = cells.map((cell) =>
    cell
      .toLowerCase()
      .replace(/[([].*$/, "")
      .trim(),
  );
  if (words.some((word) => word && readMeasure(word, "").value)) return null;
  const known = kind === "rod" ? [...Object.keys(SHEETS.rod), "bs", "is", "fs"] : names;
  const taken = new Set();
  const columns = words.map((word) => {
    const fits = known
      .filter((name) => !taken.has(name))
      .map((name) => ({ name, size: headingSize(word, HEADINGS[name]) }))
      .reduce((a, b) => (b.size > a.size ? b : a), { name: null, size: 0 });
    if (fits.name) taken.add(fits.name);
    return fits.name;
  });
  return taken.size ? columns : null;
}

// The length of the longest heading that a word of the first row starts with; 0 for none.
const headingSize = (word, headings) =>
  Math.max(0, ...headings.filter((heading) => word === heading || word.startsWith(`${heading} `)).map((heading) => heading.length));

function plainColumns(kind, body, names) {
  if (kind !== "rod") return names;
  const wide = Math.max(...body.map((cells) => cells.length));
  return wide <= 3 ? ["sight", "at", "rod"] : names;
}

function rowsOf(cells, columns, kind) {
  const row = {};
  columns.forEach((name, i) => {
    if (name && cells[i] !== undefined) row[name] = cells[i];
  });
  if (kind !== "rod") return [row];
  const { bs, is, fs, ...shared } = row;
  if (bs === undefined && is === undefined && fs === undefined) {
    return [{ ...shared, sight: (shared.sight ?? "IS").toUpperCase() }];
  }
  // A book with a column for each sight: on a turning point the foresight comes before the
  // backsight that follows it.
  return Object.entries({ FS: fs, IS: is, BS: bs })
    .filter(([, rod]) => rod)
    .map(([sight, rod]) => ({ ...shared, sight, rod }));
}
