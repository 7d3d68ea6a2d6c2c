// A change to a plan, told by its profile before and after: what to draw in a small frame, and the
// depths at the two ends in words.
import { depthText } from "../units/units.js";
import { deepWords } from "../wording/depths.js";

const SAME = 0.05; // in the small unit of US plans: less is not seen on a tape

// {before, after, ground, groundAfter, words, moved}: rows of points as shares of a frame, from the upper
// left. `groundAfter` is null where no soil is moved, `moved` tells whether the pipe lies elsewhere.
export function profileChange(before, after) {
  const [a, b] = [before.profile, after.profile];
  const [groundBefore, groundAfter] = [a, b].map(({ ground, finished }) => (finished?.length ? finished : ground));
  const levels = [groundBefore, a.bottom, groundAfter, b.bottom].flat();
  const [high, low] = [Math.max(...levels), Math.min(...levels)];
  const far = Math.max(a.at.at(-1), b.at.at(-1));
  const share = (at, level) => [at / far, high > low ? (high - level) / (high - low) : 0.5];
  const row = ({ at }, values) => at.map((place, i) => share(place, values[i]));
  const small = before.units === "us" ? 1 : 25;
  const soil = after.profile.at.some((at, i) => Math.abs(levelAt(a, groundBefore, at) - groundAfter[i]) * smallOf(before) > SAME * small);
  return {
    ground: row(a, groundBefore),
    groundAfter: soil ? row(b, groundAfter) : null,
    before: row(a, a.bottom),
    after: row(b, b.bottom),
    moved: farthest(before, after) > SAME * small,
    words: endWords(before, after, SAME * small),
  };
}

const smallOf = ({ units }) => (units === "us" ? 12 : 1000);

function levelAt({ at }, values, place) {
  const i = at.findIndex((known) => known >= place);
  if (i < 0) return values.at(-1);
  if (i === 0) return values[0];
  const share = (place - at[i - 1]) / (at[i] - at[i - 1]);
  return values[i - 1] + share * (values[i] - values[i - 1]);
}

// How far the trench bottom moves where both lie, in the small unit; without end where one is longer.
function farthest(before, after) {
  const [a, b] = [before.profile, after.profile];
  if (Math.abs(a.at.at(-1) - b.at.at(-1)) > 1e-5) return Number.POSITIVE_INFINITY;
  const places = [...a.at, ...b.at];
  return Math.max(...places.map((at) => Math.abs(levelAt(a, a.bottom, at) - levelAt(b, b.bottom, at)))) * smallOf(before);
}

// "Starts 9 in deep (now 12.6 in). Comes out …": each end that lies elsewhere.
function endWords({ units, ...before }, after, same) {
  const ends = [
    ["start", "Starts"],
    ["outlet", "Comes out"],
  ].filter(([end]) => Math.abs(before[end].dig_depth - after[end].dig_depth) > same);
  return ends
    .map(([end, words]) => `${words} ${deepWords(after[end].dig_depth, units)}, now ${depthText(before[end].dig_depth, units)}.`)
    .join(" ");
}
