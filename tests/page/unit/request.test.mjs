// From the plan to the body of POST /plan, and from a pointer back to the field.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { withFix } from "../../../frontend/model/changes/fixes.js";
import { blankDocument, inUnits, withCrossing, withGround, withLine, withValue } from "../../../frontend/model/document/document.js";
import { planeOf } from "../../../frontend/model/geometry/polyline.js";
import { buildRequest, pathOf } from "../../../frontend/model/request/request.js";

const EXAMPLE = JSON.parse(readFileSync(new URL("../../../openapi/examples/level_line.json", import.meta.url)));
const RASTER = { id: "r", route_crs: "EPSG:32617" };
const BLANK = { id: "blank", route_crs: "local" };

function planOf(values, units = "us") {
  return Object.entries(values).reduce((plan, [path, value]) => withValue(plan, path, value), blankDocument(units));
}

const READINGS = {
  "level_line.rows.0.at": "0",
  "level_line.rows.0.down": "9",
  "level_line.rows.2.at": "13",
  "level_line.rows.2.down": "10 1/2",
};

test("the example of the contract comes out of what a user would type for it", () => {
  const typed = {
    "route.length": "52",
    "start.value": "8",
    "grade.min_percent": "1.25",
    "grade.fall_step": "1",
    "grade.shape": "straight",
    "limits.min_cover": "6",
    "limits.max_depth": "36",
    "limits.outlet_taper": "13",
    "outlet.min": "7",
    "outlet.max": "10",
    "stations.every": "13",
  };
  EXAMPLE.ground.readings.forEach(({ at, down }, i) => {
    typed[`level_line.rows.${i}.at`] = String(at);
    typed[`level_line.rows.${i}.down`] = String(down);
  });
  assert.deepEqual(buildRequest(planOf(typed), BLANK).body, EXAMPLE);
});

test("the same request in metric is the same trench to the last bit that a double keeps", () => {
  const { body } = buildRequest(inUnits(planOf({ ...READINGS, "start.value": "9" }), "si"), BLANK);
  assert.equal(body.units, "si");
  assert.equal(body.ground.readings[1].down, 266.7);
  assert.equal(body.start.cover, 228.6);
});

test("what the page filled in itself takes a round figure in the other units, and its own again", () => {
  const us = withCrossing(planOf(READINGS), { at: "5" });
  const si = inUnits(us, "si");
  const filled = (plan) => [plan.start.value, plan.search.clearance, plan.crossings.rows[0].size, plan.crossings.rows[0].clearance];
  assert.deepEqual(filled(si), ["200", "0.6", "25", "150"]);
  assert.deepEqual(filled(inUnits(si, "us")), ["8", "2", "1", "6"]);
  const level = inUnits(planOf({ ...READINGS, "start.by": "invert" }), "si"); // 8 ft is a level, no cover
  assert.equal(buildRequest(level, BLANK).body.start.invert, 2.4384);
});

test("a new plan states the pipe, the start and the kind of outlet; every limit is left open", () => {
  for (const units of ["us", "si"]) {
    const { body } = buildRequest(planOf(READINGS, units), BLANK);
    assert.deepEqual(Object.keys(body), ["units", "route", "ground", "pipe", "start", "outlet"]);
    assert.deepEqual([body.start, body.outlet], [{ cover: units === "us" ? 8 : 200 }, { kind: "pop_up" }]);
  }
  const dug = buildRequest(planOf({ ...READINGS, "limits.dig_by": "by_hand", "grade.shape": "straight" }), BLANK).body;
  assert.deepEqual([dug.limits, dug.grade], [{ dig_by: "by_hand" }, { shape: "straight" }]);
});

test("blank rows are passed over and unfinished ones named", () => {
  const { body, unfinished } = buildRequest(planOf({ ...READINGS, "level_line.rows.4.at": "20" }), BLANK);
  assert.equal(body.ground.readings.length, 2);
  assert.deepEqual(unfinished, ["level_line.rows.4"]);
  assert.deepEqual(body.route, { length: 13 });
});

test("with too little to go on it says what to do", () => {
  const { body, waiting } = buildRequest(blankDocument(), BLANK);
  assert.equal(body, null);
  assert.match(waiting, /two readings/);
  assert.match(buildRequest(withGround({ ...blankDocument(), base: "r" }, "raster"), RASTER).waiting, /Draw your line/);
  for (const kind of ["rod", "elevations", "slopes", "spots"]) {
    assert.ok(buildRequest(withGround(blankDocument(), kind), BLANK).waiting, kind);
  }
  const onMap = { ...blankDocument(), route: { kind: "drawn", length: "", tape_length: "" } };
  assert.match(buildRequest(onMap, BLANK).waiting, /Draw your line/);
  const noRaster = buildRequest(withGround(blankDocument(), "raster"), BLANK);
  assert.match(noRaster.waiting, /elevation raster/);
});

test("what cannot be read is told at its own field", () => {
  const { body, problems } = buildRequest(planOf({ ...READINGS, "level_line.rows.2.down": "ten" }), BLANK);
  assert.equal(body, null);
  assert.deepEqual(
    problems.map((problem) => problem.path),
    ["level_line.rows.2.down"],
  );
});

test("a line goes in its base's system, the blank sheet's in the plan's own unit", () => {
  const drawn = withGround({ ...blankDocument(), base: "r" }, "raster");
  const onRaster = buildRequest(
    withLine(drawn, [
      [500000, 4400000],
      [500010, 4400000],
    ]),
    RASTER,
  ).body;
  assert.deepEqual(onRaster.route, {
    line: {
      type: "LineString",
      coordinates: [
        [500000, 4400000],
        [500010, 4400000],
      ],
    },
    crs: "EPSG:32617",
  });
  assert.deepEqual(onRaster.ground, { kind: "raster", raster: "r" });
  const sheet = { ...planOf(READINGS), route: { kind: "drawn", length: "", tape_length: "" } };
  const local = buildRequest(
    withLine(sheet, [
      [0, 0],
      [3.048, 0],
    ]),
    BLANK,
  ).body.route;
  assert.equal(local.crs, "local");
  assert.ok(Math.abs(local.line.coordinates[1][0] - 10) < 1e-12);
});

test("a level book goes out in book order with its own rod unit", () => {
  const plan = withGround(
    planOf({
      "rod.rows.0.sight": "BS",
      "rod.rows.0.on": "BM",
      "rod.rows.0.rod": "4.1",
      "rod.rows.1.at": "0",
      "rod.rows.1.rod": "4.9",
      "rod.rows.2.at": "20",
      "rod.rows.2.rod": "5.3",
    }),
    "rod",
  );
  assert.deepEqual(buildRequest(plan, BLANK).body.ground, {
    kind: "rod",
    rod_unit: "ft",
    benchmark: { name: "BM", elevation: 100 },
    shots: [
      { sight: "BS", on: "BM", rod: 4.1 },
      { sight: "IS", at: 0, rod: 4.9 },
      { sight: "IS", at: 20, rod: 5.3 },
    ],
  });
  assert.ok(buildRequest(withValue(plan, "rod.benchmark.elevation", ""), BLANK).problems.length);
});

test("slopes, elevations and spots go out as their kinds ask", () => {
  const slopes = withGround(planOf({ "slopes.rows.0.from": "0", "slopes.rows.0.to": "50", "slopes.rows.0.percent": "-2" }), "slopes");
  assert.deepEqual(buildRequest(slopes, BLANK).body.ground, { kind: "slopes", runs: [{ from: 0, to: 50, percent: -2 }] });
  const spots = withGround(
    planOf(
      Object.fromEntries(
        [0, 1, 2].flatMap((i) => [
          [`spots.rows.${i}.x`, `${i}`],
          [`spots.rows.${i}.y`, `${i * i}`],
          [`spots.rows.${i}.z`, "9"],
        ]),
      ),
    ),
    "spots",
  );
  assert.deepEqual(
    buildRequest(
      withLine(spots, [
        [0, 0],
        [1, 1],
      ]),
      BLANK,
    ).body.ground.points,
    [
      [0, 0, 9],
      [1, 1, 9],
      [2, 4, 9],
    ],
  );
});

test("a pointer leads back to the row and column that was typed", () => {
  const { places } = buildRequest(planOf(READINGS), BLANK);
  assert.equal(pathOf("/ground/readings/1/down", places), "level_line.rows.2.down");
  assert.equal(pathOf("/ground/readings/1", places), "level_line.rows.2");
  assert.equal(pathOf("/ground/readings", places), "ground");
  assert.equal(pathOf("/start/cover", places), "start.value");
  assert.equal(pathOf("/outlet/depth/max", places), "outlet.max");
  assert.equal(pathOf("/outlet/water_level", places), "outlet.water");
  assert.equal(pathOf("/outlet/water_level/elevation", places), "outlet.water");
  assert.equal(pathOf("/route/length", places), "route.length");
  assert.equal(pathOf("/nowhere", places), null);
});

test("a fix changes its field, rounded away from where it starts", () => {
  const plan = planOf(READINGS);
  const about = { path: "outlet.max", plane: null, length: 13 };
  assert.equal(withFix(plan, { change: "outlet_depth", from: 10, to: 25.172791 }, about).outlet.max, "25.2");
  assert.equal(withFix(plan, { change: "start_cover", from: 8, to: 4.05 }, { ...about, path: "start.value" }).start.value, "4");
  assert.equal(withFix(plan, { change: "pipe", from: "a", to: "pvc-sch40-4" }, about).pipe.code, "pvc-sch40-4");
  assert.equal(withFix(plan, { change: "outlet_kind", from: "pop_up", to: "dry_well" }, about).outlet.kind, "dry_well");
  const wet = { ...plan, outlet: { ...plan.outlet, water_by: "elevation", water: "-1" } };
  const { water, water_by: by } = withFix(wet, { change: "outlet_kind", from: "pop_up", to: "dry_well" }, about).outlet;
  assert.deepEqual([water, by], ["-1", "elevation"]);
  assert.equal(withFix(plan, { change: "end_at", from: 13, to: 10 }, about).route.length, "10");
  assert.equal(withFix(plan, { change: "crossing", from: "under", to: "over" }, { ...about, path: null }), null);
});

test("a fix with a patch is typed in whole, or not at all", () => {
  const plan = { ...planOf(READINGS), outlet: { kind: "daylight", by: "invert", min: "3", max: "", prefer: "" } };
  const about = { path: null, plane: null, length: 13 };
  const made = (patch, now = plan) => withFix(now, { change: "any", patch }, about);
  assert.deepEqual(made({ outlet: { kind: "pop_up", invert: null } }).outlet, {
    kind: "pop_up",
    by: "invert",
    min: "",
    max: "",
    prefer: "",
  });
  assert.deepEqual(made({ outlet: { kind: "pop_up", invert: null, depth: { min: 7, max: 18.6 } } }).outlet, {
    kind: "pop_up",
    by: "depth",
    min: "7",
    max: "18.6",
    prefer: "",
  });
  assert.equal(made({ start: { [plan.start.by]: 4.5, shallowest_cover: null } }).start.value, "4.5");
  const both = made({ limits: { max_depth: 30.1, dig_by: null }, grade: { shape: "least_dig", max_breaks: 1 } });
  assert.deepEqual([both.limits.max_depth, both.limits.dig_by, both.grade.shape, both.grade.max_breaks], ["30.1", "", "least_dig", "1"]);
  assert.equal(made({ limits: { no_such_field: 2 } }), null);
  assert.equal(made({ paper: {} }), null);
});

test("soil that is moved changes the readings it lies under, the others stay as typed", () => {
  const patch = {
    ground: {
      readings: [
        { at: 0, down: 7.3 },
        { at: 13, down: 10.5 },
      ],
    },
  };
  const { rows } = withFix(planOf(READINGS), { change: "soil_start", patch }, {}).level_line;
  assert.deepEqual(
    rows.filter((row) => row.down !== "").map((row) => row.down),
    ["7.3", "10 1/2"],
  );
});

test("a last station typed as the drawn line's length is shown is the line's end", () => {
  const sheet = { ...planOf(READINGS), route: { kind: "drawn", length: "", tape_length: "" } };
  const end = 13.03;
  const plan = withLine(sheet, [
    [0, 0],
    [0, end * 0.3048],
  ]);
  const lastOf = (typed) => buildRequest(withValue(plan, "level_line.rows.2.at", typed), BLANK).body.ground.readings[1].at;
  for (const typed of ["13", "13.03", "13.049"]) assert.ok(Math.abs(lastOf(typed) - end) < 1e-9, typed);
  assert.equal(lastOf("12.9"), 12.9);
  assert.equal(lastOf("13.1"), 13.1);
});

test("ending a drawn line earlier cuts it there", () => {
  const plane = planeOf({ origin: [0, 0], metres_per_unit: [1, 1] });
  const plan = withLine(withGround({ ...blankDocument(), base: "r" }, "raster"), [
    [0, 0],
    [10, 0],
    [10, 10],
  ]);
  const cut = withFix(plan, { change: "end_at", from: 20, to: 15 }, { path: null, plane, length: 20 });
  assert.deepEqual(cut.lines.r, [
    [0, 0],
    [10, 0],
    [10, 5],
  ]);
  assert.equal(withFix(plan, { change: "end_at", from: 20, to: 25 }, { path: null, plane, length: 20 }), null);
});
