// Ground by its drop alone, and steps of a turned level, in the request: of the line or a branch.
import { BY_DROP } from "../document/branch_columns.js";

// The ground by its drop. `paths` say where drop, hump_at and hump_height are typed. A hump with
// only its place or its height is a problem.
export function dropOf(reader, paths, of, place) {
  reader.place(`${place}/ground/drop`, paths.drop);
  reader.place(`${place}/ground/hump`, paths.hump_at);
  reader.place(`${place}/ground/hump/at`, paths.hump_at);
  reader.place(`${place}/ground/hump/height`, paths.hump_height);
  const [drop, at, height] = [paths.drop, paths.hump_at, paths.hump_height].map((path) => reader.number(path));
  if ((at === undefined) !== (height === undefined)) {
    const path = at === undefined ? paths.hump_at : paths.hump_height;
    const text = at === undefined ? "Say where the hump stands." : "Say how high the hump is.";
    if (!reader.problems.some((problem) => problem.path === path)) reader.problems.push({ path, text });
  }
  const hump = at !== undefined && height !== undefined && { hump: { at, height } };
  return { kind: BY_DROP, of, drop, ...hump };
}

// Whether the level was turned at every step, where that was said.
export const turnedOf = ({ reversed }) => (reversed ? { reversed: reversed === "yes" } : {});

export const TURNED = [
  ["", "not said"],
  ["yes", "yes, at every step"],
  ["no", "no"],
];
export const turnedText = (value) => (value === undefined ? "" : value ? "yes" : "no");
