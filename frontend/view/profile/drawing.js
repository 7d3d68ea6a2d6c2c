// Draws one plan's trench from the side as SVG. Elevations are stretched by a stated factor.

import { riseNeeded } from "../../model/geometry/outlet_scene.js";
import { exaggeration, roundStep, spacedLabels, ticks } from "../../model/units/axis_scale.js";
import { gradeText, gradeWords } from "../../model/units/grade.js";
import { plain, unitOf } from "../../model/units/units.js";
import { digCell, isStrung } from "../../model/wording/depths.js";
import { svg } from "../dom.js";
import { ditchOf, drawBorne, drawDitch, drawThin, finishedOf } from "./cover.js";

const EDGE = { left: 58, right: 32, top: 26, bottom: 46 };
const LETTER_PX = 7;
const GRIP_PX = 28; // a label so far below the pipe stays clear of what is taken hold of there
const OUTLETS = {
  daylight: "daylight",
  pop_up: "pop-up lid",
  curb: "curb",
  dry_well: "dry well",
  tie_in: "tie-in",
};

// Where things lie in the drawing: x(at), y(elevation) in pixels, and the stretch.
export function frameOf(plan, wide, tall) {
  const { at, ground, bottom } = plan.profile;
  const strings = plan.references.filter((line) => line.kind === "line");
  const levels = waterLine(plan)?.level ?? [];
  const high = Math.max(...ground, ...finishedOf(plan), ...plan.profile.top, ...strings.map((line) => line.elevation), ...levels);
  const low = Math.min(...bottom, ...ground, ...plan.crossings.map((crossing) => lowest(crossing, plan)), ...levels);
  const length = at.at(-1) + (ditchOf(plan) ?? 0);
  const roomWide = wide - EDGE.left - EDGE.right;
  const roomTall = tall - EDGE.top - EDGE.bottom;
  const stretch = exaggeration(length, high - low, roomWide, roomTall);
  const perUnit = roomWide / length;
  const drawn = Math.max((high - low) * perUnit * stretch, roomTall);
  const slack = (drawn - (high - low) * perUnit * stretch) / 2;
  return {
    wide,
    tall: drawn + EDGE.top + EDGE.bottom,
    stretch,
    high,
    low,
    strings,
    floor: EDGE.top + drawn,
    x: (distance) => EDGE.left + distance * perUnit,
    y: (elevation) => EDGE.top + slack + (high - elevation) * perUnit * stretch,
    level: (y) => high - (y - EDGE.top - slack) / (perUnit * stretch),
  };
}

// The water that stands at the outlet, from where it backs up to: {at, level}. Null where none is
// said to stand there, or so far off that it would flatten the drawing.
export function waterLine({ outlet, profile }) {
  if (!outlet.water) return null;
  const [high, low] = [Math.max(...profile.ground), Math.min(...profile.bottom)];
  const room = high - low;
  const { line } = outlet.water;
  return line.level.every((level) => level < high + room && level > low - room) ? line : null;
}

// The lowest part of a crossing.
function lowest({ at, top_depth: depth, size }, { profile, units }) {
  const i = profile.at.findIndex((distance) => Math.abs(distance - at) < 1e-5);
  return profile.ground[i] - (depth + size) / (units === "us" ? 12 : 1000);
}

export function drawProfile(plan, frame) {
  const { profile, units } = plan;
  const smallUnit = units === "us" ? 12 : 1000;
  const below = profile.invert.map((z) => z - plan.pipe.wall / smallUnit);
  const points = (levels) => profile.at.map((at, i) => [frame.x(at), frame.y(levels[i])]);
  const ground = points(profile.ground);
  const finished = points(finishedOf(plan));
  const floor = [
    [frame.x(profile.at.at(-1)), frame.floor + 8],
    [frame.x(0), frame.floor + 8],
  ];
  return [
    heights(plan, frame),
    area("soil", [...ground, ...floor]),
    area("trench", [...ground, ...points(profile.bottom).reverse()]),
    area("cover", [...finished, ...points(profile.top).reverse()]),
    area("fill", [...finished, ...ground.toReversed()]),
    drawThin(plan, frame),
    ...drawBorne(plan, frame),
    area("pipe", [...points(profile.top), ...points(below).reverse()]),
    path("trench-bottom", points(profile.bottom)),
    doubt(plan, points),
    path("ground", ground),
    plan.fills?.length > 0 && path("finished", finished),
    drawDitch(plan, frame),
    water(plan, frame),
    ...frame.strings.map((line) => drawString(line, frame)),
    sight(plan, frame),
    stations(plan, frame),
    grades(plan, frame),
    ends(plan, frame),
    ...plan.crossings.map((crossing) => drawCrossing(crossing, plan, frame)),
    pinch(plan, frame),
  ];
}

// The ground as it may be: one standard error of a reading either way.
function doubt({ profile, answer, units }, points) {
  if (!answer.reading_error) return null;
  const off = answer.reading_error / (units === "us" ? 12 : 1000);
  const upper = points(profile.ground.map((z) => z + off));
  const lower = points(profile.ground.map((z) => z - off));
  return area("doubt", [...upper, ...lower.reverse()]);
}

const corners = (points) => points.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L");
const path = (name, points) => svg("path", { class: name, d: `M${corners(points)}` });
const area = (name, points) => svg("path", { class: name, d: `M${corners(points)}Z` });
const line = (name, x1, y1, x2, y2) => svg("line", { class: name, x1, y1, x2, y2 });
const text = (name, x, y, words, anchor = "middle") => svg("text", { class: name, x, y, "text-anchor": anchor }, words);

// The water stands on beyond the outlet, where it comes from.
function water(plan, frame) {
  const standing = waterLine(plan);
  if (!standing) return null;
  const points = standing.at.map((at, i) => [frame.x(at), frame.y(standing.level[i])]);
  return path("water-line", [...points, [frame.wide - EDGE.right / 3, points.at(-1)[1]]]);
}

// Height lines, every round step, with their elevations.
function heights(plan, frame) {
  const strung = isStrung(plan);
  const step = roundStep(frame.high - frame.low, 4);
  const digits = Math.max(0, -Math.floor(Math.log10(step)));
  const marks = ticks(frame.low, frame.high, step).map((level) => {
    const y = frame.y(level);
    return [
      line("height", EDGE.left, y, frame.wide - EDGE.right, y),
      text("height-label", EDGE.left - 6, y + 4, strung ? under(level, digits) : plain(level, digits), "end"),
    ];
  });
  const name = unitOf("elevation", plan.units);
  const unit = text("height-label", 2, 12, strung ? `${name} below the string` : name, "start");
  return svg("g", null, marks, unit);
}

// A level under the string that levels count from, without a sign.
const under = (level, digits) => (plain(level, digits) === "0" ? "0" : level < 0 ? plain(-level, digits) : `${plain(level, digits)} above`);

function drawString({ from, to, elevation, name }, frame) {
  const y = frame.y(elevation);
  return svg(
    "g",
    null,
    line("string", frame.x(from), y, frame.x(to), y),
    text("string-label", (frame.x(from) + frame.x(to)) / 2, y - 5, name ? `string ${name}` : "level string"),
  );
}

// The instrument's line of sight lies far above the pipe: it is written at the upper edge, so
// that it does not flatten the drawing.
function sight({ references, units }, frame) {
  const lines = references.filter((one) => one.kind !== "line");
  if (!lines.length) return null;
  const digits = units === "us" ? 2 : 3;
  return svg(
    "g",
    null,
    lines.map(({ from, to, elevation }, i) => {
      const y = 6 + (i % 2) * 12;
      const [left, right] = [frame.x(from), Math.max(frame.x(to), frame.x(from) + 24)];
      return [
        line("string", left, y, right, y),
        text("string-label", (left + right) / 2, y + 12, `line of sight ${elevation.toFixed(digits)}, above the drawing`),
      ];
    }),
  );
}

// Each stretch of one grade, written along the pipe where there is room.
function grades({ grade_runs: runs, profile, way }, frame) {
  const bottomAt = (distance) => {
    const i = Math.max(
      1,
      profile.at.findIndex((at) => at >= distance - 1e-9),
    );
    const share = (distance - profile.at[i - 1]) / (profile.at[i] - profile.at[i - 1]);
    return profile.bottom[i - 1] + share * (profile.bottom[i] - profile.bottom[i - 1]);
  };
  return svg(
    "g",
    null,
    runs.map(({ from, to, percent }, i) => {
      const room = frame.x(to) - frame.x(from) - 6;
      const words = [gradeText(percent, way), gradeWords(percent, way)].find((text) => text.length * LETTER_PX <= room);
      const edges = i ? [line("grade-edge", frame.x(from), frame.y(bottomAt(from)) - 7, frame.x(from), frame.y(bottomAt(from)) + 7)] : [];
      if (!words) return edges;
      const middle = (from + to) / 2;
      return [...edges, text("grade-label", frame.x(middle), Math.min(frame.y(bottomAt(middle)) + GRIP_PX, frame.floor + 4), words)];
    }),
  );
}

// Something passed on the way, at its true height, named beside it.
function drawCrossing({ at, what, pass, top_depth: depth, size }, { profile, units }, frame) {
  const small = units === "us" ? 12 : 1000;
  const i = profile.at.findIndex((distance) => Math.abs(distance - at) < 1e-5);
  const top = profile.ground[i] - depth / small;
  const [x, y] = [frame.x(at), frame.y(top)];
  const tall = Math.max(frame.y(top - size / small) - y, 4);
  return svg(
    "g",
    null,
    svg("rect", { class: "crossing", x: x - 5, y, width: 10, height: tall }),
    text("crossing-label", x + 9, y + tall / 2 + 4, `${what}: pass ${pass}`, "start"),
  );
}

function stations(plan, frame) {
  const at = plan.profile.at;
  const levels = (station) => {
    const i = at.findIndex((distance) => Math.abs(distance - station.at) < 1e-5);
    return [frame.y(plan.profile.ground[i]), frame.y(plan.profile.bottom[i])];
  };
  const places = plan.stations.map((station) => frame.x(station.at));
  const { upstream, downstream } = plan.answer.pinch;
  const first = plan.stations.flatMap((s, i) => ([upstream, downstream].includes(s.at) ? [i] : []));
  const widest = Math.max(...plan.stations.map((station) => station.label.length));
  const named = new Set(spacedLabels(places, widest * LETTER_PX + 14, [0, places.length - 1, ...first]));
  return svg(
    "g",
    null,
    plan.stations.map((station, i) => {
      const [top, bottom] = levels(station);
      const x = places[i];
      return [
        line("station-line", x, top, x, bottom),
        line("tick", x, frame.floor + 8, x, frame.floor + (named.has(i) ? 14 : 11)),
        named.has(i) && text("station-label", x, frame.floor + 26, station.label),
        named.has(i) && text("dig-label", x, frame.floor + 40, digCell(station, plan.units).main),
      ];
    }),
    text("height-label", 0, frame.floor + 40, `dig ${unitOf("depth", plan.units)}`, "start"),
  );
}

function ends(plan, frame) {
  const right = ditchOf(plan) ? frame.x(plan.profile.at.at(-1)) + EDGE.right - 2 : frame.wide - 2;
  const words = `outlet: ${OUTLETS[plan.outlet.kind]}`;
  const left = right - words.length * LETTER_PX;
  const { at } = plan.profile;
  const ground = finishedOf(plan);
  const first = at.findIndex((distance) => frame.x(distance) >= left);
  const [a, b] = [at[Math.max(0, first - 1)], at[first]];
  const share = b > a ? (left - frame.x(a)) / (frame.x(b) - frame.x(a)) : 0;
  const edge = ground[Math.max(0, first - 1)] * (1 - share) + ground[first] * share;
  return svg(
    "g",
    null,
    text("end-label", frame.x(0), frame.y(ground[0]) - 9, "start"),
    text("end-label", right, frame.y(Math.max(edge, ...ground.slice(first))) - 9, words, "end"),
  );
}

// The two stations that set the answer; on a "no" also the gap by which the line misses there.
function pinch(plan, frame) {
  const { answer, profile } = plan;
  if (answer.spare === null) return null;
  const { upstream, downstream } = answer.pinch;
  const levelsAt = (distance) => {
    const i = profile.at.findIndex((at) => Math.abs(at - distance) < 1e-5);
    return { ground: profile.ground[i], bottom: profile.bottom[i] };
  };
  const flag = (distance) => {
    const { ground, bottom } = levelsAt(distance);
    const x = frame.x(distance);
    return line("pinch-line", x, frame.y(ground) - 4, x, frame.y(bottom) + 4);
  };
  const flags = [...new Set([upstream, downstream])].map(flag);
  if (answer.verdict !== "no") return svg("g", { class: "pinch" }, flags);
  const x = frame.x(downstream);
  const from = levelsAt(downstream).bottom;
  const to = from + gapOf(plan);
  const side = x > frame.wide / 2 ? -1 : 1;
  const [near, far] = [x + side * 5, x + side * 13];
  return svg(
    "g",
    { class: "pinch bad" },
    flags,
    path("gap", [
      [near, frame.y(from)],
      [far, frame.y(from)],
      [far, frame.y(to)],
      [near, frame.y(to)],
    ]),
    text(
      "gap-label",
      far + side * 5,
      (frame.y(from) + frame.y(to)) / 2 + 4,
      `${gapWords(answer.spare, plan.units)}`,
      side < 0 ? "end" : "start",
    ),
  );
}

// How far the drawn line would have to rise at the downstream station, in elevation units.
const gapOf = ({ answer, units }) => riseNeeded(answer) / (units === "us" ? 12 : 1000);

const gapWords = (spare, units) => `${plain(Math.abs(spare), units === "us" ? 1 : 0)} ${unitOf("depth", units)} short`;
