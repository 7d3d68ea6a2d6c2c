// The finer settings, folded away until they are wanted: how well the ground is known, a pipe's
// own sizes, how its ends may lie, how the grade may change.
import { GRADE_WAYS } from "../../model/units/grade.js";
import { byId, h } from "../dom.js";
import { optionsOf } from "../widgets/item_list.js";

export const ACCURACY = [
  ["", "the usual of this way to measure"],
  ["line_level", "string and line level"],
  ["water_level", "water level"],
  ["board_level", "board and spirit level"],
  ["builders_level", "builder's level"],
  ["rotary_laser", "rotary laser"],
  ["hand_level", "hand level"],
  ["lidar_ql0", "aerial lidar, quality level 0"],
  ["lidar_ql1", "aerial lidar, quality level 1"],
  ["lidar_ql2", "aerial lidar, quality level 2"],
  ["lidar_ql3", "aerial lidar, quality level 3"],
  ["own", "my own figure"],
];
export const BY_HAND = ACCURACY.filter(([name]) => name && name !== "own" && !name.startsWith("lidar_"));
const ON_GROUND = [
  ...ACCURACY.slice(0, -1),
  ["dense", "aerial lidar, 8 pulses a square meter or more"],
  ["usual", "aerial lidar as usually flown"],
  ["spec_only", "aerial lidar, only its specification known"],
  ...ACCURACY.slice(-1),
];
const LAWNS = [
  ["", "not known"],
  ["graded", "a graded lawn"],
  ["ordinary", "an ordinary lawn"],
  ["rough", "a rough lawn"],
  ["straight", "straight, as paving"],
];
export const AIMS = [
  ["least_fall", "as flat as allowed"],
  ["outlet_depth", "to meet the outlet"],
];
export const SHAPES = [
  ["", "as it comes: one straight grade, or one change if that must be"],
  ["straight", "at one straight grade, nothing else"],
  ["least_dig", "with changes of grade, least digging"],
];

export function buildFiner() {
  fill(
    "accuracy",
    "How well it is known",
    [
      choice("accuracy-instrument", "accuracy.instrument", "Accuracy of the readings", ON_GROUND),
      field("accuracy-sigma", "accuracy.sigma", "My own figure"),
      field("accuracy-common", "accuracy.common", "Shared by all readings"),
      choice("accuracy-lawn", "accuracy.lawn", "How even the ground is", LAWNS),
    ],
    "How far a reading is usually off (its standard error). What all share alike shifts every level and " +
      "cancels in a fall. Between readings a lawn has bumps and dips of its own: more where it is rough. From these comes the chance that the line works, and which reading to take again.",
  );
  fill(
    "pipe-sizes",
    "This pipe's own sizes",
    [
      field("pipe-outside", "pipe.outside", "Outside diameter"),
      field("pipe-inside", "pipe.inside", "Inside diameter"),
      field("pipe-wall", "pipe.wall", "Wall"),
      field("pipe-n", "pipe.n", "Roughness n"),
    ],
    "Corrugated pipe differs by maker: measure yours across the outside of the ridges. Roughness n says how " +
      "much the wall holds the water back: about 0.011 for smooth plastic, 0.022 for corrugated. Left empty, " +
      "the catalogue's value holds. ",
    h("span", { id: "pipe-source" }),
  );
  fill("ends-finer", "If the start may be raised, or the outlet has a best depth", [
    field("start-shallowest", "start.shallowest_cover", "Shallowest cover at the start"),
    field("outlet-prefer", "outlet.prefer", "Best level at the outlet"),
    choice("grade-aim", "grade.aim", "A straight grade is chosen", AIMS),
  ]);
  fill("grade-finer", "How grades are shown, changes of grade, thin cover at the ends, bedding, stations", [
    choice("grade-way", "grade.way", "Grades are shown in", GRADE_WAYS),
    choice("grade-shape", "grade.shape", "The pipe runs", SHAPES),
    field("max-breaks", "grade.max_breaks", "Changes of grade at most"),
    field("max-percent", "grade.max_percent", "Maximum grade"),
    field("fall-step", "grade.fall_step", "Round the whole fall up to", "A round step makes every mark easy to read."),
    field(
      "run-out-cover",
      "limits.run_out_cover",
      "Cover kept where it thins out",
      "Up to the last 10 ft (3 m). Empty: none, where you give its length.",
    ),
    field("run-in", "limits.run_in", "Cover may be less over the first", "Where the pipe leaves a shallow start."),
    field("run-in-cover", "limits.run_in_cover", "Cover kept on that first length"),
    field("bedding", "limits.bedding", "Bedding under the pipe", "Sand or stone that the pipe lies on."),
    field("trench-width", "limits.trench_width", "Width of the trench", null, "/limits/trench_width"),
    field(
      "every",
      "stations.every",
      "A station every",
      "A station is a place along the run: 0+26 is 26 from the start.",
      "/stations/every",
    ),
    field("station-list", "stations.at", "Further stations", "Separate with semicolons: 10; 22 1/2"),
  ]);
}

function fill(id, summary, fields, ...hint) {
  byId(id).append(
    h("summary", null, summary),
    h("div", { class: "pair" }, fields),
    ...(hint.length ? [h("p", { class: "hint" }, hint)] : []),
  );
}

// A field for one value; `usual` points at what an answer takes where it is left empty.
function field(id, path, label, hint, usual) {
  return h(
    "div",
    { class: "field" },
    h("label", { for: id }, label),
    h("input", { id, "data-path": path, "data-usual": usual }),
    hint && h("p", { class: "hint" }, hint),
  );
}

function choice(id, path, label, options) {
  return h("div", { class: "field" }, h("label", { for: id }, label), h("select", { id, "data-choice": path }, optionsOf(options)));
}
