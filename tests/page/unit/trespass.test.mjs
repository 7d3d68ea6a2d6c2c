// Where a drawn pipe lies in an area to keep out of, or outside the lot.
import assert from "node:assert/strict";
import { test } from "node:test";
import { blankDocument, withLine } from "../../../frontend/model/document/document.js";
import { withPoints, withShape } from "../../../frontend/model/document/shapes.js";
import { planeOf } from "../../../frontend/model/geometry/polyline.js";
import { partsOf, within } from "../../../frontend/model/geometry/rings.js";
import { trespassWords } from "../../../frontend/model/wording/trespass.js";

const PLANE = planeOf({ origin: [0, 0], metres_per_unit: [1, 1] });
const BOX = [
  [0, 0],
  [10, 0],
  [10, 10],
  [0, 10],
];
const NOTCHED = [
  [0, 0],
  [30, 0],
  [30, 10],
  [20, 10],
  [20, 4],
  [10, 4],
  [10, 10],
  [0, 10],
];

const drawn = (line) => withLine({ ...blankDocument("si"), route: { kind: "drawn", length: "", tape_length: "" } }, line);

function withArea(plan, ring) {
  const made = withShape(plan, "avoid");
  return withPoints(made.plan, made.id, ring);
}

test("a point in a ring, also in one with a notch", () => {
  assert.ok(within(BOX, [5, 5]));
  assert.ok(!within(BOX, [11, 5]));
  assert.ok(within(NOTCHED, [5, 8]) && within(NOTCHED, [25, 8]));
  assert.ok(!within(NOTCHED, [15, 8]));
});

test("the parts of a line inside and outside a ring", () => {
  assert.deepEqual(
    partsOf(
      [
        [-5, 5],
        [15, 5],
      ],
      BOX,
      true,
    ),
    [[5, 15]],
  );
  assert.deepEqual(
    partsOf(
      [
        [-5, 5],
        [15, 5],
      ],
      BOX,
      false,
    ),
    [
      [0, 5],
      [15, 20],
    ],
  );
  assert.deepEqual(
    partsOf(
      [
        [5, 8],
        [25, 8],
      ],
      NOTCHED,
      false,
    ),
    [[5, 15]],
  );
  assert.deepEqual(
    partsOf(
      [
        [2, 2],
        [8, 2],
        [8, 8],
      ],
      BOX,
      true,
    ),
    [[0, 12]],
  );
});

test("what only touches a ring does not lie in it", () => {
  assert.deepEqual(
    partsOf(
      [
        [-5, 10],
        [15, 10],
      ],
      BOX,
      true,
    ),
    [],
  );
  assert.deepEqual(
    partsOf(
      [
        [5, 5],
        [10.1, 5],
      ],
      BOX,
      false,
    ),
    [],
  );
});

test("a line through an area, and one that leaves the lot, are told with their stations", () => {
  const plan = withArea(
    drawn([
      [0, 5],
      [30, 5],
    ]),
    [
      [12, 0],
      [18, 0],
      [18, 10],
      [12, 10],
    ],
  );
  assert.deepEqual(trespassWords(plan, PLANE), [
    "The main line runs through Area 1, which it must keep out of: 0+012 to 0+018. Move the line or the outline, or add it as a crossing if a pipe may pass it.",
  ]);
  const lot = withPoints(
    drawn([
      [0, 5],
      [30, 5],
    ]),
    "lot",
    [
      [-5, -5],
      [20, -5],
      [20, 15],
      [-5, 15],
    ],
  );
  assert.deepEqual(trespassWords(lot, PLANE), ["The main line leaves your lot: 0+020 to 0+030. Move the line or the outline."]);
  assert.deepEqual(
    trespassWords(
      drawn([
        [0, 5],
        [30, 5],
      ]),
      PLANE,
    ),
    [],
  );
  assert.deepEqual(trespassWords({ ...plan, route: { ...plan.route, kind: "taped" } }, PLANE), []);
});

test("where a crossing is stated beside what is drawn, the line is not told to move", () => {
  const area = (from, to) =>
    withArea(
      drawn([
        [0, 5],
        [30, 5],
      ]),
      [
        [from, 0],
        [to, 0],
        [to, 10],
        [from, 10],
      ],
    );
  const row = { on: "", at: "10.9", what: "gas line", top_depth: "600", size: "50", clearance: "300", pass: "over", exposed: "yes" };
  const stated = (plan, change = {}) => ({ ...plan, crossings: { ...plan.crossings, rows: [{ ...row, ...change }] } });
  const strip = area(10.2, 10.5);
  assert.deepEqual(trespassWords(stated(strip), PLANE), [
    "Area 1, 0+010.2 to 0+010.5: taken for the crossing stated at 0+010.9 (gas line).",
  ]);
  assert.match(trespassWords(stated(strip, { at: "12" }), PLANE)[0], /Move the line or the outline, or add it as a crossing/);
  assert.doesNotMatch(trespassWords(stated(strip, { at: "12", clearance: "1900" }), PLANE)[0], /Move the line/);
  assert.match(trespassWords(stated(strip, { on: "other" }), PLANE)[0], /Move the line/);
  // what reaches further than the crossing is more than what is crossed there
  assert.match(trespassWords(stated(area(10.2, 18)), PLANE)[0], /Move the line/);
});
