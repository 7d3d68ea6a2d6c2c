// Every part of a plan request that this page asks for in its form.
import assert from "node:assert/strict";
import { test } from "node:test";
import {
  blankDocument,
  completed,
  inUnits,
  OWN_PIPE,
  withChoice,
  withCrossing,
  withGround,
  withKnownPoint,
  withValue,
} from "../../../frontend/model/document/document.js";
import { withBranch, withoutBranch } from "../../../frontend/model/document/line_items.js";
import { isOutOfOrder, misplacedReadings, readingsInPlace, rowsInOrder } from "../../../frontend/model/document/tables.js";
import { buildRequest, pathOf } from "../../../frontend/model/request/request.js";

const BLANK = { id: "blank", route_crs: "local" };
const READINGS = {
  "level_line.rows.0.at": "0",
  "level_line.rows.0.down": "9",
  "level_line.rows.1.at": "13",
  "level_line.rows.1.down": "10 1/2",
};
const planOf = (values, start = blankDocument()) =>
  Object.entries(values).reduce((plan, [path, value]) => withValue(plan, path, value), start);

test("a pipe of one's own goes by its measures, and says which are missing", () => {
  const plan = withChoice(planOf(READINGS), "pipe.code", OWN_PIPE);
  const { body, problems } = buildRequest(plan, BLANK);
  assert.equal(body, null);
  assert.deepEqual(
    problems.map(({ path }) => path),
    ["pipe.outside", "pipe.inside", "pipe.n"],
  );
  const own = planOf({ "pipe.outside": "4 1/2", "pipe.inside": "4", "pipe.n": "0.011" }, plan);
  assert.deepEqual(buildRequest(own, BLANK).body.pipe, { outside: 4.5, inside: 4, n: 0.011 });
});

test("sizes typed for one pipe do not stay with another", () => {
  const plan = withChoice(planOf({ "pipe.outside": "5" }), "pipe.code", "pvc-sch40-4");
  assert.deepEqual(plan.pipe, { code: "pvc-sch40-4", outside: "", inside: "", wall: "", n: "" });
});

test("a way of digging takes the place of a greatest depth", () => {
  const plan = withChoice(planOf(READINGS), "limits.dig_by", "trencher_24");
  assert.deepEqual(buildRequest(plan, BLANK).body.limits, { dig_by: "trencher_24" });
});

test("what all readings share goes beside one's own accuracy", () => {
  const plan = planOf({ ...READINGS, "accuracy.instrument": "own", "accuracy.sigma": "1/4", "accuracy.common": "1/2" });
  assert.deepEqual(buildRequest(plan, BLANK).body.accuracy, { sigma: 0.25, common: 0.5 });
});

test("a level book may close on another known point", () => {
  const shots = [
    ["BS", "", "4.1"],
    ["IS", "0", "4.9"],
    ["IS", "20", "5.2"],
    ["FS", "", "3.1"],
  ];
  const rows = Object.fromEntries(
    shots.flatMap(([sight, at, rod], i) =>
      [
        ["sight", sight],
        ["at", at],
        ["rod", rod],
      ].map(([name, value]) => [`rod.rows.${i}.${name}`, value]),
    ),
  );
  const twice = withKnownPoint(withKnownPoint(withKnownPoint(withGround(blankDocument(), "rod"))));
  const plan = planOf(
    {
      ...rows,
      "known.rows.0.name": "B2",
      "known.rows.0.elevation": "101",
      "known.rows.1.name": "unfinished",
      "known.rows.2.name": "B3",
      "known.rows.2.elevation": "102 1/2",
      "rod.distance": "200",
    },
    twice,
  );
  const {
    body: { ground },
    places,
  } = buildRequest(plan, BLANK);
  assert.deepEqual(ground.known, [
    { name: "B2", elevation: 101 },
    { name: "B3", elevation: 102.5 },
  ]);
  assert.equal(pathOf("/ground/known/1/elevation", places), "known.rows.2.elevation");
  assert.equal(ground.distance, 200);
});

test("a plan kept by an earlier page is completed, and its one known point kept", () => {
  const { known: _, supply, ...kept } = blankDocument();
  const earlier = {
    ...kept,
    rod: { ...kept.rod, known: { name: "B2", elevation: "101" } },
    branches: { rows: [{ key: "b1", name: "A", into: "" }] },
    crossings: { rows: [{ at: "5" }] },
  };
  const plan = completed(earlier);
  assert.deepEqual(plan.known.rows, [{ name: "B2", elevation: "101" }]);
  assert.equal(plan.rod.known, undefined);
  assert.deepEqual(plan.supply, supply);
  assert.equal(plan.crossings.rows[0].on, "");
  assert.deepEqual([plan.branches.rows[0].shape, plan.branches.rows[0].ground], ["", ""]);
  assert.deepEqual(completed(plan), plan);
});

test("rows can be put in the order of the run, those without a station last", () => {
  const plan = planOf({ ...READINGS, "level_line.rows.0.at": "39", "level_line.rows.2.down": "7" });
  assert.equal(isOutOfOrder(plan, "level_line"), true);
  const sorted = rowsInOrder(plan, "level_line");
  assert.deepEqual(
    sorted.level_line.rows.map((row) => row.at),
    ["13", "39", "", "", ""],
  );
  assert.equal(sorted.level_line.rows[2].down, "7");
  assert.equal(isOutOfOrder(sorted, "level_line"), false);
});

test("a branch starts by an invert, has its own crossings, and its choices put away what they replace", () => {
  let { plan } = withBranch(planOf({ ...READINGS, "start.by": "invert", "start.value": "-1.5" }), "taped");
  assert.deepEqual([plan.branches.rows[0].start_by, plan.branches.rows[0].start_value], ["invert", ""]);
  const typed = {
    "branches.rows.0.joins_at": "10",
    "branches.rows.0.start_value": "-1.25",
    "branch_readings.rows.0.down": "8",
    "branch_readings.rows.1.at": "9",
    "branch_readings.rows.1.down": "10",
    "branches.rows.0.outside": "3.4",
  };
  plan = planOf(typed, withCrossing(withCrossing(plan, { at: "4", on: "b1" }), { at: "6" }));
  plan = planOf({ "crossings.rows.0.top_depth": "20", "crossings.rows.1.top_depth": "30" }, plan);
  const { body, places } = buildRequest(plan, BLANK);
  assert.deepEqual(body.branches[0].start, { invert: -1.25 });
  assert.deepEqual([body.crossings.length, body.branches[0].crossings.map(({ at }) => at)], [1, [4]]);
  assert.equal(pathOf("/branches/0/crossings/0/top_depth", places), "crossings.rows.0.top_depth");
  assert.equal(body.branches[0].pipe.outside, 3.4);
  assert.equal(buildRequest(withChoice(plan, "branches.rows.0.pipe", "pvc-sch40-3"), BLANK).body.branches[0].pipe.outside, undefined);
  const metric = inUnits(plan, "si").branches.rows[0];
  assert.equal(metric.start_value.shown, "-0.381"); // 1.25 ft × 0.3048: an elevation in m, not a depth in mm
  const book = withChoice(plan, "branches.rows.0.ground", "rod");
  assert.deepEqual(
    book.branch_shots.rows.map(({ branch, sight }) => [branch, sight]),
    [
      ["b1", "BS"],
      ["b1", "IS"],
      ["b1", "IS"],
    ],
  );
  assert.deepEqual(withoutBranch(book, "b1").branch_shots.rows, []);
  assert.deepEqual(
    withoutBranch(book, "b1").crossings.rows.map(({ at }) => at),
    ["6"],
  );
});

test("readings typed as stations are known by their not growing, and go to their column", () => {
  const typed = (at, down = {}) => ({
    ...blankDocument("us"),
    level_line: { rows: at.map((value, i) => ({ at: value, down: down[i] ?? "", line: "" })) },
  });
  assert.equal(misplacedReadings(typed(["9", "10 1/2", "9.5", "14", "22"]), "level_line"), "down");
  assert.equal(misplacedReadings(typed(["0", "13", "26"]), "level_line"), null); // stations, their readings to come
  assert.equal(misplacedReadings(typed(["0", "13", "10"], { 0: "9" }), "level_line"), null); // rows out of order
  assert.equal(misplacedReadings(typed(["9"]), "level_line"), null);
  const { rows } = readingsInPlace(typed(["9", "10 1/2", "9.5"]), "level_line").level_line;
  assert.deepEqual(
    rows.map(({ at, down }) => [at, down]),
    [
      ["0", "9"],
      ["", "10 1/2"],
      ["", "9.5"],
    ],
  );
});
