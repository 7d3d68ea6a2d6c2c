// What is drawn of an answer: the outlet to scale, a change before and after, words while readings come in.
import assert from "node:assert/strict";
import { test } from "node:test";
import { blankDocument, withValue } from "../../../frontend/model/document/document.js";
import { outletScene } from "../../../frontend/model/geometry/outlet_scene.js";
import { profileChange } from "../../../frontend/model/geometry/profile_change.js";
import { rowsOf } from "../../../frontend/model/request/alternatives.js";
import { buildRequest } from "../../../frontend/model/request/request.js";
import { soFar, toldSoFar } from "../../../frontend/model/request/so_far.js";

// A run of 50 ft whose ground falls 1 ft; a 4.6 in pipe starts 14.6 in and ends 10.6 in deep.
function answered(more = {}) {
  return {
    units: "us",
    length: 50,
    ground_known: true,
    pipe: { outside: 4.6, inside: 4, wall: 0.3 },
    grade_runs: [{ percent: 1.333 }],
    profile: { at: [0, 50], ground: [100, 99], bottom: [98.7833, 98.1167], invert: [], top: [] },
    start: { dig_depth: 14.6 },
    outlet: { kind: "pop_up", cover: 6, dig_depth: 10.6, water: null, left_wet: { depth: 10.3 }, ditch: null },
    answer: { verdict: "yes", spare: 2, pinch: { upstream: 0, downstream: 50, limits: ["start cover", "outlet depth"] } },
    dry_well: null,
    ...more,
  };
}

const near = (a, b, by = 1e-6) => assert.ok(Math.abs(a - b) < by, `${a} is not ${b}`);

test("the outlet's depths come from the plan: invert a wall above the pipe's underside, water at the lid", () => {
  const scene = outletScene(answered());
  near(scene.invert, 6 + 4.6 - 0.3);
  near(scene.water, 0);
  near(scene.groundFall, 1 / 50);
  assert.equal(scene.limit, null);
  assert.equal(scene.figure, "10.6 in deep");
});

test("a no decided at the outlet shows how far it misses; decided elsewhere it shows the depth", () => {
  const no = { verdict: "no", spare: -4.3, pinch: { upstream: 0, downstream: 50, limits: ["start cover", "outlet depth"] } };
  const scene = outletScene(answered({ answer: no }));
  assert.equal(scene.figure, "4.3 in too deep");
  near(scene.limit, 10.6 - 4.3);
  const high = outletScene(answered({ answer: { ...no, pinch: { ...no.pinch, limits: ["outlet depth", "least cover"] } } }));
  assert.equal(high.figure, "4.3 in too high");
  near(high.limit, 10.6 + 4.3);
  const before = outletScene(answered({ answer: { ...no, pinch: { ...no.pinch, downstream: 20 } } }));
  assert.equal(before.limit, null);
  assert.equal(outletScene(answered({ ground_known: false })), null);
});

test("water stated at the outlet counts over what a lid keeps in; a ditch is drawn by its length", () => {
  const daylight = { kind: "daylight", cover: 6, dig_depth: 10.6, water: { level: 98.5 }, left_wet: null, ditch: 12 };
  const scene = outletScene(answered({ outlet: daylight }));
  near(scene.water, 6);
  assert.deepEqual(scene.beyond, { ditch: 144 });
  const bank = { ...answered().answer, conditions: [{ code: "bank" }] };
  assert.deepEqual(outletScene(answered({ outlet: daylight, answer: bank })).beyond, { ditch: null });
});

test("a change is drawn in one frame with what it changes, and its ends are told", () => {
  const before = answered();
  const raised = { at: [0, 50], ground: [100, 99], bottom: [98.95, 98.2833] };
  const after = answered({ profile: raised, start: { dig_depth: 12.6 }, outlet: { ...before.outlet, dig_depth: 8.6 } });
  const change = profileChange(before, after);
  assert.equal(change.moved, true);
  assert.equal(change.groundAfter, null);
  assert.equal(change.words, "Starts 12.6 in deep, now 14.6 in. Comes out 8.6 in deep, now 10.6 in.");
  assert.deepEqual(change.ground[0], [0, 0]);
  near(change.before[1][1], 1); // the lowest level of both
  assert.ok(change.after[1][1] < 1);
  assert.equal(profileChange(before, before).moved, false);
});

test("soil that is laid and a line that ends sooner are part of the picture", () => {
  const before = answered();
  const laid = { ...before.profile, ground: [100.5, 99] };
  assert.deepEqual(profileChange(before, answered({ profile: laid })).groundAfter[0], [0, 0]);
  const short = { at: [0, 25], ground: [100, 99.5], bottom: [98.7833, 98.45] };
  const change = profileChange(before, answered({ profile: short }));
  assert.equal(change.moved, true);
  near(change.after[1][0], 0.5);
  assert.equal(change.groundAfter, null);
});

// Three readings of a run that was taped as 80 ft.
function reading(rows, length = "80") {
  const blank = { ...blankDocument("us"), route: { kind: "taped", length, tape_length: "" } };
  return rows.reduce(
    (now, [at, down], i) => withValue(withValue(now, `level_line.rows.${i}.at`, at), `level_line.rows.${i}.down`, down),
    withValue(blank, "start.value", "8"),
  );
}
const BLANK = { id: "blank", route_crs: "local", origin: [0, 0], metres_per_unit: [1, 1] };
const asked = (plan) => soFar(plan, buildRequest(plan, BLANK));

test("readings that do not reach the typed length are answered so far, and say how far", () => {
  const rows = [
    ["0", "9"],
    ["26", "12"],
    ["52", "22"],
  ];
  const { body, words } = asked(reading(rows));
  assert.equal(body.route.length, 52);
  assert.equal(toldSoFar(words, "Yes: 8.6 in of fall to spare."), "So far, read to 0+52 of 0+80: yes: 8.6 in of fall to spare.");
  assert.equal(asked(reading(rows, "52")).words, null);
  assert.equal(asked(reading(rows, "")).words, null);
  assert.equal(toldSoFar(null, "Yes."), "Yes.");
});

test("a row without its reading makes the answer one so far; what stands beyond keeps the length", () => {
  const rows = [
    ["0", "9"],
    ["13", ""],
    ["26", "12"],
  ];
  assert.equal(asked(reading(rows, "26")).words, "So far");
  const next = [rows[0], rows[2], ["52", ""]]; // a station alone, which Enter fills in by itself
  assert.equal(asked(reading(next, "26")).words, null);
  const plan = reading([rows[0], rows[2]], "80");
  const further = { ...plan, stations: { ...plan.stations, at: "60" } };
  assert.equal(asked(further).body.route.length, 80);
  assert.equal(asked(further).words, null);
});

test("plans side by side: what differs comes first, chances are told as everywhere", () => {
  const one = {
    overall: "yes",
    spare: 2,
    chance: 0.996,
    pipe: "4 in",
    outlet: "pop_up",
    length: 50,
    flattest_percent: 1,
    greatest_depth: 12,
  };
  const rest = { dig_volume: 1, haul_volume: 1, pieces: 1, carries: null, cost: null, currency: null, cost_left_out: [] };
  const other = { ...one, ...rest, chance: 0.62, greatest_depth: 14 };
  const best = { most_spare: null, least_dig: null, least_cost: null };
  const rows = rowsOf({ alternatives: [{ ...one, ...rest }, other], best, units: "us" });
  assert.deepEqual(
    rows.slice(0, 2).map(({ head, cells }) => [head, ...cells]),
    [
      ["Chance that this drain works", "more than 99 %", "about 62 %"],
      ["Deepest dig", "12 in", "14 in"],
    ],
  );
  assert.ok(rows.slice(2).every(({ cells }) => cells[0] === cells[1]));
});
