// A lot and its buildings from a source, as the outlines of a plan.
import assert from "node:assert/strict";
import { test } from "node:test";
import { blankDocument } from "../../../frontend/model/document/document.js";
import { HeldLots } from "../../../frontend/model/document/held_lots.js";
import { beginsOn, byCorners, groundAround, withDrawn, withLot } from "../../../frontend/model/document/lot.js";
import { outlinesOf, withName } from "../../../frontend/model/document/shapes.js";

const box = (x, y, wide, tall) => [
  [x, y],
  [x + wide, y],
  [x + wide, y + tall],
  [x, y + tall],
  [x, y],
];
const area = (kind, id, ...rings) => ({
  type: "Feature",
  id,
  properties: { kind, source: "town" },
  geometry:
    rings.length === 1 ? { type: "Polygon", coordinates: rings } : { type: "MultiPolygon", coordinates: rings.map((ring) => [ring]) },
});

const OLD = { name: "Old", ring: box(1, 1, 2, 2), sourced: true };
const DRAWN = { name: "Gas line", ring: box(2, 2, 1, 9) };

test("a lot and its house replace those before, and what somebody drew stays", () => {
  const before = {
    ...blankDocument(),
    base: "r",
    outlines: { r: { lot: box(0, 0, 1, 1), avoid: [OLD, DRAWN], targets: [] } },
  };
  const plan = withLot(before, [area("lot", "13", box(0, 0, 20, 40)), area("building", "7", box(4, 4, 8, 9))]);
  const { lot, avoid } = outlinesOf(plan);
  assert.deepEqual(lot, box(0, 0, 20, 40).slice(0, -1));
  const house = { name: "House", ring: box(4, 4, 8, 9).slice(0, -1), sourced: true };
  assert.deepEqual(avoid, [house, DRAWN]);
  assert.deepEqual(outlinesOf(before).avoid.length, 2);
  const mine = withName(plan, "avoid:0", "My house");
  const again = withLot(mine, [area("lot", "14", box(0, 0, 9, 9))]);
  assert.deepEqual(
    outlinesOf(again).avoid.map(({ name }) => name),
    ["My house", "Gas line"],
    "a house that somebody changed is theirs",
  );
});

test("what is drawn goes along onto other ground, or is told by its name", () => {
  const far = { name: "Septic field", ring: box(500, 500, 5, 5) };
  const fixed = [{ name: "", points: [[3, 3]] }];
  const before = { ...blankDocument(), base: "r", outlines: { r: { lot: [], avoid: [OLD, DRAWN, far], targets: [], fixed } } };
  const next = { ...before, base: "s" };
  const ground = { bounds: [0, 0, 100, 100] };
  const there = withDrawn(before, next, ([x, y]) => [x + 1, y], ground);
  assert.deepEqual(there.left, ["Septic field"]);
  assert.deepEqual(outlinesOf(there.plan).avoid, [{ ...DRAWN, ring: box(3, 2, 1, 9) }]);
  assert.deepEqual(outlinesOf(there.plan).fixed[0].points, [[4, 3]]);
  assert.deepEqual(withDrawn(before, there.plan, ([x, y]) => [x + 1, y], ground).plan, there.plan, "not twice");
  assert.deepEqual(withDrawn(before, next, null, ground).left, ["Gas line", "Septic field", "Fixed point 1"]);
  assert.deepEqual(withDrawn(before, before, null, ground).left, [], "it is the same ground");
});

test("several buildings go by their ids, each part of one by itself", () => {
  const parts = area("building", "7", box(4, 4, 2, 2), box(9, 9, 1, 1));
  const plan = withLot(blankDocument(), [area("lot", "13", box(0, 0, 20, 40)), parts, area("building", "8", box(1, 1, 1, 1))]);
  assert.deepEqual(
    outlinesOf(plan).avoid.map(({ name }) => name),
    ["Building 7", "Building 7", "Building 8"],
  );
});

test("of a lot in several parts the largest is taken; without a lot nothing changes", () => {
  const plan = withLot(blankDocument(), [area("lot", "13", box(50, 50, 2, 2), box(0, 0, 20, 40), box(90, 90, 3, 3))]);
  assert.deepEqual(outlinesOf(plan).lot, box(0, 0, 20, 40).slice(0, -1));
  assert.equal(withLot(plan, []), plan);
});

test("the ground taken holds 60 m around the middle, and 15 m beside what is wider", () => {
  const size = [80_000, 111_000];
  const [west, south, east, north] = groundAround([-83, 41, -83, 41], size);
  assert.ok(Math.abs((-83 - west) * size[0] - 60) < 1e-6 && Math.abs((north - 41) * size[1] - 60) < 1e-6);
  assert.ok(Math.abs(east + west + 166) < 1e-9 && Math.abs(north + south - 82) < 1e-9);
  const [left, low] = groundAround([-83.002, 41, -83, 41.0001], size);
  assert.ok(Math.abs((-83.002 - left) * size[0] - 15) < 1e-6);
  assert.ok(Math.abs((41.00005 - low) * size[1] - 60) < 1e-6);
});

test("a line belongs to the lot that it begins on", () => {
  const drawn = (x, y) => ({
    ...blankDocument(),
    lines: {
      blank: [
        [x, y],
        [90, 90],
      ],
    },
  });
  const features = [area("lot", "13", box(0, 0, 20, 40))];
  assert.equal(beginsOn(drawn(5, 5), features), true);
  assert.equal(beginsOn(drawn(25, 5), features), false);
  assert.equal(beginsOn(blankDocument(), features), false);
});

test("a turned and scaled yard is carried over by three corners", () => {
  const turned = ([x, y]) => [100 + 2 * x - y, 50 + x + 3 * y];
  const corners = [
    [0, 0],
    [10, 1],
    [1, 8],
  ];
  const carry = byCorners(corners, corners.map(turned));
  for (const point of [...corners, [4, 5], [-3, 12]]) {
    carry(point).forEach((value, k) => {
      assert.ok(Math.abs(value - turned(point)[k]) < 1e-9);
    });
  }
});

test("a lot that was taken is known again by any place on it, but for its holes and smaller lots", () => {
  const held = new HeldLots();
  const wide = [area("lot", "1", box(0, 0, 20, 40))];
  wide[0].geometry.coordinates.push(box(1, 1, 3, 3));
  const small = [area("lot", "2", box(10, 10, 5, 5))];
  held.put(wide, "EPSG:1", "valley", "ground of 1", 0);
  held.put(small, "EPSG:1", "valley", "ground of 2", 0);
  const found = (x, y, crs = "EPSG:1", name = "valley", now = 1) => held.at({ at: [x, y], crs }, name, now)?.taken;
  assert.equal(found(6, 30), "ground of 1");
  assert.equal(found(12, 12), "ground of 2");
  assert.equal(found(2, 2), undefined, "it lies in a hole");
  assert.equal(found(30, 30), undefined);
  assert.equal(found(6, 30, "EPSG:2"), undefined);
  assert.equal(found(6, 30, "EPSG:1", "other"), undefined);
  assert.equal(found(6, 30, "EPSG:1", "valley", 700_000), undefined, "it is too long ago");
  held.put(wide, "EPSG:1", "valley", "newer ground of 1", 0);
  assert.equal(found(6, 30), "newer ground of 1");
  held.drop(wide);
  assert.equal(found(6, 30), undefined);
  held.put([], "EPSG:1", "valley", "no lot", 0);
  assert.equal(found(6, 30), undefined);
});
