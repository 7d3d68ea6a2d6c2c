// What a cut through the outlet shows, in the plan's small unit (in or mm): depths count down from
// the ground at the outlet, distances on from it, so that upstream is negative.
import { depthText } from "../units/units.js";

const SAME_AT = 1e-5;
const BEYOND = ["bank", "ditch"];

// Limits that hold a pipe down: where one of them is missed, the pipe lies too high.
const UPPER_LIMITS = ["least cover", "ground surface"];

// How far the drawn trench bottom would have to rise at the downstream station of the pinch, in the
// small unit; negative where it lies too high.
export function riseNeeded({ spare, pinch }) {
  return UPPER_LIMITS.includes(pinch.limits[1]) ? -Math.abs(spare) : Math.abs(spare);
}

// Whether the answer is decided at the outlet.
const decidedHere = ({ answer, length }) => answer.spare !== null && Math.abs(answer.pinch.downstream - length) < SAME_AT;

// {kind, outside, inside, cover, invert, bottom, fall, groundFall, water, beyond, limit, figure}, or
// null where the ground is not known. `fall` and `groundFall` are drops over a unit of length,
// `water` the depth of the water's level, `beyond` how a daylight end goes on, `well` the width of a
// dry well that was sized, `limit` the depth
// that the bottom may have where it misses it, `figure` the one number to write.
export function outletScene(plan) {
  const { outlet, pipe, units, answer, profile, grade_runs: runs } = plan;
  if (!plan.ground_known || outlet.dig_depth === null) return null;
  const { cover, dig_depth: bottom } = outlet;
  const invert = cover + pipe.outside - pipe.wall;
  const small = units === "us" ? 12 : 1000;
  const [before, end] = [profile.at.length - 2, profile.at.length - 1];
  const missed = answer.verdict === "no" && decidedHere(plan);
  const off = missed ? riseNeeded(answer) : 0;
  return {
    kind: outlet.kind,
    outside: pipe.outside,
    inside: pipe.inside,
    cover,
    invert,
    bottom,
    fall: runs.at(-1).percent / 100,
    groundFall: (profile.ground[before] - profile.ground[end]) / (profile.at[end] - profile.at[before]),
    water: waterDepth(outlet, profile.ground[end], invert, small),
    beyond: outlet.kind === "daylight" ? beyondOf(plan, small) : null,
    well: plan.dry_well ? plan.dry_well.diameter * small : null,
    limit: missed ? bottom - off : null,
    figure: missed
      ? `${depthText(Math.abs(off), units)} too ${off > 0 ? "deep" : "high"}`
      : bottom >= 0
        ? `${depthText(bottom, units)} deep`
        : `${depthText(-bottom, units)} above the ground`,
  };
}

// What stands at the outlet at its highest, else what a closed lid keeps in after rain.
function waterDepth({ water, left_wet: wet }, ground, invert, small) {
  if (water) return (ground - water.level) * small;
  return wet ? invert - wet.depth : null;
}

// {ditch: its length} or a bank, where the ground falls away at once.
function beyondOf({ outlet, answer }, small) {
  const told = (answer.conditions ?? []).find(({ code }) => BEYOND.includes(code));
  return told?.code !== "bank" && outlet.ditch ? { ditch: outlet.ditch * small } : { ditch: null };
}
