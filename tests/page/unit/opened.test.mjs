// Requests that other software kept, opened on the page: asked again, they are the same request.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { opened } from "../../../frontend/sums/opened.js";
import { buildRequest } from "../../../frontend/sums/request.js";

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
    if (request.grade?.shape === "straight") delete request.grade.shape; // the usual, said or not
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
