// Measures as people type them. The expected values are arithmetic on definitions: 12 in to the
// foot, 25.4 mm to the inch, a station of 100 ft or 1,000 m.
import assert from "node:assert/strict";
import { test } from "node:test";
import { readString } from "../../../frontend/model/units/entry.js";
import { readMeasure } from "../../../frontend/model/units/parse_measure.js";
import { fromDecimal, plus, rational, times, toDecimal, toNumber } from "../../../frontend/model/units/rational.js";
import { plain, unitsOfCountry } from "../../../frontend/model/units/units.js";

const READ = [
  ["17", "in", 17],
  ["17.5", "in", 17.5],
  ["17,5", "mm", 17.5],
  ["0,125", "m", 0.125],
  ["1,000", "sq ft", 1000],
  ["12,500.5", "ft", 12500.5],
  ["17,5", "in", 17.5],
  ["12,25", "ft", 12.25],
  ["0,125", "in", 0.125],
  ["17 1/2", "in", 17.5],
  ["17-1/2", "in", 17.5],
  ["17½", "in", 17.5],
  ["1/2", "in", 0.5],
  ["1 / 2", "in", 0.5],
  ['5 1/2"', "in", 5.5],
  ["1' 5 1/2\"", "in", 17.5],
  ["1’5½”", "in", 17.5],
  ["1 ft 5 in", "in", 17],
  ["6' 9", "ft", 6.75],
  ["6'9\"", "ft", 6.75],
  ["12' 6-1/2\"", "ft", 12 + 6.5 / 12],
  ["12'", "in", 144],
  ["9in", "in", 9],
  ["44.5 cm", "mm", 445],
  ["3 ft", "m", 0.9144],
  ["1 in", "mm", 25.4],
  ["0+13", "ft", 13],
  ["1+05.5", "ft", 105.5],
  ["0+013", "m", 13],
  ["17,5", "mm", 17.5],
  ["-3 1/2", "in", -3.5],
  ["−3", "in", -3],
  ["1.25 %", "%", 1.25],
  [".5", "in", 0.5],
  ["17.", "in", 17],
];

test("every usual way to write a measure is read", () => {
  for (const [text, unit, value] of READ) {
    const read = readMeasure(text, unit);
    assert.ok(read.value, `${text} in ${unit}: ${read.error}`);
    assert.equal(toNumber(read.value), value, `${text} in ${unit}`);
  }
});

test("units follow the country that the browser names first", () => {
  const found = [["en-US"], ["en"], ["en-GB", "en-US"], ["de-DE"], ["de"], ["es-US"], [], ["x_y"]].map(unitsOfCountry);
  assert.deepEqual(found, ["us", "us", "si", "si", "si", "us", "us", "us"]);
});

test("nothing typed is no error", () => {
  for (const text of ["", "   "]) assert.deepEqual(readMeasure(text, "in"), { empty: true });
});

test("what could mean two things, or nothing, is refused in words", () => {
  for (const [text, unit] of [
    ["abc", "in"],
    ["1,000", "mm"],
    ["1,000", "m²"],
    ["1,000", "%"],
    ["1,0000", "ft"],
    ["0,125,000", "ft"],
    ["3 5", "in"],
    ["1/0", "in"],
    ["1e3", "in"],
    ["5 in", "%"],
    ["3 ft", ""],
    ["--3", "in"],
    ["4 ft 6 ft", "in"],
  ]) {
    const read = readMeasure(text, unit);
    assert.ok(read.error?.length > 10, `${text} in ${unit} was read as ${read.value && toNumber(read.value)}`);
  }
});

test("fractions are exact", () => {
  const third = rational(1, 3);
  assert.deepEqual(plus(plus(third, third), third), rational(1));
  assert.deepEqual(times(fromDecimal("0.1"), rational(10)), rational(1));
  assert.throws(() => rational(1, 0), RangeError);
});

test("the nearest double and the rounded decimal of a fraction", () => {
  assert.equal(toNumber(fromDecimal("17.1")), 17.1);
  assert.equal(toNumber(rational(-1, 3)), -1 / 3);
  assert.equal(toNumber(rational(10n ** 30n, 3n)), 1e30 / 3);
  assert.equal(toDecimal(rational(2, 3), 3), "0.667");
  assert.equal(toDecimal(rational(-1, 8), 2), "-0.13");
  assert.equal(toDecimal(rational(-1, 1000), 2), "0");
  assert.equal(toDecimal(rational(5), 0), "5");
});

test("a reading of a few mm from a string is asked about, unless its unit is typed", () => {
  for (const typed of ["0,35", "0.35"]) {
    const { error, readings } = readString(typed);
    assert.match(error, /would be 0\.35 mm/);
    assert.deepEqual(
      readings.map(({ text }) => text),
      ["350 mm", "0.35 mm"],
    );
    assert.deepEqual(
      readings.map(({ text }) => readString(text).value),
      [350, 0.35],
    );
  }
  assert.deepEqual(
    ["350", "5", "0", "0.35 m", "35 cm"].map((typed) => readString(typed).value),
    [350, 5, 0, 350, 350],
  );
});

test("a half is rounded away from zero, as the planner rounds it", () => {
  assert.deepEqual([plain(6.35, 1), plain(-6.35, 1), plain(0, 1), plain(6.3499, 1)], ["6.4", "-6.4", "0", "6.3"]);
});
