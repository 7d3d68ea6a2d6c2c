// Every part of a plan request that this page asks for in its form.
import assert from "node:assert/strict";
import { test } from "node:test";
import { blankDocument, completed, OWN_PIPE, withChoice, withGround, withValue } from "../../../frontend/sums/document.js";
import { isOutOfOrder, rowsInOrder } from "../../../frontend/sums/sheet.js";
import { buildRequest } from "../../../frontend/sums/request.js";

const BLANK = { id: "blank", route_crs: "local" };
const READINGS = { "level_line.rows.0.at": "0", "level_line.rows.0.down": "9", "level_line.rows.1.at": "13", "level_line.rows.1.down": "10 1/2" };
const planOf = (values, start = blankDocument()) =>
  Object.entries(values).reduce((plan, [path, value]) => withValue(plan, path, value), start);

test("a pipe of one's own goes by its measures, and says which are missing", () => {
  const plan = withChoice(planOf(READINGS), "pipe.code", OWN_PIPE);
  const { body, problems } = buildRequest(plan, BLANK);
  assert.equal(body, null);
  assert.deepEqual(problems.map(({ path }) => path), ["pipe.outside", "pipe.inside", "pipe.n"]);
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
  const shots = [["BS", "", "4.1"], ["IS", "0", "4.9"], ["IS", "20", "5.2"], ["FS", "", "3.1"]];
  const rows = Object.fromEntries(shots.flatMap(([sight, at, rod], i) =>
    [["sight", sight], ["at", at], ["rod", rod]].map(([name, value]) => [`rod.rows.${i}.${name}`, value])));
  const plan = planOf({ ...rows, "rod.known.name": "B2", "rod.known.elevation": "101", "rod.distance": "200" },
    withGround(blankDocument(), "rod"));
  const { ground } = buildRequest(plan, BLANK).body;
  assert.deepEqual(ground.known, [{ name: "B2", elevation: 101 }]);
  assert.equal(ground.distance, 200);
});

test("a plan kept by an earlier page is completed", () => {
  const { rod: { known, ...rod }, ...kept } = blankDocument();
  const plan = completed({ ...kept, rod });
  assert.deepEqual(plan.rod.known, known);
});

test("rows can be put in the order of the run, those without a station last", () => {
  const plan = planOf({ ...READINGS, "level_line.rows.0.at": "39", "level_line.rows.2.down": "7" });
  assert.equal(isOutOfOrder(plan, "level_line"), true);
  const sorted = rowsInOrder(plan, "level_line");
  assert.deepEqual(sorted.level_line.rows.map((row) => row.at), ["13", "39", "", "", ""]);
  assert.equal(sorted.level_line.rows[2].down, "7");
  assert.equal(isOutOfOrder(sorted, "level_line"), false);
});
