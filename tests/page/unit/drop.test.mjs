// Ground by its drop alone, and by steps: what goes out, what is asked for, and what comes back.
import assert from "node:assert/strict";
import { test } from "node:test";
import { retakeWords } from "../../../frontend/model/changes/fixes.js";
import { pastedRows } from "../../../frontend/model/changes/paste.js";
import { blankDocument, inUnits, isDiggable, withChoice, withGround, withValue } from "../../../frontend/model/document/document.js";
import { nextRow } from "../../../frontend/model/document/tables.js";
import { buildRequest, pathOf } from "../../../frontend/model/request/request.js";
import { workedRows } from "../../../frontend/model/wording/reductions.js";

const BLANK = { id: "blank", route_crs: "local" };
const typed = (kind, values) =>
  Object.entries(values).reduce((plan, [path, value]) => withValue(plan, path, value), withGround(blankDocument(), kind));

test("it asks whose drop it is, then for the drop, then for the length", () => {
  let plan = typed("length_and_drop", {});
  const { waiting } = buildRequest(plan, BLANK);
  assert.match(waiting, /whose drop/);
  plan = withChoice(plan, "length_and_drop.of", "ground");
  assert.match(buildRequest(plan, BLANK).waiting, /Give the drop/);
  plan = withValue(plan, "length_and_drop.drop", "2 ft 2");
  assert.match(buildRequest(plan, BLANK).waiting, /length of the run/);
  const { body } = buildRequest(withValue(plan, "route.length", "80"), BLANK);
  assert.deepEqual(body.ground, { kind: "length_and_drop", of: "ground", drop: 26 });
});

test("half a hump is said to lack its other half, a whole one goes out", () => {
  const half = typed("length_and_drop", {
    "length_and_drop.of": "ground",
    "length_and_drop.drop": "26",
    "length_and_drop.hump_at": "30",
    "route.length": "80",
  });
  assert.deepEqual(
    buildRequest(half, BLANK).problems.map(({ path }) => path),
    ["length_and_drop.hump_height"],
  );
  const { body, places } = buildRequest(withValue(half, "length_and_drop.hump_height", "-2"), BLANK);
  assert.deepEqual(body.ground.hump, { at: 30, height: -2 });
  assert.equal(pathOf("/ground/hump/at", places), "length_and_drop.hump_at");
});

test("the pipe's own drop starts at an invert, ends in a drain, and has nothing to dig by", () => {
  const plan = withChoice(
    typed("length_and_drop", {
      "length_and_drop.drop": "12",
      "route.length": "86",
      "outlet.max": "9",
      "length_and_drop.hump_at": "3",
    }),
    "length_and_drop.of",
    "pipe",
  );
  const { body } = buildRequest(plan, BLANK);
  assert.deepEqual(body.start, { invert: 0 });
  assert.deepEqual(body.outlet, { kind: "tie_in" });
  assert.equal(body.ground.hump, undefined);
  assert.equal(isDiggable(plan), false);
  assert.equal(isDiggable(withGround(plan, "level_line")), true);
});

test("steps go out end to end, and the run is as long as they are together", () => {
  const plan = typed("steps", {
    "steps.rows.0.length": "8",
    "steps.rows.0.drop": "3 1/2",
    "steps.rows.1.length": "8",
    "steps.rows.1.drop": "-1",
    "steps.rows.2.length": "4.1",
    "steps.rows.2.drop": "2",
    "steps.reversed": "yes",
  });
  const { body } = buildRequest(plan, BLANK);
  assert.deepEqual(body.ground, {
    kind: "steps",
    reversed: true,
    steps: [
      { length: 8, drop: 3.5 },
      { length: 8, drop: -1 },
      { length: 4.1, drop: 2 },
    ],
  });
  assert.equal(body.route.length, 20.1);
  assert.deepEqual(
    workedRows(plan, "steps")
      .slice(0, 4)
      .map(({ below }) => below),
    ["3 1/2", "2 1/2", "4 1/2", ""],
  );
  assert.equal(workedRows(plan, "steps")[1].ends, "16");
  assert.equal(nextRow(plan, "steps").length, "");
  assert.equal(buildRequest(inUnits(plan, "si"), BLANK).body.ground.steps[0].drop, 88.9);
});

test("a new step is as long as the one before, and a pasted table keeps its columns", () => {
  const plan = typed("steps", { "steps.rows": [{ length: "6", drop: "2" }] });
  assert.deepEqual(nextRow(plan, "steps"), { length: "6", drop: "" });
  assert.deepEqual(pastedRows("Drop\tLength\n3\t8\n2\t8", "steps"), [
    { drop: "3", length: "8" },
    { drop: "2", length: "8" },
  ]);
});

test("a level that was never turned is told apart from readings to take again", () => {
  const retake = [
    { pointer: "/ground/reversed", at: 96, share: 0.6 },
    { pointer: "/ground/steps/2", at: 24, share: 0.1 },
  ];
  const words = retakeWords({ answer: { verdict: "too_close", retake }, units: "us" });
  assert.match(
    words,
    /^Turn the level end for end at every step: .* 60 % less doubt\. The readings that matter most, .*: 0\+24 \(10 % less\)\. Take/,
  );
  assert.equal(words.includes("0+96"), false);
});
