// The check in the trench: what is sent, what is read next, what is said; prices and kept plans.
import assert from "node:assert/strict";
import { test } from "node:test";
import { blankDocument, inUnits, withValue } from "../../../frontend/model/document/document.js";
import { priceFields } from "../../../frontend/model/document/prices.js";
import { comparisonOf, freeName, nameFault, rowsOf } from "../../../frontend/model/request/alternatives.js";
import { buildRequest } from "../../../frontend/model/request/request.js";
import {
  betweenWords,
  checkRequest,
  EMPTY,
  isChecked,
  isDoubted,
  offWords,
  outcome,
  placeNow,
  placesOf,
  planChanged,
  readingsNow,
  sameAgain,
  shouldRead,
  strayReadings,
  surfaceAfter,
  unitBy,
  wayNow,
  waysOf,
  withoutOwn,
  withReading,
} from "../../../frontend/model/request/trench.js";

const body = (kind, more = {}) => ({ units: "us", ground: { kind, readings: [] }, ...more });
const STRUNG = body("level_line");
const reading = (at, typed, by = "line_to_bottom") => ({ at, label: `0+${at}`, by, typed });
const read = (kept, plan, ...readings) => readings.reduce((now, one) => withReading(now, plan, one), kept);

test("the ways to read follow the plan's ground", () => {
  assert.deepEqual(waysOf(EMPTY, STRUNG), ["line_to_bottom", "depth"]);
  assert.deepEqual(waysOf(EMPTY, body("rod")), ["rod", "depth"]);
  assert.deepEqual(waysOf(EMPTY, body("raster")), ["depth"]);
  assert.equal(wayNow({ ...EMPTY, by: "rod" }, STRUNG), "line_to_bottom");
  assert.equal(unitBy("rod", EMPTY, { ...body("rod"), ground: { kind: "rod", rod_unit: "in" } }), "in");
  assert.equal(unitBy("depth", EMPTY, { ...STRUNG, units: "si" }), "mm");
});

test("a branch is checked by its own ground; one that is gone gives way to the main line", () => {
  const tree = {
    ...body("raster"),
    branches: [{ name: "east", ground: { kind: "rod", rod_unit: "ft" }, branches: [{ name: "shed", ground: { kind: "level_line" } }] }],
  };
  assert.deepEqual(waysOf({ ...EMPTY, branch: "shed" }, tree), ["line_to_bottom", "depth"]);
  assert.equal(checkRequest({ ...EMPTY, branch: "east" }, tree).branch, "east");
  assert.equal("branch" in checkRequest({ ...EMPTY, branch: "west" }, tree), false);
});

test("fractions are sent as typed, the last reading of a place counts", () => {
  const kept = read(EMPTY, STRUNG, reading(52, "29 1/2"), reading(39, "2' 3 3/8\""), reading(52, "29 5/8"));
  assert.deepEqual(checkRequest(kept, STRUNG).as_dug, [
    { at: 39, on: "trench_bottom", line_to_bottom: 27.375 },
    { at: 52, on: "trench_bottom", line_to_bottom: 29.625 },
  ]);
  assert.equal(checkRequest({ ...kept, on: "pipe_top" }, STRUNG).as_dug.length, 0);
  assert.equal(checkRequest({ ...kept, on: "pipe_top" }, STRUNG).next_on, "pipe_top");
});

test("a switch of units carries place and reading over exactly", () => {
  const kept = read(EMPTY, STRUNG, reading(50, "10"));
  const [{ at, value }] = readingsNow(kept, { ...STRUNG, units: "si" });
  assert.equal(at, 15.24);
  assert.equal(value, 254);
});

test("readings that the ground no longer knows are kept, not sent", () => {
  const kept = read(EMPTY, STRUNG, reading(52, "29"), reading(39, "14", "depth"));
  const taped = body("elevations");
  assert.equal(strayReadings(kept, taped).length, 1);
  assert.equal(checkRequest(kept, taped).as_dug.length, 1);
  assert.equal(withoutOwn(kept, taped).entries.length, 0);
});

test("another trench is told, other prices are not", () => {
  const kept = read(EMPTY, STRUNG, reading(52, "29"));
  assert.equal(planChanged(kept, { ...STRUNG, prices: { sod: 1 } }), false);
  assert.equal(planChanged(kept, { ...STRUNG, start: { cover: 9 } }), true);
  assert.equal(planChanged(EMPTY, { ...STRUNG, start: { cover: 9 } }), false);
});

const wanted = (at) => ({ at, label: `0+${at}`, rod: 7.25, marks: { depth: "12 in", line_to_bottom: "21 1/2 in", rod: "7.25 ft" } });

test("from the outlet up; what is typed and not checked yet is not asked again", () => {
  const check = { stations: [], to_read: [wanted(52), wanted(39), wanted(0)] };
  const kept = read(EMPTY, STRUNG, reading(52, "29"));
  const places = placesOf(check, kept, STRUNG);
  assert.deepEqual(
    places.map(({ at }) => at),
    [52, 39, 0],
  );
  assert.equal(placeNow(places, null).at, 39);
  assert.equal(placeNow(places, 52).at, 52);
  assert.equal(isChecked(places[0], []), false);
  assert.equal(placeNow(placesOf({ stations: [], to_read: [] }, kept, STRUNG), null), null);
  assert.deepEqual(
    placesOf(null, kept, STRUNG).map(({ label }) => label),
    ["0+52"],
  );
});

test("an answer counts only for the reading it was given for", () => {
  const kept = read(EMPTY, STRUNG, reading(52, "29"));
  const check = { stations: [{ at: 52, label: "0+52", reading: 0 }], to_read: [] };
  assert.equal(isChecked(placesOf(check, kept, STRUNG)[0], kept.entries), true);
  const again = read(kept, STRUNG, reading(52, "29 1/2"));
  assert.equal(isChecked(placesOf(check, again, STRUNG)[0], kept.entries), false);
});

test("what it should read by each way", () => {
  assert.equal(shouldRead({ wanted: wanted(0) }, "depth"), "12 in");
  assert.equal(shouldRead({ wanted: wanted(0) }, "rod"), "7.25 ft");
  const station = { by: "depth", should_read: 12.55, should_read_text: "12 1/2 in" };
  assert.equal(shouldRead({ wanted: null, station }, "depth"), "12 1/2 in");
  assert.equal(shouldRead({ wanted: null, station }, "line_to_bottom"), null);
});

test("all read, what is not good yet is in hand; a doubted reading is sent as taken again", () => {
  const kept = read(EMPTY, STRUNG, reading(52, "29"), reading(39, "25"));
  const answered = (at, work) => ({ at, label: `0+${at}`, reading: at === 52 ? 0 : 1, do: work, state: "high", mark: "2 in" });
  const check = { stations: [{ ...answered(52, "nothing"), state: "within" }, answered(39, "read_again")], to_read: [] };
  const asked = readingsNow(kept, STRUNG).map(({ entry }) => entry);
  const places = placesOf(check, kept, STRUNG);
  assert.equal(placeNow(places, null, asked).at, 39);
  assert.equal(placeNow(places, null, []), null);
  assert.equal(isDoubted(places[1], asked), true);
  assert.deepEqual(outcome(check.stations[1]), { sign: "look", words: "Read it again first" });
  const again = read(kept, STRUNG, { ...reading(39, "25"), again: true });
  assert.deepEqual(
    checkRequest(again, STRUNG).as_dug.map((one) => one.again),
    [undefined, true],
  );
  assert.equal("again" in read(again, STRUNG, reading(39, "27 1/2")).entries[1], false);
});

test("the last figure can be said again for the next place, in the units shown", () => {
  const kept = read(EMPTY, STRUNG, reading(52, "29 1/2"));
  const [, next] = placesOf({ stations: [], to_read: [wanted(39)] }, kept, STRUNG);
  assert.equal(sameAgain(kept, STRUNG, 52, next), "29 1/2");
  assert.equal(sameAgain(kept, { ...STRUNG, units: "si" }, 15.8496, next), "749");
  assert.equal(sameAgain(kept, STRUNG, null, next), null);
  assert.equal(sameAgain({ ...kept, by: "depth" }, STRUNG, 52, next), null);
  assert.equal(sameAgain(kept, STRUNG, 52, placesOf(null, kept, STRUNG)[0]), null);
});

test("a sign and words for what is to be done; a tick only where nothing is", () => {
  assert.deepEqual(outcome({ do: "nothing", state: "within", mark: null }), { sign: "tick", words: "Good" });
  assert.deepEqual(outcome({ do: "shave", state: "high", mark: "3/8 in" }), { sign: "down", words: "Shave 3/8 in" });
  assert.deepEqual(outcome({ do: "raise", state: "within", mark: "4 mm" }), { sign: "up", words: "Raise the pipe 4 mm" });
  assert.equal(outcome({ do: "nothing", state: "high", mark: null }).sign, "look");
  assert.equal(offWords({ off: -0.95 }, "us"), "1 in low");
  assert.equal(offWords({ off: 0.01 }, "us"), "on the line");
});

test("what falls back, falls short and stands is said", () => {
  const run = { from: 13, to: 26, percent: 0.5, falls_back: false, under_least: true };
  const check = {
    units: "us",
    verdict: "fail",
    runs: [run, { ...run, falls_back: true }],
    fall: {},
    checks: { fall_enough: false },
    standing_water: [{ sentence: "Water would stand." }],
  };
  assert.deepEqual(betweenWords(check), [
    "Between 13 and 26 ft it falls back: it runs uphill.",
    "Between 13 and 26 ft it falls 0.5 %, less than the minimum grade.",
    "From end to end it does not fall enough.",
    "Water would stand.",
  ]);
  assert.equal(betweenWords({ ...check, verdict: "pass", fall: null, standing_water: [], runs: [run] }).length, 0);
});

const planOf = (values) => Object.entries(values).reduce((plan, [path, value]) => withValue(plan, path, value), blankDocument());
const TWO = { "level_line.rows.0.at": "0", "level_line.rows.0.down": "9", "level_line.rows.1.at": "52", "level_line.rows.1.down": "22" };

test("no price, no prices in the request; a switch of units keeps what a price buys", () => {
  assert.equal("prices" in buildRequest(planOf({ ...TWO, "prices.currency": "USD" }), null).body, false);
  const priced = planOf({ ...TWO, "prices.currency": " USD ", "prices.bedding": "27", "prices.sod": "1", "prices.parts.wye": "9.5" });
  assert.deepEqual(buildRequest(priced, null).body.prices, { bedding: 27, sod: 1, parts: { wye: 9.5 }, currency: "USD" });
  const { bedding, sod, parts } = buildRequest(inUnits(priced, "si"), null).body.prices;
  // a cubic yard is 0.764554857984 m³, a square foot 0.09290304 m² (exact by definition)
  assert.ok(Math.abs(bedding - 27 / 0.764554857984) < 1e-9);
  assert.ok(Math.abs(sod - 1 / 0.09290304) < 1e-9);
  assert.equal(parts.wye, 9.5);
});

test("only what a plan needs is asked a price for", () => {
  const bill = {
    pipe: { form: "coil" },
    bedding: { volume: 0 },
    spoil: { haul: 1 },
    hours: { by_machine: null },
    fittings: [],
    outlet_parts: [{ part: "pop_up", name: "pop-up emitter" }],
  };
  assert.deepEqual(
    priceFields([bill]).map(({ path }) => path),
    ["prices.pipe_piece", "prices.haul", "prices.sod", "prices.hour_by_hand", "prices.parts.pop_up"],
  );
});

test("the plan as it stands is compared where it differs from those kept", () => {
  const plan = planOf(TWO);
  const kept = [{ name: "Plan A", plan }];
  const names = (present) => comparisonOf(kept, present, () => ({})).plans.map(({ name }) => name);
  assert.deepEqual(names(plan), ["Plan A"]);
  assert.deepEqual(names(withValue(plan, "start.value", "9")), ["Plan A", "This plan now"]);
  assert.deepEqual(comparisonOf(kept, plan, () => undefined).missing, ["Plan A"]);
  assert.equal(freeName(kept), "Plan B");
  assert.ok(nameFault(kept, "Plan A"));
  assert.equal(nameFault(kept, "Plan B"), null);
});

test("side by side, what has no figure is said in words", () => {
  const one = {
    verdict: "no",
    overall: "no",
    spare: null,
    chance: null,
    pipe: "p",
    outlet: "curb",
    length: 5,
    flattest_percent: 1,
    greatest_depth: 9,
    dig_volume: 1,
    haul_volume: 1,
    pieces: 1,
    carries: null,
    cost: null,
    currency: null,
    cost_left_out: [],
  };
  const texts = rowsOf({ units: "us", alternatives: [one], best: {} }).map(({ cells }) => cells[0]);
  assert.ok(texts.includes("no prices given") && texts.includes("no inlet given") && texts.includes("No"));
});

test("after a trench that passes comes its pipe, after the pipe nothing", () => {
  const pass = { verdict: "pass", plan_fits: true };
  assert.equal(surfaceAfter(pass, EMPTY), "pipe_top");
  assert.equal(surfaceAfter({ ...pass, plan_fits: false }, EMPTY), null);
  assert.equal(surfaceAfter({ ...pass, verdict: "more_readings" }, EMPTY), null);
  assert.equal(surfaceAfter(pass, { ...EMPTY, on: "pipe_top" }), null);
  assert.equal(surfaceAfter(null, EMPTY), null);
});
