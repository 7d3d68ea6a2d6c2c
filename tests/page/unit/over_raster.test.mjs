// Hand readings over a raster: which go into the request, and which requests have none.
import assert from "node:assert/strict";
import { test } from "node:test";
import { blankDocument, completed, inUnits, withLine, withValue } from "../../../frontend/model/document/document.js";
import { opened } from "../../../frontend/model/load/load.js";
import { leftOut, searchRequest, withRoute } from "../../../frontend/model/request/reach.js";
import { buildRequest, pathOf } from "../../../frontend/model/request/request.js";

const base = { id: "r", route_crs: "EPSG:26915", origin: [0, 0], metres_per_unit: [1, 1], bounds: [0, 0, 60, 60] };
const row = (at, down, line = "") => ({ at, down, line });

function over(rows, read_with = "") {
  const plan = { ...blankDocument(), base: "r", ground: "raster", raster: { vertical_unit: "m", read_with } };
  return withLine({ ...plan, route: { ...plan.route, kind: "drawn" }, over_raster: { rows } }, [
    [5, 5],
    [25, 5],
  ]);
}

test("a raster without readings is asked for alone", () => {
  const { body, unfinished } = buildRequest(over([row("", ""), row("", "")], "rotary_laser"), base);
  assert.deepEqual(body.ground, { kind: "raster", raster: "r", vertical_unit: "m" });
  assert.deepEqual(unfinished, []);
});

test("readings go into the request, blank rows between them left out, and errors find their cells", () => {
  const plan = over([row("0", "12"), row("", ""), row("30", "1 ft 3 1/2 in")], "water_level");
  const { body, places } = buildRequest(plan, base);
  assert.deepEqual(body.ground.readings, [
    { at: 0, down: 12 },
    { at: 30, down: 15.5 },
  ]);
  assert.equal(body.ground.read_with, "water_level");
  assert.equal(pathOf("/ground/readings/1/down", places), "over_raster.rows.2.down");
  assert.equal(pathOf("/ground/readings/0", places), "over_raster.rows.0");
  assert.equal(pathOf("/ground/read_with", places), "raster.read_with");
});

test("half a row, and a reading alone on its string, wait for the rest", () => {
  const { body, unfinished } = buildRequest(over([row("0", "12"), row("10", ""), row("30", "14"), row("40", "9", "B")]), base);
  assert.deepEqual(
    body.ground.readings.map(({ at }) => at),
    [0, 30],
  );
  assert.deepEqual(unfinished, ["over_raster.rows.1", "over_raster.rows.3"]);
  assert.equal(buildRequest(over([row("0", "12")]), base).body.ground.readings, undefined);
});

test("what is no measure is told at its cell", () => {
  const { body, problems } = buildRequest(over([row("0", "twelve"), row("30", "14")]), base);
  assert.equal(body, null);
  assert.deepEqual(
    problems.map(({ path }) => path),
    ["over_raster.rows.0.down"],
  );
});

test("a search of the yard goes by the raster alone, and says so where there are readings", () => {
  const read = over([row("0", "12"), row("30", "14")], "hand_level");
  const { body } = searchRequest(read, base, null);
  assert.deepEqual(body.ground, { kind: "raster", raster: "r", vertical_unit: "m" });
  assert.match(leftOut(read).join(" "), /goes by the raster alone/);
  assert.deepEqual(leftOut(over([row("", "")])), []);
  assert.deepEqual(leftOut({ ...read, ground: "spots" }), []);
});

test("a route used as the line does not take over what was read along another", () => {
  const read = over([row("0", "12"), row("30", "14")], "hand_level");
  const next = withRoute(read, {
    line: {
      coordinates: [
        [9, 9],
        [30, 20],
      ],
    },
    plan_request: {},
  });
  assert.equal(buildRequest(read, base).body.ground.readings.length, 2);
  assert.equal(buildRequest(next, base).body.ground.readings, undefined);
  assert.equal(next.over_raster.rows.length, 3);
});

test("a kept request opens with its readings, in either units", () => {
  const { body } = buildRequest(over([row("0", "12", "A"), row("30", "14", "A")], "builders_level"), base);
  const { plan, left } = opened(body, () => base);
  assert.deepEqual(left, []);
  assert.deepEqual(plan.over_raster.rows, [row("0", "12", "A"), row("30", "14", "A")]);
  assert.equal(plan.raster.read_with, "builders_level");
  const metric = buildRequest(inUnits(plan, "si"), base).body.ground.readings;
  assert.deepEqual(metric, [
    { at: 0, down: 304.8, line: "A" },
    { at: 9.144, down: 355.6, line: "A" },
  ]);
});

test("a plan kept before there were readings over a raster has an empty table", () => {
  const { over_raster: _, ...old } = withValue(over([]), "raster", { vertical_unit: "ft" });
  const plan = completed(old);
  assert.equal(plan.over_raster.rows.length, 3);
  assert.deepEqual(plan.raster, { vertical_unit: "ft", read_with: "" });
});
