// Lines on the plane, scales of the drawing and pasted rows.
import assert from "node:assert/strict";
import { test } from "node:test";
import { pastedRows } from "../../../frontend/model/changes/paste.js";
import {
  bearing,
  cutAt,
  distances,
  inserted,
  lineLength,
  moved,
  offset,
  planeOf,
  pointAt,
  removed,
  withLeg,
} from "../../../frontend/model/geometry/polyline.js";
import { exaggeration, roundStep, spacedLabels, ticks } from "../../../frontend/model/units/axis_scale.js";
import { stationLabel } from "../../../frontend/model/units/units.js";

const near = (a, b) => assert.ok(Math.hypot(a[0] - b[0], a[1] - b[1]) < 1e-9, `${a} is not ${b}`);

test("bearings are clockwise from north", () => {
  assert.equal(bearing([0, 0], [0, 1]), 0);
  assert.equal(bearing([0, 0], [1, 0]), 90);
  assert.equal(bearing([0, 0], [0, -1]), 180);
  assert.equal(bearing([0, 0], [-1, 0]), 270);
  near(offset([1, 1], 90, 2), [3, 1]);
});

test("a 3-4-5 line: lengths, points along it, cuts", () => {
  const line = [
    [0, 0],
    [3, 4],
    [3, 10],
  ];
  assert.deepEqual(distances(line), [0, 5, 11]);
  assert.equal(lineLength(line), 11);
  assert.equal(lineLength([]), 0);
  near(pointAt(line, 2.5), [1.5, 2]);
  near(pointAt(line, 99), [3, 10]);
  near(pointAt(line, 0), [0, 0]);
  assert.deepEqual(cutAt(line, 8), [
    [0, 0],
    [3, 4],
    [3, 7],
  ]);
});

test("points move, come and go; a changed leg carries what follows along", () => {
  const line = [
    [0, 0],
    [0, 10],
    [0, 20],
  ];
  assert.deepEqual(moved(line, 1, [1, 1])[1], [1, 1]);
  assert.deepEqual(inserted(line, 1, [0, 5]).length, 4);
  assert.deepEqual(removed(line, 1), [
    [0, 0],
    [0, 20],
  ]);
  const turned = withLeg(line, 1, 90, 5);
  near(turned[1], [5, 0]);
  near(turned[2], [5, 10]);
});

test("a base's plane goes to metres and back", () => {
  const plane = planeOf({ origin: [1000, 2000], metres_per_unit: [0.3048, 0.3048] });
  near(plane.toMetres([1010, 2000]), [3.048, 0]);
  near(plane.fromMetres(plane.toMetres([1234.5, 2345.6])), [1234.5, 2345.6]);
});

test("the stretch is the largest round one that fits", () => {
  assert.equal(exaggeration(100, 10, 1000, 200), 2);
  assert.equal(exaggeration(100, 10, 1000, 299), 2);
  assert.equal(exaggeration(100, 10, 1000, 300), 3);
  assert.equal(exaggeration(100, 0, 1000, 300), 1);
  assert.ok(exaggeration(10, 100, 1000, 100) < 1);
});

test("steps are round and ticks are their multiples", () => {
  assert.equal(roundStep(10, 5), 2);
  assert.equal(roundStep(0.9, 4), 0.5);
  assert.deepEqual(ticks(-1, 4, 2), [0, 2, 4]);
});

test("labels never overlap and the first ones asked for always stand", () => {
  assert.deepEqual(spacedLabels([0, 10, 20, 100], 15, [1]), [1, 3]);
  assert.deepEqual(spacedLabels([0, 50, 100], 15), [0, 1, 2]);
});

test("stations are labelled as the planner labels them", () => {
  assert.equal(stationLabel(13, "us"), "0+13");
  assert.equal(stationLabel(107.71, "us"), "1+07.71");
  assert.equal(stationLabel(3, "us"), "0+03");
  assert.equal(stationLabel(13.5, "si"), "0+013.5");
  assert.equal(stationLabel(1004, "si"), "1+004");
});

test("rows come out of a spreadsheet, a CSV file and a note", () => {
  const rows = [
    { at: "0", down: "9" },
    { at: "13", down: "10 1/2" },
  ];
  assert.deepEqual(pastedRows("0\t9\n13\t10 1/2\n", "level_line"), rows);
  assert.deepEqual(pastedRows("Station (ft),Down (in)\r\n0,9\r\n13,10 1/2\r\n", "level_line"), rows);
  assert.deepEqual(pastedRows("0 9\n13 10 1/2", "level_line"), rows);
  assert.deepEqual(pastedRows("0;9\n13;10 1/2", "level_line"), rows);
  assert.deepEqual(pastedRows("0   9\n13   10 1/2", "level_line"), rows);
});

test("columns are found by their headings in any order", () => {
  const [row] = pastedRows("String\tReading\tNote\tStation\nA\t9\tby the tree\t0+13", "level_line");
  assert.deepEqual(row, { line: "A", down: "9", at: "0+13" });
});

test("one bare value is not a table", () => {
  assert.equal(pastedRows("9 1/2", "level_line"), null);
  assert.equal(pastedRows("9", "level_line"), null);
});

test("a book with a column for each sight keeps its order at a turning point", () => {
  const rows = pastedRows("Point\tBS\tIS\tFS\nBM\t4.1\t\t\nA\t\t4.9\t\nTP\t3.2\t\t5.6", "rod");
  assert.deepEqual(
    rows.map(({ sight, rod, on }) => [sight, rod, on]),
    [
      ["BS", "4.1", "BM"],
      ["IS", "4.9", "A"],
      ["FS", "5.6", "TP"],
      ["BS", "3.2", "TP"],
    ],
  );
  assert.deepEqual(
    pastedRows("bs\t\t4.1\nIS\t0\t4.9", "rod").map((row) => row.sight),
    ["BS", "IS"],
  );
});
