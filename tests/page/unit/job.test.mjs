// Jobs in words: fingerprints of plans, what differs between two saves, why a planner refused.
import assert from "node:assert/strict";
import { test } from "node:test";
import { blankDocument, completed, withValue } from "../../../frontend/model/document/document.js";
import { answerRows, differences, fingerprint, refusalWords, standingWords, VERDICT_WORDS } from "../../../frontend/model/wording/jobs.js";

test("a plan's fingerprint follows what is typed, not its job nor the order of its parts", () => {
  const plan = blankDocument();
  const turned = Object.fromEntries(Object.entries(plan).reverse());
  for (const same of [{ ...plan, job: "a" }, turned, completed(JSON.parse(JSON.stringify(plan)))]) {
    assert.equal(fingerprint(same), fingerprint(plan));
  }
  const seen = new Set([fingerprint(plan)]);
  for (let i = 0; i < 500; i += 1) seen.add(fingerprint(withValue(plan, "start.value", String(i + 0.5))));
  assert.equal(seen.size, 501);
});

test("how a plan stands to its job", () => {
  const kept = { revision: 3, saved_at: "2026-01-02T03:04:05+00:00", draft: false };
  assert.equal(standingWords(null, false), "Not saved as a job.");
  assert.match(standingWords(kept, false), /^Kept as revision 3, .+\.$/);
  assert.equal(standingWords(kept, true), "Changed since revision 3.");
  assert.match(standingWords({ ...kept, draft: true }, false), /revision 3, a draft that has no answer yet/);
  assert.match(standingWords({ ...kept, newer: 5 }, true), /Someone else saved revision 5 since\.$/);
});

const YARD = {
  units: "us",
  route: { length: 52 },
  start: { cover: 8 },
  ground: {
    kind: "level_line",
    readings: [
      { at: 0, down: 9 },
      { at: 26, down: 9.5 },
    ],
  },
};

test("what differs is named, with units, and a reading put between moves no other", () => {
  const ground = {
    ...YARD.ground,
    readings: [
      { at: 0, down: 9 },
      { at: 13, down: 10.5 },
      { at: 26, down: 10 },
    ],
  };
  assert.deepEqual(differences(YARD, { ...YARD, start: { cover: 9 }, ground, limits: { dig_by: "by_hand" } }), [
    { what: "Cover at the start", was: "8 in", now: "9 in" },
    { what: "Down from the string, at 26 ft", was: "9.5 in", now: "10 in" },
    { what: "Down from the string, at 13 ft", was: "—", now: "10.5 in" },
    { what: "Dug by", was: "—", now: "by hand" },
  ]);
  assert.deepEqual(differences(YARD, structuredClone(YARD)), []);
});

test("two kinds of ground, a line that moved, a part that no list names, an empty request", () => {
  const line = (x) => ({
    units: "si",
    route: {
      line: {
        type: "LineString",
        coordinates: [
          [0, 0],
          [x, 0],
        ],
      },
    },
  });
  assert.deepEqual(differences(line(5), line(6)), [
    { what: "The line on the map", was: "2 points: 0, 0; 5, 0", now: "2 points: 0, 0; 6, 0" },
  ]);
  const shots = (rod) => ({ units: "us", ground: { shots: [{ sight: "BS", rod }] } });
  assert.deepEqual(differences(shots(4), shots(5)), [{ what: "Ground, shots, rod, row 1", was: "4", now: "5" }]);
  assert.equal(differences({}, YARD).length, 6);
});

test("answers side by side; a draft has none", () => {
  const answer = {
    units: "us",
    answer: { verdict: "no", spare: -1.25 },
    outlet: { dig_depth: 7 },
    stations: [{ dig_depth: 9 }, { dig_depth: 16.1 }],
    quantities: { trench: { bank: 1.167392 } },
  };
  assert.deepEqual(
    answerRows({ answer: null }, { answer }).map(({ what, was, now }) => [what, was, now]),
    [
      ["Answer", "no answer: a draft", "No"],
      ["Fall to spare", "no answer: a draft", "1.3 in short"],
      ["Deepest dig", "no answer: a draft", "16.1 in"],
      ["Depth at the outlet", "no answer: a draft", "7 in"],
      ["Dirt to dig", "no answer: a draft", "1.17 cu yd"],
    ],
  );
});

test("a plan that fits on conditions is no plain yes in a list", () => {
  assert.equal(VERDICT_WORDS.conditional, "Yes, if");
});

test("each refusal is a sentence that says what was not done and what to do", () => {
  assert.match(refusalWords(0, ""), /cannot be reached/);
  assert.match(refusalWords(413, "This key keeps 9 MiB."), /nothing was kept\. This key keeps 9 MiB\.$/);
  assert.match(refusalWords(429, "", "2"), /try again in 2 s/);
  assert.match(refusalWords(503, "", null), /try again in a moment/);
  assert.equal(refusalWords(422, "A sentence."), "A sentence.");
});
