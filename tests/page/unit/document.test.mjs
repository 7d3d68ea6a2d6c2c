// The plan as typed: paths, units that switch to and fro, rows, undo.
import assert from "node:assert/strict";
import { test } from "node:test";
import { edited, fresh, gestureKey, redone, undone } from "../../../frontend/model/changes/history.js";
import {
  blankDocument,
  completed,
  inUnits,
  lineOf,
  measurePaths,
  unitAt,
  valueAt,
  withGround,
  withLine,
  withValue,
} from "../../../frontend/model/document/document.js";
import {
  asText,
  lastStation,
  nextStation,
  rowAdded,
  rowRemoved,
  rowsPasted,
  stationsSpaced,
} from "../../../frontend/model/document/tables.js";
import { convertEntry, readEntry, readList, textOf } from "../../../frontend/model/units/entry.js";
import { withFraction } from "../../../frontend/model/units/fractions.js";
import { onKnownBase } from "../../../frontend/view/map/bases.js";

const typed = () => {
  let plan = blankDocument("us");
  for (const [i, [at, down]] of [
    ["0", "9"],
    ["13", "10 1/2"],
    ["26", "9.5"],
  ].entries()) {
    plan = withValue(plan, `level_line.rows.${i}.at`, at);
    plan = withValue(plan, `level_line.rows.${i}.down`, down);
  }
  return plan;
};

test("a value is changed at its path and nothing else is touched", () => {
  const plan = blankDocument();
  const next = withValue(plan, "level_line.rows.2.down", "7");
  assert.equal(valueAt(next, "level_line.rows.2.down"), "7");
  assert.equal(plan.level_line.rows[2].down, "");
  assert.equal(next.level_line.rows[1], plan.level_line.rows[1]);
  assert.equal(withValue(next, "level_line.rows.2.down", "7"), next);
});

test("every measure has a unit in both systems", () => {
  for (const units of ["us", "si"]) {
    const plan = blankDocument(units);
    for (const path of measurePaths(plan)) assert.notEqual(valueAt(plan, path), undefined, path);
    assert.equal(unitAt(plan, "start.value"), units === "us" ? "in" : "mm");
    assert.equal(unitAt(withValue(plan, "start.by", "invert"), "start.value"), units === "us" ? "ft" : "m");
  }
});

test("units switch exactly, in place, and back to what was typed", () => {
  const plan = typed();
  const metric = inUnits(plan, "si");
  assert.equal(textOf(valueAt(metric, "level_line.rows.1.down")), "267");
  assert.equal(textOf(valueAt(metric, "level_line.rows.1.at")), "3.962");
  assert.equal(metric.rod.unit, "m");
  assert.deepEqual(inUnits(metric, "us"), plan);
  assert.deepEqual(inUnits(inUnits(inUnits(metric, "us"), "si"), "us"), plan);
});

test("a switched value is exact even where what is shown is rounded", () => {
  const entry = convertEntry("445", "mm", "in");
  assert.equal(textOf(entry), "17 1/2");
  assert.equal(readEntry(entry, "in").value, 4450 / 254);
  assert.equal(convertEntry(entry, "in", "mm"), "445");
});

test("what cannot be read stays as typed through a switch", () => {
  const plan = withValue(typed(), "level_line.rows.0.down", "nine");
  assert.equal(valueAt(inUnits(plan, "si"), "level_line.rows.0.down"), "nine");
});

test("a list of stations is read and switched whole", () => {
  assert.deepEqual(readList("10; 22 1/2", "ft").values, [10, 22.5]);
  assert.ok(readList("10; x", "ft").error);
  const plan = withValue(typed(), "stations.at", "10; 22 1/2");
  const metric = inUnits(plan, "si");
  assert.equal(textOf(metric.stations.at), "3.048; 6.858");
  assert.deepEqual(readList(metric.stations.at, "m").values, [3.048, 6.858]);
  assert.equal(inUnits(metric, "us").stations.at, "10; 22 1/2");
});

test("a surface needs a line on the map, readings along a tape do not", () => {
  assert.equal(withGround(blankDocument(), "raster").route.kind, "drawn");
  assert.equal(withGround(blankDocument(), "spots").route.kind, "drawn");
  assert.equal(withGround(withGround(blankDocument(), "raster"), "rod").route.kind, "taped");
});

test("each base keeps its own line", () => {
  const plan = withLine({ ...blankDocument(), base: "a" }, [
    [0, 0],
    [1, 1],
  ]);
  assert.deepEqual(lineOf({ ...plan, base: "b" }), []);
  assert.deepEqual(lineOf(plan), [
    [0, 0],
    [1, 1],
  ]);
});

test("a plan kept before a field was there gets the usual choice in it", () => {
  const { aim, ...grade } = typed().grade;
  assert.equal(aim, "least_fall");
  const kept = { ...typed(), grade: { ...grade, min_percent: "2" }, lines: { a: [[0, 0]] } };
  const whole = completed(kept);
  assert.equal(whole.grade.aim, "least_fall");
  assert.equal(whole.grade.min_percent, "2");
  assert.deepEqual(whole.lines, { a: [[0, 0]] });
  assert.deepEqual(completed(typed()), typed());
});

test("a straight grade kept before it could be insisted on opens as left open; one insisted on stays", () => {
  const insisted = withValue(typed(), "grade.shape", "straight");
  const branches = {
    rows: [
      { key: "b1", name: "A", shape: "straight" },
      { key: "b2", name: "B", shape: "least_dig" },
    ],
  };
  const { covers, ...old } = { ...insisted, branches };
  assert.deepEqual(covers, { rows: [] });
  const whole = completed(old);
  assert.deepEqual([whole.grade.shape, ...whole.branches.rows.map(({ shape }) => shape)], ["", "", "least_dig"]);
  assert.equal(completed(insisted).grade.shape, "straight");
  assert.equal(completed({ ...old, limits: { ...old.limits, max_depth: "36" } }).limits.max_depth, "36"); // it was sent
});

test("where a plan's raster is gone, its line moves to the demo yard if it lies on it", () => {
  const known = new Map([["d", { id: "d", bounds: [0, 0, 10, 10] }]]);
  const demo = {
    raster: "d",
    routes: {
      works: {
        line: {
          coordinates: [
            [1, 1],
            [2, 2],
          ],
        },
      },
    },
  };
  const gone = (line) => onKnownBase(withLine({ ...blankDocument(), base: "x" }, line), known, demo);
  assert.deepEqual(
    lineOf(
      gone([
        [3, 3],
        [4, 4],
      ]),
    ),
    [
      [3, 3],
      [4, 4],
    ],
  );
  assert.deepEqual(
    lineOf(
      gone([
        [3, 3],
        [40, 4],
      ]),
    ),
    [
      [1, 1],
      [2, 2],
    ],
  );
  const there = withLine({ ...blankDocument(), base: "d" }, []);
  assert.equal(onKnownBase(there, known, demo), there);
});

test("rows go on by the spacing before them", () => {
  const plan = typed();
  assert.equal(nextStation(plan, "level_line", 3), "39");
  assert.equal(nextStation(plan, "level_line", 0), "0");
  const six = rowAdded(withValue(withValue(plan, "level_line.rows.3.at", "39"), "level_line.rows.4.at", "52"), "level_line");
  assert.equal(six.level_line.rows[5].at, "65");
  assert.equal(rowRemoved(six, "level_line", 0).level_line.rows[0].at, "13");
  assert.deepEqual(
    stationsSpaced(plan, "level_line", 10).level_line.rows.map((row) => row.at),
    ["0", "10", "20", "30", "40"],
  );
});

test("the run ends at the last finished reading", () => {
  const plan = withValue(typed(), "level_line.rows.3.at", "99");
  assert.equal(lastStation(plan, "level_line"), 26);
  assert.equal(lastStation(blankDocument(), "level_line"), null);
  assert.equal(lastStation(blankDocument(), "spots"), null);
});

test("pasted rows replace what is under them and leave what lies below", () => {
  const rows = [
    { at: "1", down: "2" },
    { at: "3", down: "4" },
  ];
  const over = rowsPasted(typed(), "level_line", 0, rows).level_line.rows;
  assert.deepEqual(
    over.map((row) => row.at),
    ["1", "3", "26", "", ""],
  );
  const onto = rowsPasted(blankDocument(), "level_line", 0, rows).level_line.rows;
  assert.equal(onto.length, 2);
});

test("a sheet copies as rows with a header", () => {
  assert.equal(asText(typed(), "level_line"), "at\tdown\tline\n0\t9\t\n13\t10 1/2\t\n26\t9.5\t");
});

test("undo and redo, with quick edits of one field as one step", () => {
  let history = fresh("a");
  history = edited(history, "ab", "field", 1000);
  history = edited(history, "abc", "field", 1400);
  history = edited(history, "abcd", "field", 9000);
  assert.equal(undone(history).present, "abc");
  assert.equal(undone(undone(history)).present, "a");
  assert.equal(redone(undone(history)).present, "abcd");
  assert.equal(undone(undone(undone(history))).present, "a");
  assert.deepEqual(edited(undone(history), "x", null, 9100).future, []);
  assert.equal(edited(history, "abcd", "field", 1), history);
});

test("a drag is one step however long it takes", () => {
  const key = gestureKey();
  let history = edited(fresh(1), 2, key, 0);
  history = edited(history, 3, key, 60_000);
  assert.equal(undone(history).present, 1);
  assert.notEqual(gestureKey(), key);
});

test("a tapped fraction takes the place of the one before", () => {
  assert.equal(withFraction("17", "1/2"), "17 1/2");
  assert.equal(withFraction("17 1/4", "1/2"), "17 1/2");
  assert.equal(withFraction("", "3/4"), "3/4");
  assert.equal(withFraction("1/4", "3/4"), "3/4");
  assert.equal(withFraction("17.25", "3/4"), "17.25");
});
