// What the papers show around the drain.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { blankDocument, inUnits } from "../../../frontend/model/document/document.js";
import { siteBase } from "../../../frontend/model/document/site_plans.js";
import { cornersNow, cornersOf, withPaper } from "../../../frontend/model/request/paper.js";
import { differences } from "../../../frontend/model/wording/jobs.js";

const DEMO = JSON.parse(readFileSync(new URL("../../../fixtures/demo/yard.json", import.meta.url)));
const RASTER = { id: "r", route_crs: DEMO.crs, metres_per_unit: [1, 1], bounds: [0, 0, 40, 60], relief: "r.png" };
const BLANK = { id: "blank", route_crs: "local", metres_per_unit: [1, 1], bounds: [0, 0, 60, 45] };
const LINE = {
  route: {
    line: {
      type: "LineString",
      coordinates: [
        [0, 0],
        [1, 1],
      ],
    },
  },
};
const names = ({ features }) => features.map(({ properties }) => properties.name);

test("the demo yard's papers show what its search heeds; its relief lies beneath unasked", () => {
  const plan = { ...blankDocument(), base: "r", ground: "raster" };
  const { paper } = withPaper(LINE, plan, RASTER, DEMO.features);
  assert.deepEqual(names(paper.avoid), ["House", "Patio", "Drive", "Septic field", "Gas line"]);
  assert.deepEqual(names(paper.within), ["Lot line"]);
  assert.equal(paper.clearance, 2);
  assert.equal(paper.beneath, undefined);
  assert.deepEqual(withPaper(LINE, { ...plan, ground: "rod" }, RASTER, null), { ...LINE, paper: { beneath: { raster: "r" } } });
});

test("a taped run and a bare sheet send nothing; a clearance that cannot be is left out", () => {
  const plan = { ...blankDocument(), base: "r" };
  const taped = { route: { length: 5 } };
  assert.equal(withPaper(taped, plan, RASTER, DEMO.features), taped);
  assert.equal(withPaper(LINE, blankDocument(), BLANK, null), LINE);
  const odd = { ...plan, search: { ...plan.search, clearance: "-3" } };
  assert.equal(withPaper(LINE, odd, RASTER, DEMO.features).paper.clearance, undefined);
});

test("what is drawn on a site plan goes in the units of the page, the plan as it lies", () => {
  const picture = { id: "s", name: "plot", width: 1200, height: 900 };
  const site = {
    points: [
      [400, 500],
      [800, 500],
    ],
    distance: "40",
    turn: "17",
    north: "5",
    tie: null,
  };
  const ring = [
    [3.048, 0],
    [6.096, 0],
    [3.048, 3.048],
  ];
  const plan = { ...blankDocument(), base: "s", sites: { s: site }, outlines: { s: { lot: [], avoid: [{ name: "", ring }] } } };
  const { paper } = withPaper(LINE, plan, siteBase(picture, site, "us"), null);
  assert.deepEqual(names(paper.avoid), ["Area 1"]);
  assert.deepEqual(
    paper.avoid.features[0].geometry.coordinates[0].map((xy) => xy.map((v) => Math.round(v * 1e9) / 1e9)),
    [
      [10, 0],
      [20, 0],
      [10, 10],
      [10, 0],
    ],
  );
  assert.deepEqual(paper.beneath, { site_plan: "s", scale: { points: site.points, distance: 40 }, turn: 17 });
  const metric = inUnits(plan, "si");
  const { beneath } = withPaper(LINE, metric, siteBase(picture, metric.sites.s, "si"), null).paper;
  assert.equal(Math.round(beneath.scale.distance * 1e6) / 1e6, 12.192);
});

test("an area moved between two saves is told by its name and corners", () => {
  const request = (x) => ({
    ...LINE,
    units: "us",
    paper: {
      avoid: {
        type: "FeatureCollection",
        features: [
          {
            properties: { name: "Oak" },
            geometry: {
              type: "Polygon",
              coordinates: [
                [
                  [0, 0],
                  [x, 0],
                  [0, 1],
                  [0, 0],
                ],
              ],
            },
          },
        ],
      },
    },
  });
  assert.deepEqual(differences(request(1), request(2)), [
    { what: "Areas to keep out of", was: "Oak: 0, 0; 1, 0; 0, 1; 0, 0", now: "Oak: 0, 0; 2, 0; 0, 1; 0, 0" },
  ]);
  const site = (turn) => ({ ...LINE, units: "us", paper: { beneath: { site_plan: "s", scale: { points: [], distance: 40 }, turn } } });
  assert.deepEqual(differences(site(0), site(17)), [
    { what: "What the line is drawn on", was: "a site plan, A to B 40 ft, turned by 0°", now: "a site plan, A to B 40 ft, turned by 17°" },
  ]);
});

test("stakes are taped from the corners of an area, by its name", () => {
  const plan = { ...blankDocument(), base: "r", ground: "raster" };
  const staked = (stakes) => withPaper(LINE, { ...plan, stakes }, RASTER, DEMO.features);
  const body = staked({ from: "", tags: false });
  assert.deepEqual(cornersOf(body), ["House", "Patio", "Drive", "Septic field"]);
  assert.deepEqual([body.paper.fixed, body.paper.tags], [undefined, undefined]);
  const unasked = withPaper(LINE, plan, RASTER, DEMO.features).paper;
  assert.deepEqual([names(unasked.fixed), unasked.tags], [["House"], undefined]);
  const { paper } = staked({ from: "Drive", tags: true });
  assert.deepEqual([names(paper.fixed), paper.tags], [["Drive"], true]);
  assert.equal(staked({ from: "Shed, since removed", tags: false }).paper.fixed, undefined);
  assert.deepEqual(cornersOf({}), []);
  assert.equal(cornersNow({}, plan), "");
  const taped = { route: { length: 5 } };
  assert.deepEqual(withPaper(taped, { ...plan, stakes: { from: null, tags: true } }, RASTER, null).paper, { tags: true });
});

test("points marked on the map are taped from too, with an area's corners or alone", () => {
  const fixed = [{ name: "Gate post", points: [[100, 200]] }];
  const plan = { ...blankDocument(), base: "r", ground: "raster", outlines: { r: { lot: [], avoid: [], fixed } } };
  const taped = (from) => withPaper(LINE, { ...plan, stakes: { from, tags: false } }, RASTER, DEMO.features).paper.fixed;
  assert.deepEqual(names(taped("")), ["Gate post"]);
  assert.equal(taped("").features[0].geometry.type, "Point");
  assert.deepEqual(names(taped("House")), ["House", "Gate post"]);
});
