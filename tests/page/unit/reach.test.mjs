// What a search of the yard asks for, how its areas look, and what the plan takes over of a route.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { blankDocument, completed, inUnits, withLine } from "../../../frontend/model/document/document.js";
import {
  nameOf,
  onBase,
  pointsOf,
  shapesMoved,
  shapesOf,
  withName,
  withoutShape,
  withPoints,
  withShape,
} from "../../../frontend/model/document/shapes.js";
import { snapped } from "../../../frontend/model/geometry/snap.js";
import {
  ANYWHERE,
  aimsOf,
  EDGES,
  goals,
  heeded,
  routeOnto,
  searchRequest,
  sources,
  startOf,
  toPlace,
  toTarget,
  withHeeded,
  withRoute,
  withStart,
} from "../../../frontend/model/request/reach.js";
import { pointName, sizeWords } from "../../../frontend/model/wording/points.js";
import { LOOKS, legend, lookOf } from "../../../frontend/model/wording/reach_legend.js";

const DEMO = JSON.parse(readFileSync(new URL("../../../fixtures/demo/yard.json", import.meta.url)));
const YARD = DEMO.features;
const RASTER = { id: "r", route_crs: DEMO.crs, metres_per_unit: [1, 1], bounds: [0, 0, 40, 60], relief: "r.png" };
const BLANK = { id: "blank", route_crs: "local", metres_per_unit: [1, 1], bounds: [0, 0, 60, 45] };

const onRaster = (plan = blankDocument()) => ({ ...plan, base: "r", ground: "raster" });
const withSpots = () => ({
  ...blankDocument(),
  ground: "spots",
  spots: {
    rows: [
      ["0", "0", "10"],
      ["40", "0", "10"],
      ["0", "40", "9"],
    ].map(([x, y, z]) => ({ x, y, z })),
  },
});

test("a search on the demo yard heeds its lot line and what stands in it, and may end in the swale", () => {
  const plan = onRaster();
  const { body, waiting } = searchRequest(plan, RASTER, YARD);
  assert.equal(waiting, null);
  assert.deepEqual(body.start, {
    cover: 8,
    point: YARD.features.find(({ properties }) => properties.kind === "downspout").geometry.coordinates,
  });
  assert.deepEqual(
    body.avoid.features.map(({ properties: { name } }) => name),
    ["House", "Patio", "Drive", "Septic field", "Gas line"],
  );
  assert.deepEqual(
    body.within.features.map(({ properties: { name } }) => name),
    ["Lot line"],
  );
  assert.equal(body.clearance, 2);
  assert.deepEqual([body.crs, body.bands, body.route, body.targets], [DEMO.crs, EDGES.us, undefined, undefined]);
  assert.deepEqual(
    goals(plan, YARD).map(({ name }) => name),
    ["Swale"],
  );
  const { body: aimed } = searchRequest({ ...plan, search: { ...plan.search, goal: "yard:Swale" } }, RASTER, YARD);
  assert.equal(aimed.targets.features[0].properties.name, "Swale");
});

test("what is not to be heeded is left out, and a lot line that is drawn rules over the yard's", () => {
  const corners = [
    [1, 1],
    [9, 1],
    [9, 9],
  ];
  const plan = {
    ...withHeeded(onRaster(), "Drive", false),
    outlines: {
      r: {
        lot: corners,
        avoid: [
          { name: "Oak", ring: corners },
          { name: "", ring: [] },
        ],
      },
    },
  };
  const { body } = searchRequest(plan, RASTER, YARD);
  assert.deepEqual(
    body.avoid.features.map(({ properties: { name } }) => name),
    ["Oak", "House", "Patio", "Septic field", "Gas line"],
  );
  assert.deepEqual(
    body.within.features.map(({ geometry }) => geometry.coordinates[0]),
    [[...corners, corners[0]]],
  );
  assert.equal(
    heeded(withHeeded(plan, "Drive", true), YARD).some(({ name }) => name === "Lot line"),
    false,
  );
});

test("the water at one outlet is not asked of every place", () => {
  const plan = onRaster();
  const { body } = searchRequest({ ...plan, outlet: { ...plan.outlet, max: "12", water: "3" } }, RASTER, YARD);
  assert.deepEqual(body.outlet, { kind: "pop_up", depth: { max: 12 } });
});

test("on a plane of its own the planner's points are in the units of the page", () => {
  const plan = {
    ...withStart(withSpots(), [3.048, 6.096]),
    outlines: {
      blank: {
        lot: [],
        avoid: [
          {
            name: "Bed",
            ring: [
              [3.048, 0],
              [6.096, 0],
              [3.048, 3.048],
            ],
          },
        ],
      },
    },
  };
  const { body } = searchRequest(plan, BLANK, null);
  assert.deepEqual(
    body.start.point.map((value) => Math.round(value * 1e9) / 1e9),
    [10, 20],
  );
  assert.deepEqual(body.avoid.features[0].geometry.coordinates[0][1].map(Math.round), [20, 0]);
  assert.deepEqual(body.ground.points[1], [40, 0, 10]);
  const { body: metric } = searchRequest(inUnits({ ...plan, search: { ...plan.search, clearance: "3" } }, "si"), BLANK, null);
  assert.deepEqual(metric.start.point, [3.048, 6.096]);
  assert.equal(metric.clearance, 0.9144);
});

test("without heights of the yard there is no search; half a number says so", () => {
  assert.match(searchRequest(blankDocument(), BLANK, null).waiting, /spot heights/);
  const plan = onRaster();
  const { body, problems } = searchRequest({ ...plan, search: { ...plan.search, clearance: "x" } }, RASTER, YARD);
  assert.equal(body, null);
  assert.deepEqual(
    problems.map(({ path }) => path),
    ["search.clearance"],
  );
});

test("what is measured along the line, or unfinished beside it, is no part of a search", () => {
  const plan = {
    ...onRaster(),
    crossings: { rows: [{ at: "x", what: "gas", top_depth: "1", size: "1", clearance: "1", pass: "either" }] },
    head: { flow: "y", margin: "" },
  };
  const { body, problems } = searchRequest(plan, RASTER, YARD);
  assert.deepEqual(problems, []);
  assert.equal(body.crossings, undefined);
});

test("the start is as set, else where the line starts, else a downspout, else the middle", () => {
  const plan = onRaster();
  const line = [
    [5, 6],
    [7, 8],
  ];
  assert.deepEqual(startOf(withStart(withLine(plan, line), [1, 2]), RASTER, YARD), [1, 2]);
  assert.deepEqual(startOf(withLine(plan, line), RASTER, YARD), [5, 6]);
  assert.deepEqual(startOf(plan, RASTER, YARD), sources(plan, YARD)[0].point);
  assert.deepEqual(startOf(plan, RASTER, null), [20, 30]);
  assert.deepEqual(completed({ version: 1, units: "us" }).search.starts, {});
});

test("a route taken over is the line with the settings it was planned by", () => {
  const plan = { ...withSpots(), limits: { ...blankDocument().limits, max_depth: "" }, crossings: { rows: [{ at: "5" }] } };
  const route = {
    line: {
      coordinates: [
        [10, 20],
        [30, 40],
      ],
    },
    plan_request: { limits: { max_depth: 60 }, grade: { shape: "least_dig", max_breaks: 2 } },
  };
  const next = withRoute(plan, route);
  assert.deepEqual(
    next.lines.blank.map((point) => point.map((value) => Math.round(value * 1000))),
    [
      [3048, 6096],
      [9144, 12192],
    ],
  );
  assert.deepEqual([next.route.kind, next.limits.max_depth, next.grade.shape, next.grade.max_breaks], ["drawn", "60", "least_dig", "2"]);
  assert.deepEqual(next.crossings.rows, []);
  const straight = withRoute(
    { ...plan, limits: { ...plan.limits, dig_by: "by_hand" } },
    { ...route, plan_request: { limits: { max_depth: 36 } } },
  );
  assert.deepEqual([straight.limits.max_depth, straight.grade.shape], ["", ""]);
});

test("one place is asked about alone", () => {
  assert.deepEqual(toPlace({ units: "us" }, [1, 2]), { units: "us", to: [1, 2], ask: [[1, 2]], routes: 0, draws: 0 });
});

test("every kind of area has a look, no two of a map share a pattern, and the best comes first in the legend", () => {
  const areas = [
    [null, -12],
    [-12, -6],
    [-6, -3],
    [-3, -1],
    [-1, 0],
    [0, 1],
    [1, 3],
    [3, 6],
    [6, 12],
    [12, null],
  ].map(([from, to]) => ({ properties: { kind: to !== null && to <= 0 ? "short" : "outlet", from, to, text: "" } }));
  const reasons = ["any_changes", "near_start", "too_deep", "past_unknown", "closed_off", "avoided", "unknown"].map((kind) => ({
    properties: { kind, from: null, to: null, text: "" },
  }));
  const eased = areas
    .filter(({ properties }) => properties.kind === "outlet")
    .map(({ properties }) => ({ properties: { ...properties, kind: "conditional" } }));
  const rows = legend([...areas, ...reasons, ...eased], "us").map(({ look }) => look);
  const down = [4, 3, 2, 1, 0];
  assert.deepEqual(rows, [
    ...down.flatMap((i) => [`outlet-${i}`, `conditional-${i}`]),
    ...[0, 1, 2, 3, 4].map((i) => `short-${i}`),
    ...reasons.map(({ properties }) => properties.kind),
  ]);
  assert.equal(new Set(rows.map((look) => JSON.stringify(LOOKS[look].marks))).size, rows.length);
  const chances = ["no", "survey_first", "likely", "sure"].map((kind) => ({ properties: { kind, from: null, to: null, text: "" } }));
  const sure = legend(chances, "us").map(({ look }) => look);
  assert.deepEqual(sure, ["sure", "likely", "survey_first", "no"]);
  assert.equal(new Set(sure.map((look) => JSON.stringify(LOOKS[look].marks))).size, 4);
  assert.equal(lookOf({ kind: "short", from: -150, to: -75 }, "si"), "short-2");
});

// A plan with a ditch (a line) and a curb (a point) drawn as places to reach.
function withDitchAndCurb(plan) {
  const ditch = withShape(plan, "target");
  const named = withName(
    withPoints(ditch.plan, ditch.id, [
      [3.048, 6.096],
      [9.144, 6.096],
    ]),
    ditch.id,
    "The ditch",
  );
  const curb = withShape(named, "target");
  return withPoints(curb.plan, curb.id, [[12.192, 3.048]]);
}

test("places to reach are shapes like the others: named, moved with their base, taken away", () => {
  const plan = withDitchAndCurb(blankDocument());
  assert.deepEqual(shapesOf(plan), [
    { id: "line", name: "Main line" },
    { id: "target:0", name: "The ditch" },
    { id: "target:1", name: "Place 2" },
  ]);
  assert.equal(nameOf(withName(plan, "target:1", ""), "target:1"), "");
  assert.equal(shapesOf(withName(plan, "target:1", ""))[2].name, "Place 2");
  assert.deepEqual(
    pointsOf(
      shapesMoved(plan, "blank", ([x, y]) => [x + 1, y]),
      "target:1",
    ),
    [[13.192, 3.048]],
  );
  const carried = onBase(
    withLine(plan, [
      [0, 0],
      [1, 1],
    ]),
    "r",
    ([x, y]) => [x, y + 1],
  );
  assert.deepEqual(pointsOf(carried, "target:0"), [
    [3.048, 7.096],
    [9.144, 7.096],
  ]);
  const without = withoutShape({ ...plan, search: { ...plan.search, goal: "target:1" } }, "target:0");
  assert.deepEqual([shapesOf(without)[1].name, without.search.goal], ["Place 2", ""]);
  assert.deepEqual(
    [pointName(0, 1, "target:1"), pointName(0, 2, "target:0"), pointName(1, 3, "target:0")],
    ["The place", "One end", "Bend 1"],
  );
  assert.equal(
    sizeWords(
      [
        [0, 0],
        [3.048, 0],
      ],
      { id: "target:0", units: "us" },
    ),
    "10.0 ft long",
  );
  assert.deepEqual(snapped([12, 3], [{ points: pointsOf(plan, "target:1"), name: "The curb" }], 1), {
    point: [12.192, 3.048],
    name: "The curb",
  });
});

test("a plan kept before places to reach were there has none, and its search asks as before", () => {
  const old = completed({ ...withSpots(), outlines: { blank: { lot: [], avoid: [] } } });
  const { body } = searchRequest(old, BLANK, null);
  assert.equal(body.targets, undefined);
  assert.deepEqual(aimsOf(old, null), []);
  assert.deepEqual(body, searchRequest(withSpots(), BLANK, null).body);
});

test("the search sends what is drawn, in the planner's units, unless one or anywhere is chosen", () => {
  const plan = withDitchAndCurb(withSpots());
  const sent = (goal) => searchRequest({ ...plan, search: { ...plan.search, goal } }, BLANK, null).body.targets?.features;
  const [ditch, curb] = sent("");
  assert.deepEqual(ditch.properties, { name: "The ditch" });
  assert.deepEqual(
    [ditch.geometry.type, ditch.geometry.coordinates.map((point) => point.map(Math.round))],
    [
      "LineString",
      [
        [10, 20],
        [30, 20],
      ],
    ],
  );
  assert.deepEqual([curb.geometry.type, curb.geometry.coordinates.map(Math.round)], ["Point", [40, 10]]);
  assert.deepEqual(sent("target:1"), [curb]);
  assert.equal(sent(ANYWHERE), undefined);
  const begun = withShape(plan, "target").plan;
  assert.equal(aimsOf(begun, null).length, 2, "one without a point yet is none");
  const swale = { ...withDitchAndCurb(onRaster()), search: { ...plan.search, goal: "yard:Swale" } };
  assert.deepEqual(
    aimsOf(swale, YARD).map(({ name }) => name),
    ["Swale"],
  );
  const { body } = searchRequest(plan, BLANK, null);
  assert.deepEqual(toTarget(body, 1).targets.features, [curb]);
  assert.deepEqual([toTarget(body, 1).routes, body.targets.features.length], [1, 2]);
});

test("the route to a place is the first that ends within a cell of it", () => {
  const routes = [
    [
      [0, 0],
      [5, 5],
    ],
    [
      [0, 0],
      [9, 0.3],
    ],
    [
      [0, 0],
      [9, 0],
    ],
  ];
  assert.equal(
    routeOnto(
      routes,
      [
        [8, 0],
        [12, 0],
      ],
      0.5,
    ),
    1,
  );
  assert.equal(
    routeOnto(
      routes,
      [
        [8, 0],
        [12, 0],
      ],
      0.25,
    ),
    2,
  );
  assert.equal(routeOnto(routes, [[5, 5.3]], 0.5), 0);
  assert.equal(routeOnto(routes, [[20, 20]], 0.5), -1);
});
