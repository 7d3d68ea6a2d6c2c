// Things drawn and placed: shapes, joins, snapping, what goes into the request, water in words.
import assert from "node:assert/strict";
import { test } from "node:test";
import { blankDocument, inUnits, valueAt, withLine, withValue } from "../../../frontend/model/document/document.js";
import { withBranch, withInflow, withoutBranch } from "../../../frontend/model/document/line_items.js";
import {
  hosts,
  joinOf,
  ledIntoNearest,
  onBase,
  pipeLine,
  pointsOf,
  shapesOf,
  withoutShape,
  withPoints,
  withShape,
} from "../../../frontend/model/document/shapes.js";
import { carryBetween, keptSite, placed, siteBase, tieAt, tiedAt, withSite } from "../../../frontend/model/document/site_plans.js";
import { nearestOn, partOf, planeOf } from "../../../frontend/model/geometry/polyline.js";
import { snapped } from "../../../frontend/model/geometry/snap.js";
import { metresPerDegree, readPlace, tileBase, tilesOver } from "../../../frontend/model/geometry/tile_grid.js";
import { branchLacks } from "../../../frontend/model/request/branches.js";
import { buildRequest } from "../../../frontend/model/request/request.js";
import { readEntry, textOf } from "../../../frontend/model/units/entry.js";
import { toNumber } from "../../../frontend/model/units/rational.js";
import { sizeOf, unitOf } from "../../../frontend/model/units/units.js";
import { bandOf, stretchesOf } from "../../../frontend/model/wording/pipe_fill.js";
import { movingWords, ringArea, sizeWords } from "../../../frontend/model/wording/points.js";

const BLANK = { id: "blank", route_crs: "local", origin: [0, 0], metres_per_unit: [1, 1] };
const PLANE = planeOf(BLANK);
const near = (a, b) => a.forEach((value, i) => assert.ok(Math.abs(value - b[i]) < 1e-9, `${a} is not ${b}`));

// A main line 30 m to the right on a blank sheet in metres, and ground along it.
function drawn() {
  const plan = withLine({ ...blankDocument("si"), route: { kind: "drawn", length: "", tape_length: "" } }, [
    [0, 0],
    [30, 0],
  ]);
  const readings = [
    ["0", "200"],
    ["30", "900"],
  ];
  return readings.reduce(
    (now, [at, down], i) => withValue(withValue(now, `level_line.rows.${i}.at`, at), `level_line.rows.${i}.down`, down),
    plan,
  );
}

function withDrawnBranch(plan, points) {
  const made = withShape(plan, "branch");
  return { id: made.id, plan: withPoints(made.plan, made.id, points) };
}

test("the nearest place on a line, and a part of it", () => {
  const line = [
    [0, 0],
    [10, 0],
    [10, 10],
  ];
  assert.deepEqual(nearestOn(line, [4, 3]), { point: [4, 0], along: 4, away: 3 });
  assert.deepEqual(nearestOn(line, [14, 6]), { point: [10, 6], along: 16, away: 4 });
  assert.equal(nearestOn([[0, 0]], [1, 1]), null);
  assert.deepEqual(partOf(line, 5, 15), [
    [5, 0],
    [10, 0],
    [10, 5],
  ]);
});

test("a corner within reach wins over a nearer line; out of reach nothing moves", () => {
  const lines = [
    {
      name: "House",
      points: [
        [0, 0],
        [10, 0],
      ],
    },
  ];
  assert.deepEqual(snapped([9.5, 0.2], lines, 1), { point: [10, 0], name: "House" });
  assert.deepEqual(snapped([5, 0.2], lines, 1), { point: [5, 0], name: "House" });
  assert.deepEqual(snapped([5, 2], lines, 1), { point: [5, 2], name: null });
});

test("a drawn branch ends on its line, follows it, and comes back with it", () => {
  const { plan, id } = withDrawnBranch(drawn(), [
    [12, 9],
    [12, 4],
  ]);
  assert.deepEqual(joinOf(plan, "b1", PLANE), { point: [12, 0], along: 12, length: 30 });
  const moved = withLine(plan, [
    [0, -3],
    [30, -3],
  ]);
  assert.deepEqual(pipeLine(moved, "b1", PLANE), [
    [12, 9],
    [12, -3],
  ]);
  assert.deepEqual(
    pipeLine(
      withLine(moved, [
        [0, 0],
        [30, 0],
      ]),
      "b1",
      PLANE,
    ),
    pipeLine(plan, "b1", PLANE),
  );
  assert.deepEqual(pointsOf(plan, id), [
    [12, 9],
    [12, 4],
  ]);
});

test("a branch of a branch goes out inside it, and neither may end in its own heirs", () => {
  const first = withDrawnBranch(drawn(), [
    [12, 9],
    [12, 0],
  ]);
  const second = withDrawnBranch(first.plan, [
    [20, 6],
    [13, 6],
  ]);
  let plan = ledIntoNearest(second.plan, "b2", PLANE);
  assert.equal(plan.branches.rows[1].into, "b1");
  assert.deepEqual(hosts(plan, "b1"), [""]);
  assert.deepEqual(hosts(plan, "b2"), ["", "b1"]);
  for (const [key, rows] of [
    ["b1", [0, 1]],
    ["b2", [3, 4]],
  ]) {
    rows.forEach((i, k) => {
      assert.equal(plan.branch_readings.rows[i].branch, key);
      plan = withValue(plan, `branch_readings.rows.${i}.at`, String(k * 9));
      plan = withValue(plan, `branch_readings.rows.${i}.down`, "300");
    });
  }
  const { body } = buildRequest(plan, BLANK);
  const [outer] = body.branches;
  assert.deepEqual([outer.name, outer.joins_at, outer.branches[0].name, outer.branches[0].joins_at], ["A", 12, "B", 3]);
  assert.deepEqual(outer.route.line.coordinates, [
    [12, 9],
    [12, 0],
  ]);
  assert.deepEqual(outer.ground.readings, [
    { at: 0, down: 300 },
    { at: 9, down: 300 },
  ]);
  assert.equal(withoutBranch(plan, "b1").branches.rows.length, 0);
});

test("a taped branch waits for what it lacks, then goes out with its own ground", () => {
  let { plan } = withBranch(drawn(), "taped");
  assert.deepEqual(branchLacks(plan, plan.branches.rows[0]), ["where it joins", "two readings or more of the ground along it"]);
  assert.equal(buildRequest(plan, BLANK).body.branches, undefined);
  const typed = {
    "branches.rows.0.joins_at": "10",
    "branch_readings.rows.0.down": "300",
    "branch_readings.rows.1.at": "8",
    "branch_readings.rows.1.down": "420",
    "branches.rows.0.max_depth": "700",
  };
  plan = Object.entries(typed).reduce((now, [path, value]) => withValue(now, path, value), plan);
  const { body, places } = buildRequest(plan, BLANK);
  assert.deepEqual(body.branches, [
    {
      name: "A",
      joins_at: 10,
      route: { length: 8 },
      ground: {
        kind: "level_line",
        readings: [
          { at: 0, down: 300 },
          { at: 8, down: 420 },
        ],
      },
      pipe: { code: plan.pipe.code },
      start: { cover: 200 },
      limits: { max_depth: 700 },
    },
  ]);
  assert.equal(places.get("/branches/0/start/cover"), "branches.rows.0.start_value");
});

test("inlets go out once they have what their kind needs, on the line they feed", () => {
  let plan = withInflow(drawn(), { at: "4" });
  assert.equal(buildRequest(plan, BLANK).body.inflows, undefined);
  plan = withValue(withValue(plan, "inflows.rows.0.area", "80"), "inflows.rows.0.rain_rate", "100");
  plan = withInflow(plan, { kind: "roof" });
  assert.equal(plan.inflows.rows[1].rain_rate, "100"); // the same rain falls on the next roof
  plan = withValue(plan, "inflows.rows.1.kind", "pump");
  plan = withValue(plan, "inflows.rows.1.rate", "2.5");
  assert.deepEqual(buildRequest(plan, BLANK).body.inflows, [
    { kind: "roof", at: 4, area: 80, rain_rate: 100 },
    { kind: "pump", rate: 2.5 },
  ]);
});

// NIST Handbook 44, Appendix C: the gallon is 231 cubic inches, the inch 25.4 mm.
test("flow, area and rain change units exactly, to and fro", () => {
  assert.ok(Math.abs(toNumber(sizeOf("gpm")) * 60 - 231 * 0.0254 ** 3) < 1e-15);
  assert.ok(Math.abs(toNumber(sizeOf("sq ft")) - 0.09290304) < 1e-15);
  let plan = withInflow(blankDocument("us"));
  plan = withValue(withValue(plan, "inflows.rows.0.area", "1000"), "inflows.rows.0.rain_rate", "5 1/2");
  plan = withValue(plan, "inflows.rows.0.rate", "45");
  const si = inUnits(plan, "si");
  const value = (name, quantity) => readEntry(valueAt(si, `inflows.rows.0.${name}`), unitOf(quantity, "si")).value;
  assert.equal(value("area", "area"), 92.90304);
  assert.equal(value("rain_rate", "rain"), 139.7);
  assert.ok(Math.abs(value("rate", "flow") - 2.839058838) < 1e-9);
  assert.equal(textOf(valueAt(inUnits(si, "us"), "inflows.rows.0.rain_rate")), "5 1/2");
  assert.ok(readEntry("3 ft", "sq ft").error);
});

test("areas and the lot line come and go; the main line stays", () => {
  const made = withShape(drawn(), "avoid");
  const plan = withPoints(made.plan, made.id, [
    [0, 0],
    [4, 0],
    [4, 3],
  ]);
  assert.deepEqual(
    shapesOf(plan).map(({ name }) => name),
    ["Main line", "Area 1"],
  );
  assert.equal(ringArea(pointsOf(plan, made.id)), 6);
  assert.equal(sizeWords(pointsOf(plan, made.id), { id: made.id, units: "si" }), "3 corners, 6 m²");
  assert.equal(
    movingWords(
      [
        [0, 0],
        [0, 12.5],
      ],
      1,
      { id: "line", units: "si", onto: "House" },
    ),
    "0+012.5, leg 12.50 m, on House",
  );
  assert.equal(shapesOf(withoutShape(plan, made.id)).length, 1);
});

test("what is drawn goes along to another base where both are placed", () => {
  const { plan } = withDrawnBranch(drawn(), [
    [12, 9],
    [12, 0],
  ]);
  const there = onBase(plan, "other", ([x, y]) => [x + 100, y]);
  assert.deepEqual(there.lines.other, [
    [100, 0],
    [130, 0],
  ]);
  assert.deepEqual(there.branches.rows[0].lines.other, [
    [112, 9],
    [112, 0],
  ]);
  assert.equal(onBase(plan, "other", null).lines.other, undefined);
  const raster = { route_crs: "EPSG:32617", metres_per_unit: [1, 1], tie: null };
  const site = { route_crs: "local", metres_per_unit: [1, 1], north: 90 };
  // North points along the plan's x, so plan x is north and plan y is west on the raster.
  const tied = { ...site, tie: tieAt(site, [10, 0], [500, 210], raster) };
  near(tied.tie.origin, [500, 200]);
  near(carryBetween(tied, raster)([10, 5]), [495, 210]);
  near(carryBetween(raster, tied)([495, 210]), [10, 5]);
  near(tiedAt(tied, [10, 0], raster), [500, 210]);
  assert.equal(carryBetween(site, raster), null);
  assert.equal(carryBetween(BLANK, site), null);
  assert.deepEqual(carryBetween(raster, raster)([1, 2]), [1, 2]);
});

test("a site plan's drawing follows its picture when the scale or the turn changes", () => {
  const picture = { id: "s", name: "plot", width: 1000, height: 800 };
  let plan = {
    ...blankDocument("us"),
    base: "s",
    route: { kind: "drawn", length: "", tape_length: "" },
    sites: { s: { points: [], distance: "", turn: "", north: "" } },
  };
  plan = withSite(plan, picture, {
    points: [
      [100, 100],
      [500, 100],
    ],
    distance: "40",
  });
  assert.equal(placed(picture, plan.sites.s, "us").scaled, true);
  plan = withLine(plan, [
    [3.048, 3.048],
    [6.096, 3.048],
  ]);
  const doubled = withSite(plan, picture, { distance: "80" });
  near(doubled.lines.s[1], [12.192, 6.096]);
  near(withSite(doubled, picture, { distance: "40" }).lines.s[1], plan.lines.s[1]);
  near(withSite(plan, picture, { turn: "90" }).lines.s[1], [3.048, -6.096]);
  const base = siteBase(picture, { ...plan.sites.s, north: "10", turn: "15" }, "us");
  assert.equal(base.north, 25);
  assert.deepEqual(buildRequest({ ...plan, sites: { s: { ...plan.sites.s, distance: "" } } }, { ...base, scaled: false }).body, null);
  const kept = keptSite(
    {
      placement: {
        units: "si",
        scale: {
          points: [
            [0, 0],
            [1, 0],
          ],
          distance: 12.192,
        },
        turn: 0,
        north: null,
      },
    },
    "us",
  );
  assert.equal(readEntry(kept.distance, "ft").value, 40);
});

test("stretches by their share of capacity", () => {
  assert.deepEqual([0.5, 0.51, 0.9, 1, 1.01].map(bandOf), ["easy", "half", "near", "near", "over"]);
  const branch = { name: "A", answer: { verdict: "no", sentence: "No: short." }, length: 10, water: null, branches: [] };
  const water = {
    stretches: [
      { from: 0, to: 10, cautious_share: 0 },
      { from: 10, to: 40, cautious_share: 1.2 },
    ],
  };
  const answer = { answer: { verdict: "yes", sentence: "Yes: 2 in." }, length: 40, water, branches: [branch], whole: { verdict: "no" } };
  assert.deepEqual(stretchesOf(answer), [{ name: null, from: 0.25, to: 1, share: 1.2, band: "over" }]);
});

// The tile of the whole world at zoom 0, the four of zoom 1; a degree of latitude at the equator
// and at 45° is 110,574 m and 111,132 m on WGS 84 (from memory, any geodesy text).
test("online tiles: which lie over a yard, and metres to a degree", () => {
  const source = { url: "/t/{z}/{x}/{y}.png", attribution: "someone", max_zoom: 19 };
  assert.deepEqual(
    tilesOver(source, [-10, -10, 10, 10], 1).map(({ url }) => url),
    ["/t/1/0/0.png", "/t/1/0/1.png", "/t/1/1/0.png", "/t/1/1/1.png"],
  );
  const [world] = tilesOver(source, [-1, -1, 1, 1], 0);
  near(
    world.bounds.map((value) => value / 1000),
    [-0.18, -0.0850511287798066, 0.18, 0.0850511287798066],
  );
  assert.ok(Math.abs(metresPerDegree(0)[1] - 110574) < 1);
  assert.ok(Math.abs(metresPerDegree(45)[1] - 111132) < 1);
  assert.deepEqual(readPlace("41.75, -83.1"), [-83.1, 41.75]);
  for (const text of ["", "41", "91, 0", "a, b"]) assert.equal(readPlace(text), null);
  const base = tileBase(source, [-83.1, 41.75]);
  const [east, north] = planeOf(base).toMetres([-83.1, 41.75]);
  near([east, north], [60, 60]);
  assert.ok(tilesOver(source, base.bounds, 19).length > 1);
});
