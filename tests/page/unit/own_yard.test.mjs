// A yard of one's own: an empty sheet, and files of the same name told apart and deleted.
import assert from "node:assert/strict";
import { test } from "node:test";
import { BLANK, blankDocument, withLine } from "../../../frontend/model/document/document.js";
import { isBareSheet, offBase, ownYard, withPoints } from "../../../frontend/model/document/shapes.js";
import { toldApart } from "../../../frontend/model/wording/uploads.js";

const LINE = [
  [1, 2],
  [3, 4],
];

test("an own yard is a blank sheet with nothing of the plan before it", () => {
  const demo = withLine(
    { ...blankDocument("si"), base: "r", ground: "raster", route: { kind: "drawn", length: "", tape_length: "" } },
    LINE,
  );
  assert.equal(isBareSheet(demo), false);
  const own = ownYard(demo);
  assert.ok(isBareSheet(own));
  assert.deepEqual([own.base, own.units, own.ground, own.lines], [BLANK, "si", "level_line", {}]);
  assert.equal(isBareSheet(withLine(own, LINE)), false);
  assert.equal(isBareSheet(withPoints(own, "lot", LINE)), false);
});

test("two files of one name are told apart by the order of their coming", () => {
  const files = [
    { id: "c", name: "plot.png", uploaded_at: "2026-03-03" },
    { id: "a", name: "plot.png", uploaded_at: "2026-03-01" },
    { id: "b", name: "lot.pdf", uploaded_at: "2026-03-02" },
  ];
  assert.deepEqual(Object.fromEntries(toldApart(files)), { a: "plot.png", b: "lot.pdf", c: "plot.png (2)" });
});

test("what lay on a site plan that is gone goes to a blank sheet to scale; what lay on a raster does not", () => {
  const site = { ...ownYard(blankDocument("us")), base: "s", sites: { s: { points: [] } } };
  const off = offBase(withLine(site, LINE));
  assert.deepEqual([off.base, off.lines[BLANK], off.route.kind], [BLANK, LINE, "drawn"]);
  const over = offBase(withLine({ ...site, base: "r", ground: "raster" }, LINE));
  assert.deepEqual([over.base, over.lines[BLANK], over.ground, over.route.kind], [BLANK, undefined, "level_line", "drawn"]);
});
