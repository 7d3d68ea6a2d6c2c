// A trench held straight against the plan that this browser knows, with no planner: each reading
// against its mark on the dig sheet, each stretch between two readings against the minimum grade.
// The least work, water that stands and other ways to re-grade are the planner's to tell.
import { tapeText } from "../units/tape.js";
import { unitOf } from "../units/units.js";
import { straightSentence, straightStation } from "../wording/straight.js";

const IN_M = 0.0254;
const TOLERANCE_M = IN_M / 4; // one city's figure for grade (common practice, no source)
const SLACK_M = 2e-6; // what rounding in an answer may do
const SAME_M = 1e-3;
const NEAR_M = 6 * IN_M; // a reading so near a station counts as its own
const LEFT_M = IN_M; // digging leaves no larger step between checkpoints, or 1 % of the way
const LEFT_PER_LENGTH = 0.01;
const ONE_SIDED_M = 4 * IN_M; // with one neighbour alone a larger step, for a trench is readily dug too deep
export const METRES = { in: 0.0254, ft: 0.3048, m: 1, mm: 0.001 };
const EXACT = { depth: "dig_depth", line_to_bottom: "line_to_bottom", rod: "rod_at_bottom" };

// A mark as a number: "23 1/2", "-3/4", "4.205".
export function figureOf(mark) {
  const size = mark
    .replace(/^-/, "")
    .split(" ")
    .reduce((sum, part) => {
      const [over, under] = part.split("/");
      return sum + Number(over) / Number(under ?? 1);
    }, 0);
  return mark.startsWith("-") ? -size : size;
}

// How far a surface lies over the trench bottom, in metres.
function overBottom({ profile, pipe, units }, on) {
  if (on === "trench_bottom") return 0;
  const [large, small] = units === "us" ? [METRES.ft, METRES.in] : [1, METRES.mm];
  const below = (profile.invert[0] - profile.bottom[0]) * large;
  return on === "invert" ? below : below + (pipe.outside - pipe.wall) * small;
}

// What a station should read by a way, on a surface: {exact_m, mark}; null where it cannot be read so.
function target(station, answer, { by, on, unit }) {
  const exact = station[EXACT[by]];
  if (exact === null || exact === undefined) return null;
  const over = overBottom(answer, on);
  const exact_m = exact * METRES[unit] - over;
  const mark = over ? null : (station.marks[EXACT[by]] ?? null);
  return { exact_m, mark, mark_m: mark === null ? exact_m : figureOf(mark) * METRES[unit] };
}

// The check of readings [{at, value, by, unit, again}] on one surface, each in the unit it is read in and
// at a station of `answer`, the plan of their line; `tolerance_m` where one was typed. It has the
// shape of the planner's check as far as the page shows it. Readings elsewhere are left out.
export function straightCheck(answer, readings, { on, tolerance_m = TOLERANCE_M, by, unit }) {
  const large = answer.units === "us" ? METRES.ft : 1;
  const known = readings
    .map((reading, index) => ({ ...reading, on, index, ...placed(answer, { ...reading, on }) }))
    .filter(({ station, target: found, value }) => station && found && Number.isFinite(value))
    .sort((a, b) => a.station.at - b.station.at);
  for (const one of known) {
    one.at_m = one.station.at * large;
    one.off_m = one.target.exact_m - one.value * METRES[one.unit];
    one.planned_m = one.station.invert * large;
    one.level_m = one.planned_m + one.off_m;
    one.marked_m = one.planned_m + one.target.exact_m - one.target.mark_m;
    one.within = Math.abs(one.off_m) <= tolerance_m + SLACK_M;
  }
  known.forEach((one, i) => {
    const beside = [known[i - 1], known[i + 1]].filter(Boolean);
    one.beside = beside.length;
    one.doubted = !one.within && !one.again && contradicted(one, beside);
  });
  const sure = known.filter((one) => !one.doubted);
  const runs = sure.slice(1).map((one, i) => stretch(sure[i], one, answer.marks.least_percent / 100, large));
  const flat = runs.filter((run) => run.flat || run.falls_back);
  for (const run of flat) blame(run);
  const fall = fallOf(sure, answer.marks.least_percent / 100, tolerance_m);
  const off = sure.some((one) => !one.within);
  const failed = off || flat.length > 0 || !fall.enough;
  const wanted = answer.stations.filter(({ at }) => !readings.some((one) => Math.abs(one.at - at) * large <= NEAR_M + SLACK_M)).reverse();
  const verdict = failed ? "fail" : wanted.length || known.some((one) => one.doubted) ? "more_readings" : "pass";
  const check = {
    here: true,
    units: answer.units,
    verdict,
    plan_fits: answer.answer.verdict !== "no",
    tolerance: tolerance_m / METRES[unitOf("depth", answer.units)],
    checks: { fall_enough: fall.enough, steep_enough: !runs.some((run) => run.flat), within_tolerance: !off },
    stations: known.map((one) => stationOf(one, answer.units)),
    runs: runs.map(({ upper, lower, flat, ...run }) => run),
    fall: sure.length > 1 ? fall : null,
    to_read: wanted.map((station) => wantedOf(station, answer, { by, on, unit })),
    standing_water: [],
    warnings: [],
    cautions: [],
    grade_runs: [],
    assumptions: [],
    as_it_lies: null,
  };
  return { ...check, sentence: straightSentence(check) };
}

function placed(answer, reading) {
  const large = answer.units === "us" ? METRES.ft : 1;
  const station = answer.stations.find(({ at }) => Math.abs(at - reading.at) * large <= SAME_M);
  return { station, target: station ? target(station, answer, reading) : null };
}

// Whether all its neighbours are right and the step from each is more than digging leaves.
function contradicted(one, beside) {
  const least = beside.length === 1 ? ONE_SIDED_M : LEFT_M;
  return (
    beside.length > 0 &&
    beside.every((other) => {
      const most = Math.max(least, LEFT_PER_LENGTH * Math.abs(one.at_m - other.at_m));
      return other.within && Math.abs(one.off_m - other.off_m) > most + SLACK_M;
    })
  );
}

// A stretch between two readings: no flatter than the minimum grade, the plan, or the marks.
function stretch(upper, lower, least, large) {
  const length = lower.at_m - upper.at_m;
  const fall = upper.level_m - lower.level_m;
  const marked = upper.by === lower.by && upper.target.mark !== null && lower.target.mark !== null;
  const needed = Math.min(
    least * length,
    upper.planned_m - lower.planned_m,
    marked ? upper.marked_m - lower.marked_m : Number.POSITIVE_INFINITY,
  );
  return {
    upper,
    lower,
    from: upper.at_m / large,
    to: lower.at_m / large,
    percent: (fall / length) * 100,
    falls_back: fall < -SLACK_M,
    under_least: fall < least * length - SLACK_M,
    flat: fall < Math.max(0, needed) - SLACK_M,
  };
}

// Which of two readings within the tolerance is to go to its mark, so that the stretch falls.
function blame({ upper, lower }) {
  if (!upper.within || !lower.within) return;
  const high = lower.level_m - lower.marked_m > SLACK_M;
  if (high) lower.to_mark = true;
  else upper.to_mark = true;
}

function fallOf(sure, least, tolerance_m) {
  if (sure.length < 2) return { enough: true };
  const [first, last] = [sure[0], sure.at(-1)];
  const needed = Math.max(0, least * (last.at_m - first.at_m) - tolerance_m);
  return { enough: first.level_m - last.level_m >= needed - SLACK_M };
}

function stationOf(one, units) {
  const depth = unitOf("depth", units);
  const small = METRES[depth];
  const state = one.within ? "within" : one.off_m > 0 ? "high" : "low";
  const away_m = one.level_m - one.marked_m;
  const acts = !one.within || one.to_mark;
  const [down, up] = one.on === "trench_bottom" ? ["shave", "fill"] : ["lower", "raise"];
  const work = one.doubted ? "read_again" : !acts ? "nothing" : away_m > 0 ? down : up;
  const said = {
    at: one.station.at,
    label: one.station.label,
    reading: one.index,
    by: one.by,
    on: one.on,
    off: Math.round((one.off_m / small) * 1e6) / 1e6,
    beside: one.beside,
    state,
    do: work,
    mark: work === "nothing" || work === "read_again" ? null : `${tapeText(Math.abs(away_m) / small, depth)} ${depth}`,
    should_read_text: markText(one.target, one.unit),
  };
  return { ...said, sentence: straightStation(said, units) };
}

const markText = ({ mark, exact_m }, unit) => `${mark ?? tapeText(exact_m / METRES[unit], unit)} ${unit}`;

function wantedOf(station, answer, { by, on, unit }) {
  const found = target(station, answer, { by, on, unit });
  return { at: station.at, label: station.label, on, marks: { [by]: found && markText(found, unit) } };
}
