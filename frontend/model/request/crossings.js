// What the pipe must pass, and soil to be laid over it, in the request.
import { isFinishedRow } from "../document/columns.js";

// The crossings and the soil to lay on the main line (`key` "") or on a branch; `pointer` is where
// that line stands in the request. Those that still lack something are left out.
export const readCrossings = (plan, reader, key, pointer) => ({
  ...rowsOf("crossings", ["at", "what", "top_depth", "size", "clearance", "pass"], plan, reader, key, pointer, (row) =>
    row.exposed === "yes" ? { exposed: true } : {},
  ),
  ...rowsOf("fills", ["from", "to", "depth", "full_from", "full_to", "width"], plan, reader, key, pointer),
});

function rowsOf(sheet, columns, plan, reader, key, pointer, more = () => ({})) {
  const found = [];
  plan[sheet].rows.forEach((row, i) => {
    if (row.on !== key || !isFinishedRow(sheet, row)) return;
    const path = `${sheet}.rows.${i}`;
    reader.place(`${pointer}/${sheet}/${found.length}`, path);
    found.push({ ...reader.row(sheet, row, path, columns), ...more(row) });
  });
  reader.place(`${pointer}/${sheet}`, sheet);
  return found.length ? { [sheet]: found } : {};
}
