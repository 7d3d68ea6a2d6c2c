// What is in view of the earth, and where a picture of it lies on a base's plane.
import assert from "node:assert/strict";
import { test } from "node:test";
import { georeferenceOf } from "../../../frontend/model/document/georeference.js";
import { covers, grown, laid, longSideM, meets, partAbout } from "../../../frontend/model/geometry/view_part.js";

const near = (found, wanted) => found.forEach((value, i) => assert.ok(Math.abs(value - wanted[i]) < 1e-9, `${found} is not ${wanted}`));

test("a part is that about its points, and tells what it covers and meets", () => {
  const part = partAbout([
    [3, 1],
    [1, 5],
    [2, 4],
  ]);
  assert.deepEqual(part, [1, 1, 3, 5]);
  assert.deepEqual(grown(part, 0.5), [0, -1, 4, 7]);
  assert.ok(covers(grown(part, 0.2), part));
  assert.ok(!covers(part, grown(part, 0.2)));
  assert.ok(meets(part, [3, 5, 9, 9]));
  assert.ok(!meets(part, [3.1, 0, 9, 9]));
  assert.equal(longSideM(part, [10, 1]), 20);
});

test("a base lies where its own system has it, a tied site plan where it was tied, any other nowhere", () => {
  const feet = [{ route_crs: "EPSG:2253", metres_per_unit: [0.3048, 0.3048] }];
  const online = { route_crs: "OGC:CRS84", metres_per_unit: [83_000, 111_000] };
  assert.deepEqual(georeferenceOf(online, feet).to([5, 6]), [5, 6]);
  assert.equal(georeferenceOf({ route_crs: "local", tie: null, north: 3 }, feet), null);
  assert.equal(georeferenceOf(null, feet), null);
  const tied = { route_crs: "local", north: 90, tie: { crs: "EPSG:2253", origin: [1000, 2000] } };
  assert.equal(georeferenceOf(tied, []), null);
  // North is to the right of the picture, so 3.048 m to the right are 10 ft to the north.
  const { crs, size, to, from } = georeferenceOf(tied, feet);
  assert.deepEqual([crs, size], ["EPSG:2253", [0.3048, 0.3048]]);
  near(to([3.048, 0]), [1000, 2010]);
  near(from([1000, 2010]), [3.048, 0]);
});

test("a picture is laid by its corners, turned where the base is", () => {
  // A quarter turn: north to the right, so east points down.
  const place = ([x, y]) => [y, -x];
  const { part, matrix } = laid([10, 20, 14, 28], place);
  assert.deepEqual(part, [20, -14, 28, -10]);
  const [a, b, c, d, e, f] = matrix;
  const at = (u, v) => [a * u + c * v + e, -(b * u + d * v + f)];
  near(at(0, 0), place([10, 28]));
  near(at(1, 0), place([14, 28]));
  near(at(0, 1), place([10, 20]));
  near(at(0.25, 0.5), place([11, 24]));
});
