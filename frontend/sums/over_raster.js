// Hand readings over a raster: which of those typed go into the request, and what shares its
// raster but not its readings.
import { textOf } from "./entry.js";
import { isBlankRow, isFinishedRow } from "./document.js";

export const SHEET = "over_raster";

const lineOf = (row) => textOf(row.line).trim();

// {body, unfinished}: `body` holds `readings`, and `read_with` where that was chosen. A reading
// alone on its string tells nothing, so it waits for another.
export function overRasterOf(plan, reader) {
  const { rows } = plan[SHEET];
  const finished = rows.filter((row) => isFinishedRow(SHEET, row));
  const serves = (row) =>
    isFinishedRow(SHEET, row) && finished.filter((other) => lineOf(other) === lineOf(row)).length > 1;
  const [readings, unfinished] = [[], []];
  rows.forEach((row, i) => {
    if (isBlankRow(row)) return;
    const path = `${SHEET}.rows.${i}`;
    if (!serves(row)) {
      unfinished.push(path);
      return;
    }
    reader.place(`/ground/readings/${readings.length}`, path);
    readings.push(reader.row(SHEET, row, path));
  });
  reader.place("/ground/read_with", "raster.read_with");
  const tool = plan.raster.read_with;
  return { body: readings.length ? { readings, ...(tool && { read_with: tool }) } : {}, unfinished };
}

// The same raster for another line: what was read along one line is not another's.
export function rasterAlone(ground) {
  if (ground?.kind !== "raster") return ground;
  const { readings: _, read_with: __, ...raster } = ground;
  return raster;
}
