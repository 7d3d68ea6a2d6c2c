// Where a picture lies on its plan. Expected values: triangles of whole sides (3, 4, 5), quarter
// turns, and areas; none of it by the code at hand.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import {
  bounds,
  corners,
  levelTurn,
  mapTie,
  northOnPlan,
  pictureBearing,
  placementOf,
  toPicture,
  toPlan,
} from "../../../frontend/model/geometry/placement.js";

const PICTURE = { width: 600, height: 400 };
const near = (found, wanted, within = 1e-9) =>
  found.forEach((value, i) => assert.ok(Math.abs(value - wanted[i]) <= within, `${found} is not ${wanted}`));

test("two points set the scale, and the lower left corner is 0, 0", () => {
  // (0, 0) to (300, 400) is 500 pixels: 25 m makes 0.05 m a pixel.
  const placement = placementOf(PICTURE, {
    points: [
      [0, 0],
      [300, 400],
    ],
    distance_m: 25,
  });
  assert.ok(Math.abs(placement.metresPerPixel - 0.05) < 1e-15);
  assert.equal(placement.clickErrorPercent, 0.2);
  near(toPlan(placement, [0, 400]), [0, 0]);
  near(toPlan(placement, [600, 0]), [30, 20]);
  near(bounds(placement), [0, 0, 30, 20]);
});

test("a turn of 90 is clockwise: what was up points to the right", () => {
  const placement = placementOf(PICTURE, {
    points: [
      [0, 0],
      [100, 0],
    ],
    distance_m: 10,
    turn: 90,
  });
  near(corners(placement).flat(), [40, 0, 40, -60, 0, -60, 0, 0]);
});

test("distances, angles and their sense are kept, and the way back is exact", () => {
  for (const turn of [0, 13, -77.7, 180, 300]) {
    const placement = placementOf(PICTURE, {
      points: [
        [12, 30],
        [512, 199],
      ],
      distance_m: 41.7,
      turn,
      origin: [250.5, 111],
    });
    near(toPlan(placement, [250.5, 111]), [0, 0]);
    const [p, q, r] = [
      [12, 30],
      [512, 199],
      [40, 380],
    ].map((uv) => toPlan(placement, uv));
    assert.ok(Math.abs(Math.hypot(q[0] - p[0], q[1] - p[1]) - 41.7) < 1e-9);
    // Twice the area of the triangle, counted positive where it runs against the clock with y up:
    // on the picture, with v down, the cross product is 500 * 350 - 169 * 28.
    const twice = (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
    const wanted = -(500 * 350 - 169 * 28) * placement.metresPerPixel ** 2;
    assert.ok(Math.abs(twice - wanted) < 1e-9 * Math.abs(wanted));
    for (const uv of [
      [0, 0],
      [599, 3],
      [-40, 900],
    ])
      near(toPicture(placement, toPlan(placement, uv)), uv, 1e-8);
  }
});

test("it lies where shapely lays it, as the service has it", () => {
  // fixtures/placement says how they were computed.
  const file = new URL("../../../fixtures/placement/cases.json", import.meta.url);
  const cases = JSON.parse(readFileSync(file, "utf8"));
  assert.ok(cases.length > 5);
  for (const { uv, xy_m, ...given } of cases) {
    const placement = placementOf({ width: 1700, height: 1100 }, given);
    uv.forEach((point, i) => near(toPlan(placement, point), xy_m[i]));
  }
});

test("points that coincide and distances of nothing place nothing", () => {
  assert.equal(
    placementOf(PICTURE, {
      points: [
        [5, 5],
        [5, 5],
      ],
      distance_m: 10,
    }),
    null,
  );
  assert.equal(
    placementOf(PICTURE, {
      points: [
        [5, 5],
        [50, 5],
      ],
      distance_m: 0,
    }),
    null,
  );
  assert.equal(
    placementOf(PICTURE, {
      points: [
        [5, 5],
        [50, 5],
      ],
      distance_m: NaN,
    }),
    null,
  );
});

test("north turns with the picture", () => {
  const scale = {
    points: [
      [0, 0],
      [100, 0],
    ],
    distance_m: 10,
  };
  assert.equal(northOnPlan(placementOf(PICTURE, { ...scale, north: 350, turn: 20 })), 10);
  assert.equal(northOnPlan(placementOf(PICTURE, { ...scale, north: 10, turn: -20 })), 350);
  assert.equal(northOnPlan(placementOf(PICTURE, scale)), null);
  // A north arrow drawn from lower left to upper right at 45 degrees, then towards the left.
  assert.equal(pictureBearing([100, 200], [200, 100]), 45);
  assert.equal(pictureBearing([100, 200], [50, 200]), 270);
});

test("a wall can be laid along an axis", () => {
  for (const [from, to] of [
    [
      [0, 0],
      [100, 7],
    ],
    [
      [0, 0],
      [-100, 7],
    ],
    [
      [50, 300],
      [58, 10],
    ],
    [
      [9, 9],
      [2, 80],
    ],
  ]) {
    const turn = levelTurn(from, to);
    assert.ok(Math.abs(turn) <= 45);
    const placement = placementOf(PICTURE, {
      points: [
        [0, 0],
        [100, 0],
      ],
      distance_m: 10,
      turn,
    });
    const [p, q] = [from, to].map((uv) => toPlan(placement, uv));
    assert.ok(Math.min(Math.abs(q[0] - p[0]), Math.abs(q[1] - p[1])) < 1e-9, `${from} to ${to}`);
  }
});

test("a plan laid on a map has its north up, in the map's units", () => {
  // North on the plan lies along its x axis (90 degrees): 10 m along x is 10 m north.
  const feet = mapTie([1000, 2000], 90, [0.3048, 0.3048]);
  near(feet.toMap([3.048, 0]), [1000, 2010]);
  near(feet.toMap([0, 3.048]), [990, 2000]);
  near(feet.toPlan([990, 2010]), [3.048, 3.048]);
  const degrees = mapTie([-93, 42], 33, [82_800, 111_070]);
  for (const xy of [
    [0, 0],
    [12.5, -40],
    [300, 7],
  ])
    near(degrees.toPlan(degrees.toMap(xy)), xy, 1e-6);
});
