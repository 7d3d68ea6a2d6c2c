// Requests that other software kept, opened on the page: asked again, they are the same request.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { opened } from "../../../frontend/model/load/load.js";
import { buildRequest } from "../../../frontend/model/request/request.js";

const BLANK = { id: "blank", route_crs: "local", origin: [0, 0], metres_per_unit: [1, 1] };
const RASTER = { id: "r", route_crs: "EPSG:26915", origin: [0, 0], metres_per_unit: [1, 1], relief: "x" };
const baseOf = (id) => ({ blank: BLANK, r: RASTER })[id] ?? null;
const example = (name) => JSON.parse(readFileSync(new URL(`../../../openapi/examples/${name}.json`, import.meta.url)));

test("every published example comes through the page unchanged", () => {
  for (const name of ["level_line", "rod", "elevations", "slopes"]) {
    const request = example(name);
    const { plan, left } = opened(request, baseOf);
    assert.deepEqual([name, left], [name, []]);
    const { body } = buildRequest(plan, baseOf(plan.base));
    if (!request.ground.rod_unit) delete body.ground.rod_unit;
    const { min_percent: least, ...pipe } = request.pipe;
    if (least) Object.assign(request, { pipe, grade: { min_percent: least } });
    assert.deepEqual(body, request);
  }
});

test("a line on a sheet of its own, and one on a raster that is here", () => {
  const spots = opened(example("spots"), baseOf);
  assert.deepEqual(spots.left, []);
  const request = example("raster");
  request.ground.raster = "r";
  const { plan, left } = opened(request, baseOf);
  assert.deepEqual([left, plan.base, plan.lines.r], [[], "r", request.route.line.coordinates]);
});

test("what the form has no place for is named", () => {
  const request = { ...example("level_line"), start: { cover: 8 }, prices: { pipe: 2 } };
  request.crossings = [{ at: 20, what: "gas line", top_depth: 24, size: 1, clearance: 6, pass: "over" }];
  const { plan, left } = opened(request, baseOf);
  assert.equal(left.length, 1);
  assert.match(left[0], /rices/);
  assert.equal(plan.crossings.rows[0].pass, "over");
  const gone = opened(example("raster"), baseOf);
  assert.ok(gone.left.length, "its raster is not here");
});

const drawn = () => {
  const request = example("spots");
  const line = {
    type: "LineString",
    coordinates: [
      [0, 0],
      [30, 0],
    ],
  };
  return { ...request, units: "si", route: { line, crs: "local" } };
};

test("areas come in however their shapes are said; what is no area is named", () => {
  const square = (x) => [
    [x, 5],
    [x + 4, 5],
    [x + 4, 9],
    [x, 5],
  ];
  const paper = {
    within: {
      type: "Polygon",
      coordinates: [
        [
          [-9, -9],
          [50, -9],
          [50, 40],
          [-9, -9],
        ],
      ],
    },
    avoid: { type: "Feature", properties: { name: "Beds" }, geometry: { type: "MultiPolygon", coordinates: [[square(0)], [square(10)]] } },
    clearance: 1,
  };
  const { plan, left } = opened({ ...drawn(), paper }, baseOf);
  assert.deepEqual(left, []);
  assert.deepEqual(
    plan.outlines.blank.avoid.map(({ name, ring }) => [name, ring.length]),
    [
      ["Beds", 3],
      ["Beds", 3],
    ],
  );
  assert.deepEqual(plan.outlines.blank.lot, [
    [-9, -9],
    [50, -9],
    [50, 40],
  ]);
  const tree = { type: "Feature", properties: { name: "Tree" }, geometry: { type: "Point", coordinates: [3, 3] } };
  assert.deepEqual(opened({ ...drawn(), paper: { avoid: tree } }, baseOf).left, ["Areas to keep out of"]);
  assert.ok(opened({ ...drawn(), paper: { title: "Elm St" } }, baseOf).left.length, "a title is the browser's");
});

test("a branch on ground that the form cannot show is named, and by its name", () => {
  const branch = {
    name: "A",
    joins_at: 12,
    route: { length: 9 },
    ground: { kind: "raster", raster: "other" },
    pipe: { code: "pvc-drain-4" },
    start: { cover: 200 },
  };
  const { left } = opened({ ...example("level_line"), branches: [branch] }, baseOf);
  assert.ok(left.length);
  assert.ok(
    left.every((what) => /A$/.test(what)),
    left.join("; "),
  );
});

test("how many changes of grade are not said, is not said by the page either", () => {
  const { plan, left } = opened({ ...example("level_line"), grade: { shape: "least_dig" } }, baseOf);
  assert.deepEqual([left, plan.grade.max_breaks], [[], ""]);
});
