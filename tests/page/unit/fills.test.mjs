// Soil to lay: typed, asked for, taken from a fix, and drawn as a second line of the ground.
import assert from "node:assert/strict";
import { test } from "node:test";
import { withFix } from "../../../frontend/model/changes/fixes.js";
import { blankDocument, inUnits, withValue } from "../../../frontend/model/document/document.js";
import { withFill } from "../../../frontend/model/document/line_items.js";
import { profileChange } from "../../../frontend/model/geometry/profile_change.js";
import { buildRequest, pathOf } from "../../../frontend/model/request/request.js";
import { soilWords } from "../../../frontend/view/answer/bill.js";

const BASE = { id: "blank", route_crs: "local", origin: [0, 0], metres_per_unit: [1, 1] };
const typed = (plan, entries) => Object.entries(entries).reduce((now, [path, entry]) => withValue(now, path, entry), plan);

const readings = {
  "level_line.rows.0.at": "0",
  "level_line.rows.0.down": "9",
  "level_line.rows.1.at": "52",
  "level_line.rows.1.down": "22",
};
const first = { "fills.rows.0.to": "20'", "fills.rows.0.depth": "4 1/2" };

test("soil to lay is asked for as typed; an unfinished row is left out", () => {
  const plan = typed(withFill(withFill(typed(blankDocument(), readings))), first);
  const { body, places } = buildRequest(plan, BASE);
  assert.deepEqual(body.fills, [{ from: 0, to: 20, depth: 4.5 }]);
  assert.equal(pathOf("/fills/0/depth", places), "fills.rows.0.depth");
});

test("in the other units it is the same soil", () => {
  const plan = inUnits(typed(withFill(typed(blankDocument(), readings)), first), "si");
  const [fill] = buildRequest(plan, BASE).body.fills;
  assert.ok(Math.abs(fill.to - 6.096) < 1e-9 && Math.abs(fill.depth - 114.3) < 1e-6);
});

test("a fix lays one more; what was typed stays as it was, on branches too", () => {
  const laid = typed(withFill(typed(blankDocument(), readings)), first);
  const plan = { ...laid, fills: { rows: [...laid.fills.rows, { ...laid.fills.rows[0], on: "b1", depth: "2" }] } };
  const more = { from: 30, full_from: 35, full_to: 36, to: 41, depth: 1.25 };
  const fix = { change: "soil_dip", patch: { fills: [{ from: 0, to: 20, depth: 4.5 }, more] } };
  const { rows } = withFix(plan, fix, {}).fills;
  assert.deepEqual(rows.slice(0, 2), plan.fills.rows);
  assert.deepEqual(rows[2], { on: "", from: "30", to: "41", depth: "1.25", full_from: "35", full_to: "36", width: "" });
  const ended = { change: "end_at", patch: { fills: [] } };
  assert.deepEqual(withFix(plan, ended, {}).fills.rows, [plan.fills.rows[1]]);
});

test("a change that lays soil shows the ground as it was beside the finished ground", () => {
  const profile = { at: [0, 20], ground: [100, 99], bottom: [99, 98], finished: [] };
  const plan = (part) => ({ units: "us", profile: { ...profile, ...part }, start: { dig_depth: 12 }, outlet: { dig_depth: 12 } });
  const change = profileChange(plan({}), plan({ finished: [100.5, 99] }));
  assert.ok(change.groundAfter[0][1] < change.ground[0][1]);
  assert.equal(profileChange(plan({}), plan({})).groundAfter, null);
});

test("soil in place is told apart from what it takes loose", () => {
  assert.equal(
    soilWords({ volume: 1.3, from_spoil: 0.32, bring: 1.31 }, "cu yd"),
    "1.3 cu yd in place. Loose, that takes 0.32 cu yd from the trench and 1.31 cu yd to bring",
  );
});
