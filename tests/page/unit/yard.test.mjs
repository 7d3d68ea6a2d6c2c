// The number pad, the way from cell to cell, and what is worked out beside the readings.
import assert from "node:assert/strict";
import { test } from "node:test";
import { GRIPS, gripAt, withGrip } from "../../../frontend/model/changes/grips.js";
import { blankDocument, inUnits, withValue } from "../../../frontend/model/document/document.js";
import { nextCell, stationCarriedOn } from "../../../frontend/model/document/tables.js";
import { pressed } from "../../../frontend/model/units/pad_keys.js";
import { tapeText } from "../../../frontend/model/units/tape.js";
import { workedRows } from "../../../frontend/model/wording/reductions.js";

const typed = (keys) => keys.reduce(({ text, caret }, key) => pressed(text, caret, caret, key), { text: "", caret: 0 }).text;
const planOf = (values, units = "us") =>
  Object.entries(values).reduce((plan, [path, value]) => withValue(plan, path, value), blankDocument(units));

test("keys of the pad make what a hand would type", () => {
  assert.equal(typed(["1", "7", "1/2"]), "17 1/2");
  assert.equal(typed(["1", "′", "5", "1/2", "″"]), "1′ 5 1/2″");
  assert.equal(typed(["1", "7", ".", "5", "back"]), "17.");
  assert.equal(typed(["2", "5", "sign"]), "-25");
  assert.equal(typed(["2", "5", "sign", "sign"]), "25");
  assert.equal(typed(["4", "4", ".", "5", "cm"]), "44.5 cm");
});

test("a key replaces what is selected", () => {
  assert.deepEqual(pressed("14", 0, 2, "9"), { text: "9", caret: 1 });
  assert.deepEqual(pressed("14", 0, 2, "1/2"), { text: "1/2", caret: 3 });
  assert.deepEqual(pressed("14", 0, 2, "back"), { text: "", caret: 0 });
});

test("Enter leads to the next empty cell, past stations that the spacing gives, then to a new row", () => {
  const rows = { "level_line.rows.0.at": "0", "level_line.rows.0.down": "9", "level_line.rows.1.at": "13" };
  const plan = planOf(rows);
  assert.deepEqual(nextCell(plan, "level_line", 0, "down"), { row: 1, column: "down", added: false });
  assert.deepEqual(nextCell(plan, "level_line", 1, "down"), { row: 2, column: "down", added: false });
  assert.equal(stationCarriedOn(plan, "level_line", 2, "down").level_line.rows[2].at, "26");
  assert.equal(stationCarriedOn(plan, "level_line", 2, "line"), plan);
  const last = plan.level_line.rows.length - 1;
  assert.equal(nextCell(plan, "level_line", last, "down").added, true);
});

test("lengths are written as a tape shows them", () => {
  assert.equal(tapeText(10.5, "in"), "10 1/2");
  assert.equal(tapeText(0.5, "in"), "1/2");
  assert.equal(tapeText(-1.25, "in"), "-1 1/4");
  assert.equal(tapeText(11.811, "in"), "11 13/16");
  assert.equal(tapeText(12.99, "in"), "13");
  assert.equal(tapeText(3.9624, "m"), "3.962");
  assert.equal(tapeText(266.7, "mm"), "267");
});

test("two strings are tied at the station that both read", () => {
  const plan = planOf({
    "level_line.rows.0.at": "0",
    "level_line.rows.0.down": "9",
    "level_line.rows.0.line": "A",
    "level_line.rows.1.at": "20",
    "level_line.rows.1.down": "15",
    "level_line.rows.1.line": "A",
    "level_line.rows.2.at": "20",
    "level_line.rows.2.down": "3 1/2",
    "level_line.rows.2.line": "B",
    "level_line.rows.3.at": "40",
    "level_line.rows.3.down": "8",
    "level_line.rows.3.line": "B",
  });
  assert.deepEqual(
    workedRows(plan, "level_line")
      .slice(0, 4)
      .map((row) => row.below),
    ["0", "6", "6", "10 1/2"],
  );
});

test("a level book is worked out line by line, through its turning point", () => {
  const shots = [
    ["BS", "BM", "4.10"],
    ["IS", "", "4.90"],
    ["FS", "TP", "5.60"],
    ["BS", "TP", "3.20"],
    ["FS", "BM", "1.70"],
  ];
  const plan = planOf(
    Object.fromEntries(
      shots.flatMap(([sight, on, rod], i) => [
        [`rod.rows.${i}.sight`, sight],
        [`rod.rows.${i}.on`, on],
        [`rod.rows.${i}.rod`, rod],
      ]),
    ),
  );
  assert.deepEqual(
    workedRows(plan, "rod").map(({ sight, level }) => [sight, level]),
    [
      ["104.10", "100.00"],
      ["", "99.20"],
      ["", "98.50"],
      ["101.70", "98.50"],
      ["", "100.00"],
    ],
  );
});

test("a grip stands on the pipe, moves by its step, and a moved outlet lies there", () => {
  const plan = planOf({});
  const usual = new Map([["/grade/min_percent", 1.25]]);
  const [start, grade, outlet] = GRIPS;
  // 100 ft at 1.25 %: 15 in of fall from an invert at 99 ft to one at 97.75 ft.
  const answer = {
    profile: { at: [0, 100], invert: [99, 97.75] },
    stations: [{ dig_depth: 12.5 }, { dig_depth: 10 }],
    grade_runs: [{ from: 0, to: 100, percent: 1.25 }],
  };
  assert.deepEqual(
    [grade, start, outlet].map((grip) => gripAt(plan, grip, usual, answer).at),
    [50, 0, 100],
  );
  assert.equal(gripAt(plan, grade, new Map(), answer), null);
  assert.equal(gripAt(plan, grade, usual, answer).valueAt(99 - 50 * 0.02), 2);
  assert.ok(Math.abs(gripAt(plan, start, usual, answer).valueAt(99 - 2 / 12) - 10) < 1e-9);
  assert.ok(Math.abs(gripAt(plan, outlet, usual, answer).valueAt(97.75 + 1 / 12) - 9) < 1e-9);
  assert.equal(withGrip(plan, grade, 2.36).grade.min_percent, "2.35");
  assert.equal(withGrip(plan, start, -3).start.value, "0");
  assert.equal(withGrip(plan, start, 8.3).start.value, "8.25");
  const moved = withGrip(plan, outlet, 9.1);
  assert.deepEqual([moved.outlet.min, moved.outlet.max], ["9", "9"]);
  assert.equal(gripAt(withValue(plan, "start.by", "invert"), start, usual, answer), null);
  assert.equal(gripAt(inUnits(plan, "si"), start, usual, answer).unit, "mm");
});
