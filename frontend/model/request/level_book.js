// A level book in the request: the main line's, or a branch's.
import { isFinishedRow } from "../document/columns.js";
import { valueAt } from "../document/document.js";
import { textOf } from "../units/entry.js";

// The ground by `shots` already read. `paths` name the fields {name, elevation, unit, distance},
// `known` are the rows of further known points as {row, path}; `pointer` is where the line of the
// ground stands in the request.
export function bookOf(reader, shots, paths, known, pointer) {
  reader.place(`${pointer}/ground/benchmark/name`, paths.name);
  reader.place(`${pointer}/ground/benchmark/elevation`, paths.elevation);
  reader.place(`${pointer}/ground/distance`, paths.distance);
  reader.place(`${pointer}/ground/rod_unit`, paths.unit);
  const elevation = reader.number(paths.elevation);
  if (elevation === undefined && !reader.problems.some((p) => p.path === paths.elevation)) {
    reader.problems.push({ path: paths.elevation, text: "Give the benchmark a level; 100 will do if none is known." });
  }
  const distance = reader.number(paths.distance);
  const points = known
    .filter(({ row }) => isFinishedRow("known", row))
    .map(({ row, path }, i) => {
      reader.place(`${pointer}/ground/known/${i}`, path);
      return { name: textOf(row.name).trim(), elevation: reader.number(`${path}.elevation`) };
    });
  return {
    kind: "rod",
    rod_unit: valueAt(reader.plan, paths.unit),
    benchmark: { name: textOf(valueAt(reader.plan, paths.name)).trim() || "BM", elevation },
    shots,
    ...(points.length && { known: points }),
    ...(distance !== undefined && { distance }),
  };
}
