// An old pipe: what is typed as a request, and the answer as words and shapes.
import assert from "node:assert/strict";
import { test } from "node:test";
import { pastedRows } from "../../../frontend/model/changes/paste.js";
import { blankDocument, completed, inUnits, valueAt, withValue } from "../../../frontend/model/document/document.js";
import { pipeCheckRequest, pointWords, WAYS, waterShapes } from "../../../frontend/model/request/old_pipe.js";
import { pathOf } from "../../../frontend/model/request/request.js";
import { textOf } from "../../../frontend/model/units/entry.js";

const typed = (by, rows, more = {}) => {
  let plan = blankDocument("us");
  for (const [name, value] of Object.entries({ by, ...more })) plan = withValue(plan, `old_pipe.${name}`, value);
  rows.forEach((row, i) => {
    for (const [name, text] of Object.entries(row)) plan = withValue(plan, `old_points.rows.${i}.${name}`, text);
  });
  return plan;
};
const THREE = [
  { at: "0", down: "20" },
  { at: "15", down: "22 1/2" },
  { at: "30", down: "26.5", on: "pipe_top" },
];

test("points read from a string go out in the plan's units, with what stands beside them", () => {
  const more = { pipe: "pvc-drain-4", instrument: "own", sigma: "1/4", min_percent: "0.5", hold: "end" };
  assert.deepEqual(pipeCheckRequest(typed("down", THREE, more)).body, {
    units: "us",
    points: [
      { at: 0, down: 20 },
      { at: 15, down: 22.5 },
      { at: 30, down: 26.5, on: "pipe_top", fixed: true },
    ],
    pipe: { code: "pvc-drain-4" },
    grade: { min_percent: 0.5 },
    accuracy: { sigma: 0.25 },
  });
  const bare = pipeCheckRequest(typed("down", THREE, { instrument: "water_level" })).body;
  assert.deepEqual(Object.keys(bare), ["units", "points", "accuracy"]);
  assert.deepEqual(bare.accuracy, { instrument: "water_level" });
});

test("each way sends its own columns alone", () => {
  const row = { invert: "10", ground: "12", depth: "24", down: "5", rod: "4.4", on: "" };
  for (const [by, { columns }] of Object.entries(WAYS)) {
    const { body } = pipeCheckRequest(
      typed(by, [
        { at: "0", ...row },
        { at: "9", ...row },
      ]),
    );
    assert.deepEqual(
      Object.keys(body.points[0]),
      columns.filter((name) => name !== "on"),
    );
  }
});

test("a point half typed is left out and told, and two are needed", () => {
  const { body, begun, problems } = pipeCheckRequest(typed("down", [...THREE, { at: "45" }]));
  assert.equal(body.points.length, 3);
  assert.deepEqual(
    begun.map(({ path }) => path),
    ["old_points.rows.3"],
  );
  assert.equal(problems.length, 0);
  assert.equal(pipeCheckRequest(typed("down", THREE.slice(0, 1))).body, null);
  assert.equal(pipeCheckRequest(blankDocument()).body, null);
});

test("what cannot be read is told at its field, and so is a refusal", () => {
  const wrong = pipeCheckRequest(typed("down", [...THREE, { at: "x", down: "1" }]));
  assert.equal(wrong.body, null);
  assert.deepEqual(
    wrong.problems.map(({ path }) => path),
    ["old_points.rows.3.at"],
  );
  const { places } = pipeCheckRequest(typed("down", [{}, ...THREE]));
  assert.equal(pathOf("/points/1/at", places), "old_points.rows.2.at");
  assert.equal(pathOf("/pipe", places), "old_pipe.pipe");
  assert.equal(pathOf("/accuracy/sigma", places), "old_pipe.sigma");
});

test("units switch to and fro, and a plan kept before there were old pipes opens", () => {
  const plan = typed("down", THREE, { sigma: "1/4" });
  const metric = inUnits(plan, "si");
  assert.equal(textOf(valueAt(metric, "old_points.rows.0.down")), "508");
  assert.equal(pipeCheckRequest(metric).body.points[1].down, 571.5);
  assert.deepEqual(inUnits(metric, "us"), plan);
  const { old_pipe: _, old_points: __, ...before } = blankDocument("si");
  assert.deepEqual(completed(before), blankDocument("si"));
});

test("rows of a spreadsheet go to the columns that stand there", () => {
  const names = ["at", "ground", "depth"];
  assert.deepEqual(pastedRows("0\t100\t24\n9\t99\t20", "old_points", names)[1], { at: "9", ground: "99", depth: "20" });
  assert.deepEqual(pastedRows("Depth\tStation\n24\t0\n20\t9", "old_points", names)[0], { depth: "24", at: "0" });
});

const ANSWER = {
  units: "us",
  points: [
    [0, 10, 2, 0, 0],
    [10, 9, -0.5, 1.2, 1.2],
    [20, 9.1, 3, 0, -0.1],
    [30, 8, null, 0, 0],
  ].map(([at, invert, percent, water, move]) => ({ at, label: `0+${at}`, invert, grade_percent: percent, standing_water: water, move })),
  stretches: [
    { falls_back: false, under_least: false },
    { falls_back: true, under_least: true },
    { falls_back: false, under_least: true },
  ],
  standing_water: [{ from: 9, to: 20, held_by: 20 }],
  least_moves: {
    moves: [
      { at: 10, mark: "1 1/4 in" },
      { at: 20, mark: "1/8 in" },
    ],
  },
};

test("each point in words", () => {
  const words = pointWords(ANSWER);
  assert.deepEqual(words[1], { label: "0+10", invert: "9", grade: "-0.5\u00a0%", state: "back", water: "1.2 in", move: "lift 1 1/4 in" });
  assert.deepEqual(
    words.map(({ state }) => state),
    ["", "back", "flat", ""],
  );
  assert.deepEqual([words[2].move, words[3].grade, words[3].move], ["lower 1/8 in", "", ""]);
});

test("water lies level between its edge and what holds it", () => {
  assert.deepEqual(waterShapes(ANSWER), [
    [
      [9, 9.1],
      [20, 9.1],
      [10, 9],
    ],
  ]);
});
