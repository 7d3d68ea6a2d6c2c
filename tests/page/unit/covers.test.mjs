// What bears on the ground above: stretches typed, and areas of the map that become stretches.
import assert from "node:assert/strict";
import { test } from "node:test";
import { blankDocument, completed, inUnits, withGround, withLine, withValue } from "../../../frontend/model/document/document.js";
import { withBranch, withCover, withoutBranch } from "../../../frontend/model/document/line_items.js";
import { onBase, pointsOf, shapesMoved, shapesOf, withoutShape, withPoints, withShape } from "../../../frontend/model/document/shapes.js";
import { planeOf } from "../../../frontend/model/geometry/polyline.js";
import { coverLacks, stretchesUnder, uncountedCovers, underWords } from "../../../frontend/model/request/covers.js";
import { buildRequest, pathOf } from "../../../frontend/model/request/request.js";

const FT = 0.3048;
const BASE = { id: "blank", route_crs: "local", origin: [0, 0], metres_per_unit: [1, 1] };
const metres = (points) => points.map(([x, y]) => [x * FT, y * FT]);
// A drive of 10 ft across a line along x, from 20 to 30 ft.
const DRIVE = metres([
  [20, -5],
  [30, -5],
  [30, 5],
  [20, 5],
]);

// A line on the blank sheet, elevations along it, and a drawn drive; all in feet.
function drawn(points, ring = DRIVE) {
  let plan = { ...withGround(blankDocument(), "elevations"), route: { kind: "drawn", length: "", tape_length: "" } };
  plan = withLine(plan, metres(points));
  for (const [i, [at, elevation]] of [
    ["0", "100"],
    ["60", "97"],
  ].entries()) {
    plan = withValue(withValue(plan, `elevations.rows.${i}.at`, at), `elevations.rows.${i}.elevation`, elevation);
  }
  const made = withShape(plan, "cover");
  plan = withPoints(made.plan, made.id, ring);
  return withValue(withValue(plan, "covers.rows.0.what", "drive"), "covers.rows.0.cover", "12");
}

test("an area is a stretch wherever a line runs through it, outward to what a tape shows", () => {
  const along = {
    line: metres([
      [0, 0],
      [60, 0],
    ]),
    scale: 1 / FT,
  };
  assert.deepEqual(stretchesUnder(DRIVE, along, "us"), [[20, 30]]);
  const skew = metres([
    [20.001, -5],
    [29.999, -5],
    [29.999, 5],
    [20.001, 5],
  ]);
  assert.deepEqual(stretchesUnder(skew, along, "us"), [[20, 30]]);
  const twice = metres([
    [0, 0],
    [40, 0],
    [40, 3],
    [0, 3],
  ]);
  assert.deepEqual(stretchesUnder(DRIVE, { ...along, line: twice }, "us"), [
    [20, 30],
    [53, 63],
  ]);
  assert.deepEqual(
    stretchesUnder(
      DRIVE,
      {
        ...along,
        line: metres([
          [0, 5.01],
          [60, 5.01],
        ]),
      },
      "us",
    ),
    [],
  );
  assert.deepEqual(
    stretchesUnder(
      DRIVE,
      {
        ...along,
        line: metres([
          [0, 0],
          [24.996, 0],
        ]),
      },
      "us",
    ),
    [[20, 25]],
  );
  assert.deepEqual(stretchesUnder(DRIVE, { ...along, scale: 1.1 / FT }, "us"), [[22, 33]]); // a tape 10 % longer
});

test("an area goes out as stretches of every line under it, and follows a line that moves", () => {
  const plan = drawn([
    [0, 0],
    [60, 0],
  ]);
  const { body, places } = buildRequest(plan, BASE);
  assert.deepEqual(body.covers, [{ from: 20, to: 30, cover: 12, what: "drive" }]);
  assert.equal(pathOf("/covers/0/cover", places), "covers.rows.0.cover");
  assert.equal(pathOf("/covers/0/to", places), "covers.rows.0"); // an area has no field for a station
  const moved = withLine(
    plan,
    metres([
      [10, 0],
      [60, 0],
    ]),
  );
  assert.deepEqual(buildRequest(moved, BASE).body.covers, [{ from: 10, to: 20, cover: 12, what: "drive" }]);
  assert.equal(
    buildRequest(
      withLine(
        plan,
        metres([
          [0, 9],
          [60, 9],
        ]),
      ),
      BASE,
    ).body.covers,
    undefined,
  );
  const { plan: more, key } = withBranch(plan, "drawn");
  let branched = withPoints(
    more,
    `branch:${key}`,
    metres([
      [25, 20],
      [25, 0],
    ]),
  );
  for (const [i, [at, down]] of [
    ["0", "9"],
    ["20", "20"],
  ].entries()) {
    branched = withValue(withValue(branched, `branch_readings.rows.${i}.at`, at), `branch_readings.rows.${i}.down`, down);
  }
  const [branch] = buildRequest(branched, BASE).body.branches;
  assert.deepEqual(branch.covers, [{ from: 15, to: 20, cover: 12, what: "drive" }]);
  const plane = planeOf(BASE);
  const along = {
    line: metres([
      [0, 0],
      [60, 0],
    ]),
    scale: 1 / FT,
    toMetres: plane.toMetres,
  };
  assert.equal(underWords(plan, plan.covers.rows[0], [{ name: "the main line", along }]), "Above the main line from 0+20 to 0+30.");
  assert.equal(underWords(plan, plan.covers.rows[0], []), "No pipe runs under it.");
});

test("typed stretches go out on their line, and what is lacking is named", () => {
  const taped = withValue(
    withValue(withCover(blankDocument(), { what: "walk", cover: "6" }).plan, "covers.rows.0.from", "10"),
    "covers.rows.0.to",
    "13 1/2",
  );
  const readings = {
    "level_line.rows.0.at": "0",
    "level_line.rows.0.down": "9",
    "level_line.rows.1.at": "40",
    "level_line.rows.1.down": "20",
  };
  const plan = Object.entries(readings).reduce((now, [path, value]) => withValue(now, path, value), taped);
  const { body, places } = buildRequest(plan, BASE);
  assert.deepEqual(body.covers, [{ from: 10, to: 13.5, cover: 6, what: "walk" }]);
  assert.equal(pathOf("/covers/0/to", places), "covers.rows.0.to");
  assert.equal(buildRequest(inUnits(plan, "si"), BASE).body.covers[0].cover, 152.4);
  const lacking = withValue(plan, "covers.rows.0.to", "");
  assert.equal(buildRequest(lacking, BASE).body.covers, undefined);
  assert.deepEqual(coverLacks(lacking, lacking.covers.rows[0]), ["where it ends"]);
  assert.deepEqual(uncountedCovers(lacking), ["The cover under the walk is not counted yet. Still needed: where it ends."]);
  const area = withCover(blankDocument(), { run: "drawn" }).plan;
  assert.deepEqual(coverLacks(area, area.covers.rows[0]).slice(2), ["a line on the map", "its corners on the map"]);
});

test("an area is a shape of the map, kept with its base, moved with it, and gone when removed", () => {
  const plan = drawn([
    [0, 0],
    [60, 0],
  ]);
  const id = "cover:c1";
  assert.deepEqual(
    shapesOf(plan).find((shape) => shape.id === id),
    { id, name: "drive" },
  );
  const shifted = shapesMoved(plan, "blank", ([x, y]) => [x + 1, y]);
  assert.deepEqual(pointsOf(shifted, id)[0], [DRIVE[0][0] + 1, DRIVE[0][1]]);
  assert.deepEqual(
    pointsOf(
      onBase(plan, "r", ([x, y]) => [x, y + 2]),
      id,
    )[0],
    [DRIVE[0][0], DRIVE[0][1] + 2],
  );
  assert.deepEqual(completed(plan).covers, plan.covers);
  assert.deepEqual(withoutShape(plan, id).covers.rows, []);
  const on = withCover(withBranch(plan, "taped").plan, { what: "walk", on: "b1" }).plan;
  assert.deepEqual(
    withoutBranch(on, "b1").covers.rows.map(({ key }) => key),
    ["c1"],
  );
});
