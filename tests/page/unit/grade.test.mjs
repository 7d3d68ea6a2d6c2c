// Grades as people say them. The values expected are arithmetic: an inch is a twelfth of a foot
// (NIST Handbook 44, Appendix C), a grade is fall over run, and the grade of an angle its tangent.
// 1/8 and 1/4 in per ft, 1:80 and 1 in 40 are the usual ways of the trade (common practice).
import assert from "node:assert/strict";
import { test } from "node:test";
import { GRIPS, withGrip } from "../../../frontend/model/changes/grips.js";
import { blankDocument, inUnits, readAt, withTyped, withValue } from "../../../frontend/model/document/document.js";
import { textsOf } from "../../../frontend/model/load/typed.js";
import { buildRequest } from "../../../frontend/model/request/request.js";
import { besideGrade, gradeText, gradeTyped, gradeWords, readGrade, wayTyped } from "../../../frontend/model/units/grade.js";
import {
  belowWords,
  coverCell,
  coverWords,
  deepWords,
  digCell,
  isStrung,
  outOfGroundWords,
} from "../../../frontend/model/wording/depths.js";
import { limitWords, theLimit } from "../../../frontend/model/wording/limits.js";

const IS = [
  [
    100 / 96,
    "per_foot",
    [
      "1/8 in/ft",
      "1/8 in per ft",
      '1/8"/ft',
      '1/8" / ft',
      "1/8 in per foot",
      "1/8 inch per foot",
      "⅛ in per ft",
      "1/8 of an inch per foot",
      "0.125 in/ft",
      "0,125 in/ft",
      "1⁄8″ per ft.",
      "1/8 inches a foot",
      "1/8in/ft",
    ],
  ],
  [100 / 48, "per_foot", ["1/4 in/ft", ".25 in per ft", "1 in per 4 ft", "1 in/4 ft", "1\" in 4'"]],
  [100 / 480, "per_foot", ["1 in per 40 ft"]],
  [1.25, "ratio", ["1:80", "1 : 80", "1 in 80", "1 to 80"]],
  [2.5, "ratio", ["1:40", "1 in 40", "1IN40", "2 in 80"]],
  [1, "per_metre", ["10 mm/m", "10 mm per m", "1 cm per m", "1 cm/m", "10 millimetres per metre", "10 mm per meter"]],
  [1.25, "per_metre", ["12.5 mm/m", "12,5 mm/m"]],
  [100 * Math.tan(Math.PI / 360), "degrees", ["0.5°", "0.5 deg", "0.5 degrees", "0,5°", ".5 º"]],
  [1.25, "", ["1.25 %", "1.25%", "1.25", "1,25", "1,25 %", "1.25 percent", "1.25 per cent", "0.15 ft per 12 ft", "0.0125 ft/ft", "1 1/4"]],
  [0.125, "", ["0.125 %", "1/8 %", "0,125 %"]],
  [0, "", ["0", "0 %", "0.0"]],
  [30, "", ["30"]],
  [0.3, "", ["0.3", ".3", "0,3"]],
];

test("a grade is read in every way that people say it", () => {
  for (const [percent, way, texts] of IS) {
    for (const text of texts) {
      const found = readGrade(text);
      assert.ok(Math.abs(found.value - percent) < 1e-9, `${text}: ${JSON.stringify(found)}`);
      assert.equal(found.way, way, text);
    }
  }
  const half = readGrade("0.5°").value;
  assert.ok(half > 0.8726 && half < 0.8728); // tan 0.5° = 0.008727
});

test("a slope downhill takes a minus in every way", () => {
  for (const [text, percent] of [
    ["-2", -2],
    ["−1:80", -1.25],
    ["- 1/8 in/ft", -100 / 96],
    ["-10 mm/m", -1],
    ["+1.25 %", 1.25],
  ]) {
    assert.ok(Math.abs(readGrade(text).value - percent) < 1e-9, text);
  }
});

test("a bare fraction, and a bare number that no pipe is laid at, is a question", () => {
  const asked = (text) => readGrade(text).readings?.map(({ words }) => words);
  assert.deepEqual(asked("1/8"), ["1/8 in per ft = 1.04 %", "0.125 %"]);
  assert.deepEqual(asked("0.125"), ["1/8 in per ft = 1.04 %", "0.125 %"]);
  assert.deepEqual(asked("1/4"), ["1/4 in per ft = 2.08 %", "0.25 %"]);
  assert.deepEqual(asked("¼"), ["1/4 in per ft = 2.08 %", "0.25 %"]);
  assert.deepEqual(asked("1/80"), ["1 : 80 = 1.25 %", "0.0125 in per ft = 0.1 %", "0.0125 %"]);
  assert.deepEqual(asked("0.0125"), ["0.0125 in per ft = 0.1 %", "0.0125 %", "1.25 %"]);
  assert.deepEqual(asked("80"), ["1 : 80 = 1.25 %", "80 mm per m = 8 %", "80 %"]);
  assert.deepEqual(asked("1 in 40 ft"), ["1 in per 40 ft = 0.21 %", "1 : 40 = 2.5 %"]);
  assert.deepEqual(asked("1/8 in"), ["1/8 in per ft = 1.04 %"]);
  assert.deepEqual(asked("10 mm"), ["10 mm per m = 1 %"]);
  assert.deepEqual(asked("-1/8"), ["-1/8 in per ft = -1.04 %", "-0.125 %"]);
  for (const text of ["1/8", "0.125", "1/80", "1/3", "0.0125", "80", "1 in 40 ft", "10 mm", "-1/4", "0.29", "31"]) {
    const { value, error, readings } = readGrade(text);
    assert.equal(value, undefined, text);
    assert.ok(error.includes(text), error);
    for (const reading of readings) assert.notEqual(readGrade(reading.text).value, undefined, `${text}: ${reading.text}`);
  }
});

test("what is pressed is what its words say", () => {
  for (const { text, words } of ["1/8", "80", "1 in 40 ft", "-0.25"].flatMap((typed) => readGrade(typed).readings)) {
    assert.equal(Number(/(-?[\d.]+) %$/.exec(words)[1]), Number(readGrade(text).value.toFixed(words.includes("=") ? 2 : 6)), words);
  }
});

test("what cannot be a grade is refused in a sentence", () => {
  for (const text of ["flat", "1/0", "1:0", "1/8 in per 0 ft", "90°", "1,000", "1:80 %", "1/8 lb/ft"]) {
    const { value, error, readings } = readGrade(text);
    assert.equal(value ?? readings, undefined, text);
    assert.match(error, /^.{20,}[.?]$/u, text);
  }
  assert.deepEqual(readGrade("  "), { empty: true });
});

test("a grade is written in the way that its user thinks, with percent beside it", () => {
  assert.equal(gradeText(100 / 96, "per_foot"), "1/8 in per ft (1.04 %)");
  assert.equal(gradeText(100 / 48, "per_foot"), "1/4 in per ft (2.08 %)");
  assert.equal(gradeText(1.25, "per_foot"), "0.15 in per ft (1.25 %)");
  assert.equal(gradeText(1.25, "ratio"), "1 : 80 (1.25 %)");
  assert.equal(gradeText(1.25, "per_metre"), "12.5 mm per m (1.25 %)");
  assert.equal(gradeText(0.87269, "degrees"), "0.5° (0.87 %)");
  assert.equal(gradeText(1.25, ""), "1.25 %");
  assert.equal(gradeWords(0, "ratio"), "level");
  assert.equal(gradeWords(-1.25, "ratio"), "-1 : 80");
  assert.deepEqual(
    ["1/8 in/ft", "1.25", "1.25 %", "1/8", ""].map((text) => besideGrade(text, "")),
    ["= 1.04 %", "%", "", "", "%"],
  );
});

test("the way a pipe's grade was typed in is kept with the plan, a slope's and a bare number's are not", () => {
  const typed = (plan, path, text) => withTyped(plan, path, text);
  const plan = typed(blankDocument("us"), "grade.min_percent", "1/8 in/ft");
  assert.equal(plan.grade.way, "per_foot");
  assert.equal(typed(plan, "grade.max_percent", "5").grade.way, "per_foot");
  assert.equal(typed(plan, "slopes.rows.0.percent", "-1:20").grade.way, "per_foot");
  assert.equal(typed(plan, "grade.max_percent", "1:20").grade.way, "ratio");
  assert.equal(typed(plan, "grade.min_percent", "1 %").grade.way, "");
  assert.equal(inUnits(plan, "si").grade.min_percent, "1/8 in/ft");
  assert.equal(wayTyped("1/8"), null);
});

test("the request holds percent, and none while a grade is asked about", () => {
  const base = { id: "blank", route_crs: "local" };
  const plan = ["0", "52"].reduce(
    (now, at, i) => withValue(withValue(now, `level_line.rows.${i}.at`, at), `level_line.rows.${i}.down`, "9"),
    blankDocument("us"),
  );
  const asked = (text) => buildRequest(withTyped(plan, "grade.min_percent", text), base);
  assert.deepEqual(asked("1/4 in per ft").body.grade, { min_percent: 100 / 48 });
  const {
    body,
    problems: [problem],
  } = asked("1/8");
  assert.equal(body, null);
  assert.equal(problem.path, "grade.min_percent");
  assert.equal(readAt(withTyped(plan, "grade.min_percent", "1/8"), "grade.min_percent").readings.length, 2);
});

test("what the page writes into a grade's field is never asked about", () => {
  assert.equal(gradeTyped(0.25), "0.25 %");
  assert.equal(gradeTyped(1.25), "1.25");
  assert.deepEqual(textsOf({ min_percent: 0.2, max_percent: 40, fall_step: 0.25 }, ["min_percent", "max_percent", "fall_step"]), {
    min_percent: "0.2 %",
    max_percent: "40 %",
    fall_step: "0.25",
  });
  const grip = GRIPS.find(({ path }) => path === "grade.min_percent");
  for (const way of ["", "per_foot", "ratio", "per_metre", "degrees"]) {
    const plan = withValue(blankDocument("us"), "grade.way", way);
    for (const value of [0.25, 1.05, 5]) {
      const { value: read } = readAt(withGrip(plan, grip, value), "grade.min_percent");
      assert.ok(Math.abs(read - value) < 1e-9, `${way} ${value}: ${read}`);
    }
  }
});

test("a level under a string is typed and told without a sign", () => {
  const plan = (elevation) =>
    withValue({ ...blankDocument("us"), openings: { rows: [{ what: "", elevation, at: "", on: "" }] } }, "grade.way", "");
  const read = (text) => readAt(plan(text), "openings.rows.0.elevation");
  assert.deepEqual(read("9 in below"), { value: -0.75 });
  assert.deepEqual(read("9 in below the string"), { value: -0.75 });
  assert.deepEqual(read("-0.75"), { value: -0.75 });
  assert.ok(read("far below").error);
  const strung = { references: [{ kind: "line" }] };
  assert.ok(isStrung(strung));
  assert.ok(!isStrung({ references: [{ kind: "instrument" }] }) && !isStrung({}));
  assert.equal(belowWords(-0.75, "us"), "9 in below");
  assert.equal(belowWords(0.1, "si"), "100 mm above");
});

test("a pipe above the ground stands out of it", () => {
  assert.equal(coverWords(-3, "us"), "the pipe stands 3 in out of the ground");
  assert.equal(coverWords(-0.04, "us"), "0 in of soil over the pipe");
  assert.equal(coverCell(-3, "us"), "3 out");
  assert.equal(coverCell(8, "us"), "8");
  assert.equal(deepWords(-1212, "si"), "1212 mm above the ground");
  assert.equal(deepWords(310, "si"), "310 mm deep");
  const station = (at, dig, cover) => ({ label: `0+${at}`, dig_depth: dig, cover, marks: { dig_depth: String(dig) } });
  assert.deepEqual(digCell(station(40, -1212, -1322), "si"), { main: "none", exact: "1212 above ground" });
  assert.deepEqual(digCell(station(40, 12, 8), "us"), { main: "12", exact: "12" });
  const answer = { units: "us", stations: [station("00", 12, 8), station(20, -1, -5.2), station(40, -3, -7.2)] };
  assert.deepEqual(outOfGroundWords(answer), ["The pipe stands 7.2 in out of the ground at 0+40."]);
  assert.deepEqual(outOfGroundWords({ ...answer, stations: [station("00", 12, 8), station(40, 3, -1.2)] }), []);
});

test("a limit is read as the trade says it", () => {
  assert.equal(limitWords("least cover"), "minimum cover");
  assert.equal(theLimit("greatest depth"), "the maximum depth");
  assert.equal(theLimit("over the gas line"), "over the gas line");
  assert.equal(theLimit("branch side"), "branch side");
});
