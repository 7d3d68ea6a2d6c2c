// All of the contract's plan can be set on the page: every leaf of `PlanBody` comes out of some
// plan of the page, and what comes out, opened again, is the same plan.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { blankDocument, inUnits } from "../../../frontend/model/document/document.js";
import { siteBase } from "../../../frontend/model/document/site_plans.js";
import { opened } from "../../../frontend/model/load/load.js";
import { withPaper } from "../../../frontend/model/request/paper.js";
import { buildRequest, pathOf } from "../../../frontend/model/request/request.js";

const read = (path) => JSON.parse(readFileSync(new URL(`../../../${path}`, import.meta.url)));
const { schemas } = read("openapi/openapi.json").components;
const WHOLE = ["level_line", "rod", "elevations", "slopes", "steps", "length_and_drop", "pipe_drop", "spots", "raster"].map((name) => ({
  name,
  request: read(`fixtures/whole_plans/${name}.json`),
}));

// What no plan of the page holds, and why.
const HEAD = "typed at the head of the papers, which is the browser's and no plan's; tests/page/test_whole_plan.py finds it";
const NOT_TYPED = {
  ...Object.fromEntries(["title", "place", "prepared_for", "prepared_by", "date", "page"].map((name) => [`/paper/${name}`, HEAD])),
  "/paper/beneath/origin/#": "for a program that lays a picture by a corner; the page's lies by its first corner",
  "/explain": "a program's wish for a short answer; the page sends it by itself while a hand drags",
  "/ground/name": "for a program; the page keeps the part of a source that it uses, as a raster of its own",
  "/branches/#/ground/name": "likewise",
  "/pipe/min_percent": "the same as /grade/min_percent, which is the page's least grade",
  "/branches/#/pipe/min_percent": "the same as /branches/#/grade/min_percent",
};

// Pointers of a schema's leaves, # for any row. A branch in a branch has the leaves of a branch.
function schemaLeaves(schema, at = "", within = []) {
  const name = schema.$ref?.split("/").at(-1);
  if (name) return within.includes(name) ? [] : schemaLeaves(schemas[name], at, [...within, name]);
  const forms = [...(schema.oneOf ?? []), ...(schema.anyOf ?? []), ...(schema.allOf ?? [])];
  if (forms.length) return forms.flatMap((form) => schemaLeaves(form, at, within));
  if (schema.properties) {
    return Object.entries(schema.properties).flatMap(([key, part]) => schemaLeaves(part, `${at}/${key}`, within));
  }
  assert.ok(schema.type !== "object", `${at} holds names that this walk does not know`);
  return schema.type === "array" ? schemaLeaves(schema.items, `${at}/#`, within) : [at];
}

function leaves(value, at = "") {
  if (value === null || typeof value !== "object") return [at];
  return Object.entries(value).flatMap(([key, part]) => leaves(part, `${at}/${key}`));
}

// A shape of GeoJSON (RFC 7946) comes from the map as a whole: its `type` stands for it.
const ofShapes = (leaf) => leaf.replace(/^(\/paper\/(within|avoid|fixed))\/.*/, "$1/type");

const general = (pointer) => pointer.replaceAll(/\/\d+/g, "/#").replace(/^(\/branches\/#)+/, "/branches/#");

function baseOf({ request: { route, ground } }) {
  const flat = { route_crs: "local", origin: [0, 0], metres_per_unit: [1, 1] };
  const known = { blank: { ...flat, id: "blank" }, [ground.raster]: { ...flat, id: ground.raster, route_crs: route.crs } };
  return (id) => known[id] ?? null;
}

function throughThePage(whole) {
  const bases = baseOf(whole);
  const { plan, left } = opened(whole.request, bases);
  const base = bases(plan.base);
  const asked = buildRequest(plan, base);
  return { ...asked, plan, left, base, body: withPaper(asked.body, plan, base, null) };
}

// What papers show beneath a line: the relief, or the site plan that it is drawn on.
function beneathLines() {
  const body = WHOLE.find(({ name }) => name === "rod").request;
  const site = {
    points: [
      [400, 500],
      [800, 500],
    ],
    distance: "40",
    turn: "17",
    north: "",
    tie: null,
  };
  const plan = { ...blankDocument(), base: "s", ground: "rod", sites: { s: site } };
  const relief = { id: "r", route_crs: "local", metres_per_unit: [1, 1], relief: "r.png" };
  const picture = siteBase({ id: "s", name: "plot", width: 1200, height: 900 }, site, "us");
  return [withPaper(body, { ...plan, base: "r" }, relief, null), withPaper(body, plan, picture, null)];
}

// Numbers to a millionth: the page keeps a local line in metres, and works out where it joins.
const even = (value) => {
  if (typeof value === "number") return Math.round(value * 1e6) / 1e6;
  if (Array.isArray(value)) return value.map(even);
  if (value === null || typeof value !== "object") return value;
  return Object.fromEntries(
    Object.keys(value)
      .sort()
      .map((key) => [key, even(value[key])]),
  );
};

test("every leaf of the contract's plan comes out of the page, but for what nobody types", () => {
  const contract = new Set(schemaLeaves(schemas.PlanBody).map(ofShapes));
  const bodies = [...WHOLE.map((whole) => throughThePage(whole).body), ...beneathLines()];
  const sent = new Set(bodies.flatMap((body) => leaves(body).map(general)).map(ofShapes));
  assert.ok(contract.size > 150, "the walk finds the contract's leaves");
  assert.deepEqual(
    [...contract].filter((leaf) => !sent.has(leaf) && !NOT_TYPED[leaf]),
    [],
  );
  assert.deepEqual(
    [...sent].filter((leaf) => !contract.has(leaf)),
    [],
  );
  assert.deepEqual(
    Object.keys(NOT_TYPED).filter((leaf) => !contract.has(leaf) || sent.has(leaf)),
    [],
  );
});

test("a whole plan, opened on the page and asked again, is the same plan", () => {
  for (const whole of WHOLE) {
    const { left, problems, body } = throughThePage(whole);
    assert.deepEqual([whole.name, left, problems], [whole.name, [], []]);
    assert.deepEqual(even(body), even(whole.request));
  }
});

test("a whole plan asks for the same trench in the other units, and comes back as it was typed", () => {
  for (const whole of WHOLE) {
    const { plan, base, body } = throughThePage(whole);
    const other = inUnits(plan, plan.units === "us" ? "si" : "us");
    const ask = (one) => withPaper(buildRequest(one, base).body, one, base, null);
    assert.deepEqual(leaves(ask(other)), leaves(body));
    assert.deepEqual(even(ask(inUnits(other, plan.units))), even(body));
  }
});

test("an error at any leaf of a branch is told at a field of its own", () => {
  const asLine = ["joins_at", "crs", "raster", "kind", "vertical_unit", "type"]; // by the map, or the ground as a whole
  for (const whole of WHOLE) {
    const { body, places } = throughThePage(whole);
    for (const pointer of leaves(body).filter((one) => one.startsWith("/branches/"))) {
      const [last] = pointer.split("/").slice(-1);
      if (asLine.includes(last) || pointer.includes("/coordinates/") || pathOf(pointer, places)?.endsWith(".ground")) continue;
      assert.match(pathOf(pointer, places) ?? pointer, /^[a-z_]+\.rows\.\d+\.\w+$/);
    }
  }
});
