// What the pipe must pass, in the request.
import { isFinishedRow } from "../document/columns.js";

// The crossings on the main line (`key` "") or on a branch; `pointer` is where that line stands
// in the request. Those that still lack something are left out.
export function readCrossings(plan, reader, key, pointer) {
  const crossings = [];
  plan.crossings.rows.forEach((row, i) => {
    if (row.on !== key || !isFinishedRow("crossings", row)) return;
    const path = `crossings.rows.${i}`;
    reader.place(`${pointer}/crossings/${crossings.length}`, path);
    crossings.push(reader.row("crossings", row, path, ["at", "what", "top_depth", "size", "clearance", "pass"]));
  });
  reader.place(`${pointer}/crossings`, "crossings");
  return crossings.length ? { crossings } : {};
}
