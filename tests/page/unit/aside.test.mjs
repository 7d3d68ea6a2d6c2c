// What lies along a line stays with the base that the line is drawn on.
import assert from "node:assert/strict";
import { test } from "node:test";
import { blankDocument, inUnits, withCrossing, withLine } from "../../../frontend/model/document/document.js";
import { onBase, partedFrom } from "../../../frontend/model/document/shapes.js";

const LINE = [
  [0, 0],
  [0, 30],
];
const drawn = () => {
  const blank = blankDocument("us");
  const plan = withLine({ ...blank, base: "old", route: { ...blank.route, kind: "drawn", tape_length: "112" } }, LINE);
  return withCrossing(plan, { at: "90" });
};
const over = (plan, base) => partedFrom(plan, onBase(plan, base, null));

test("a new line on another base begins without what the old one passes", () => {
  const next = over(drawn(), "new");
  assert.deepEqual(next.crossings.rows, []);
  assert.equal(next.route.tape_length, "");
  assert.deepEqual(next.lines.old, LINE);
});

test("back on the old base it is all there again, in the units of now", () => {
  const plan = drawn();
  const there = inUnits(withLine(over(plan, "new"), LINE), "si");
  const back = over(there, "old");
  assert.equal(inUnits(back, "us").crossings.rows[0].at, "90");
  assert.deepEqual(over(inUnits(back, "us"), "new").crossings.rows, []);
});

test("what was typed for a taped run is not a base's", () => {
  const plan = drawn();
  const taped = { ...plan, route: { ...plan.route, kind: "taped" } };
  assert.equal(over(taped, "new").crossings.rows.length, 1);
});
