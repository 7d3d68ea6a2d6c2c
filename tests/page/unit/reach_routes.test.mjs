// Where the routes of a search come out and by which grades. Distances and sides are worked out by hand
// on a plane of metres; 10 ft is IRC R401.3.
import assert from "node:assert/strict";
import { test } from "node:test";
import { blankDocument, withLine } from "../../../frontend/model/document/document.js";
import { withPoints, withShape } from "../../../frontend/model/document/shapes.js";
import { planeOf } from "../../../frontend/model/geometry/polyline.js";
import { withoutLotLine } from "../../../frontend/model/request/reach.js";
import { chanceWords, gradesWords, ownWords, placeWords } from "../../../frontend/model/wording/reach_routes.js";
import { trespassWords } from "../../../frontend/model/wording/trespass.js";

const square = (x, y, size) => [
  [x, y],
  [x + size, y],
  [x + size, y + size],
  [x, y + size],
  [x, y],
];
const feature = (kind, name, type, coordinates) => ({ properties: { kind, name }, geometry: { type, coordinates } });
const FEATURES = {
  features: [
    feature("lot", "Lot line", "Polygon", [square(-50, -50, 100)]),
    feature("house", "House", "Polygon", [square(-10, -10, 10)]),
    feature("swale", "Swale", "LineString", [
      [-40, 20],
      [40, 20],
    ]),
    feature("gas", "Gas line", "LineString", [
      [5, -50],
      [5, 50],
    ]),
  ],
};
const yard = (north, features = FEATURES) => ({
  plane: planeOf({ origin: [0, 0], metres_per_unit: [1, 1] }),
  features,
  base: north === undefined ? { relief: "r" } : { relief: null, north },
});
const PLAN = { ...blankDocument("si"), base: "r", ground: "raster", route: { kind: "drawn", length: "", tape_length: "" } };

test("an outlet is named by its side and by what it lies beside", () => {
  const far = [
    [0, 0],
    [-14, 17.5],
  ];
  assert.deepEqual(placeWords(PLAN, far, yard()), {
    where: "Comes out 22.4 m northwest of the start, 2.5 m from “Swale”.",
    near: null,
  });
  // with north 90° clockwise from up, what lies to the left is south
  assert.equal(
    placeWords(
      PLAN,
      [
        [0, 0],
        [-12, 0],
      ],
      yard(90),
    ).where,
    "Comes out 12.0 m south of the start.",
  );
  assert.equal(
    placeWords(
      PLAN,
      [
        [0, 0],
        [20, 0],
      ],
      yard(null),
    ).where,
    "Comes out 20.0 m from the start, toward the right of the map.",
  );
});

test("an outlet within 10 ft or 3 m of the house says so, where a house is known", () => {
  assert.match(
    placeWords(
      PLAN,
      [
        [0, 0],
        [0, 2.9],
      ],
      yard(),
    ).near,
    /2\.9 m from the house.*first 3 m \(IRC R401\.3\)/,
  );
  assert.equal(
    placeWords(
      PLAN,
      [
        [0, 0],
        [0, 3.1],
      ],
      yard(),
    ).near,
    null,
  );
  const us = { ...PLAN, units: "us" };
  assert.match(
    placeWords(
      us,
      [
        [0, 0],
        [0, 3],
      ],
      yard(),
    ).near,
    /first 10 ft/,
  ); // 9.8 ft
  assert.equal(
    placeWords(
      us,
      [
        [0, 0],
        [0, 3.06],
      ],
      yard(),
    ).near,
    null,
  ); // 10.04 ft
  assert.equal(
    placeWords(
      PLAN,
      [
        [0, 0],
        [0, 1],
      ],
      yard(undefined, null),
    ).near,
    null,
  );
  const made = withShape(PLAN, "avoid");
  const drawn = withPoints(made.plan, made.id, square(-10, -10, 10).slice(0, 4));
  drawn.outlines.r.avoid[0].name = "Our house";
  assert.match(
    placeWords(
      drawn,
      [
        [0, 0],
        [0, 1],
      ],
      yard(undefined, null),
    ).near,
    /1\.0 m from the house/,
  );
});

test("every grade of a route is told with where it changes", () => {
  const [one, two] = [
    { from: 0, to: 30, percent: 1.25 },
    { from: 30, to: 92.9, percent: 2 },
  ];
  assert.equal(gradesWords([one], "us", ""), "One grade: 1.25 %.");
  assert.equal(gradesWords([one, two], "us", ""), "1 change of grade: 1.25 % to 0+30, then 2 % to the outlet.");
  assert.match(
    gradesWords([one, two, { from: 92.9, to: 99, percent: 1 }], "us", ""),
    /^2 changes .* then 2 % to 0\+92\.9, then 1 % to the outlet\.$/,
  );
  assert.deepEqual(
    [0.999, 0.874, 0.001, null].map(chanceWords).map((words) => words.slice(30)),
    ["more than 99 %.", "about 87 %.", "less than 1 %.", ""],
  );
});

test("a line over what the yard is known to hold is told, also one across a buried line", () => {
  const plan = withLine(PLAN, [
    [0, -5],
    [-60, -5],
  ]);
  const { plane } = yard();
  const told = trespassWords(plan, plane, FEATURES);
  assert.deepEqual(
    told.map((words) => words.split(": ")[0]),
    ["The main line leaves your lot", "The main line runs through House, which it must keep out of"],
  );
  assert.match(told[1], /0\+000 to 0\+010/);
  const across = withLine(PLAN, [
    [1, 5],
    [9, 5],
  ]);
  assert.deepEqual(trespassWords(across, plane, FEATURES), [
    "The main line runs through Gas line, which it must keep out of: 0+004. Move the line or the outline, or add it as a crossing if a pipe may pass it.",
  ]);
  assert.match(ownWords(across, yard()), /runs through Gas line/);
  assert.equal(ownWords(PLAN, yard()), "");
  // a search that may leave the lot does not make the page silent about a line that does
  const drawn = withPoints(
    withLine(PLAN, [
      [0, 0],
      [30, 0],
    ]),
    "lot",
    square(-20, -20, 40).slice(0, 4),
  );
  assert.match(trespassWords(withoutLotLine(drawn, null), plane).join(), /leaves your lot: 0\+020 to 0\+030/);
});
