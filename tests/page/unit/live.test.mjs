// Answers that arrive out of order, briefly while a hand drags, or not at all.
import assert from "node:assert/strict";
import { test } from "node:test";
import { AGAIN_MS, LiveAnswer, PAUSE_MS, REST_MS } from "../../../frontend/api/live_answer.js";

// A clock that only moves when told, and a planner that answers when told.
function staged() {
  const timers = [];
  const calls = [];
  const shown = [];
  const clock = {
    setTimeout: (run, wait) => timers.push({ run, wait }) - 1,
    clearTimeout: (id) => {
      timers[id] = null;
    },
  };
  const live = new LiveAnswer({
    send: (body, signal, { brief }) => new Promise((resolve, reject) => calls.push({ body, signal, brief, resolve, reject })),
    onAnswer: (answer, { newest, brief }) => shown.push([answer, newest, brief]),
    onProblem: (problem) => shown.push(["problem", problem]),
    onAway: () => shown.push(["away"]),
    clock,
  });
  const waits = () => timers.filter(Boolean).map((timer) => timer.wait);
  const pass = () => timers.splice(0).forEach((timer) => timer?.run());
  return { live, calls, shown, pass, waits };
}
const settled = () => new Promise((resolve) => setImmediate(resolve));
const asked = (calls) => calls.map(({ body, brief }) => [body, brief]);

test("only the last of quick changes is asked about", async () => {
  const { live, calls, shown, pass, waits } = staged();
  live.ask("a");
  live.ask("b");
  assert.deepEqual(waits(), [PAUSE_MS]);
  pass();
  assert.deepEqual(asked(calls), [["b", false]]);
  calls[0].resolve({ answer: "B" });
  await settled();
  assert.deepEqual(shown, [["B", true, false]]);
});

test("an older answer never stands over a newer one", async () => {
  const { live, calls, shown, pass } = staged();
  live.ask("a");
  pass();
  live.ask("b");
  pass();
  assert.equal(calls[0].signal.aborted, true);
  calls[1].resolve({ answer: "B" });
  await settled();
  calls[0].resolve({ answer: "A" });
  await settled();
  assert.deepEqual(shown, [["B", true, false]]);
});

test("while a hand drags, brief questions follow one another and the last is then asked in full", async () => {
  const { live, calls, shown, pass, waits } = staged();
  live.ask("a", { flowing: true });
  live.ask("b", { flowing: true });
  live.ask("c", { flowing: true });
  assert.deepEqual(asked(calls), [["a", true]]);
  calls[0].resolve({ answer: "A" });
  await settled();
  assert.deepEqual(asked(calls), [
    ["a", true],
    ["c", true],
  ]);
  calls[1].resolve({ answer: "C" });
  await settled();
  assert.equal(live.pending, true);
  assert.deepEqual(waits(), [REST_MS]);
  pass();
  calls[2].resolve({ answer: "C in full" });
  await settled();
  assert.equal(live.pending, false);
  assert.deepEqual(shown, [
    ["A", false, true],
    ["C", true, true],
    ["C in full", true, false],
  ]);
});

test("a drag goes before a full question under way", async () => {
  const { live, calls, shown, pass } = staged();
  live.ask("a");
  pass();
  live.ask("b", { flowing: true });
  assert.equal(calls[0].signal.aborted, true);
  calls[0].resolve({ answer: "A" });
  calls[1].resolve({ answer: "B" });
  await settled();
  assert.deepEqual(shown, [["B", true, true]]);
});

test("a refusal of an older question is not told", async () => {
  const { live, calls, shown, pass } = staged();
  live.ask("a");
  pass();
  live.ask("b");
  calls[0].resolve({ problem: "P" });
  await settled();
  assert.deepEqual(shown, []);
  assert.equal(live.pending, true);
});

test("an absent planner is told of and asked again", async () => {
  const { live, calls, shown, pass, waits } = staged();
  live.ask("a");
  pass();
  calls[0].reject(new TypeError("no network"));
  await settled();
  assert.deepEqual(shown, [["away"]]);
  assert.deepEqual(waits(), [AGAIN_MS]);
  live.again();
  assert.deepEqual(waits(), [0]);
  pass();
  calls[1].resolve({ answer: "A" });
  await settled();
  assert.deepEqual(shown.at(-1), ["A", true, false]);
});

test("what was dropped is neither asked nor shown", async () => {
  const { live, calls, shown, pass } = staged();
  live.ask("a");
  live.drop();
  pass();
  assert.equal(calls.length, 0);
  live.ask("b");
  pass();
  live.drop();
  calls[0].resolve({ answer: "B" });
  await settled();
  assert.deepEqual(shown, []);
});

test("a planner that is busy is asked again when it said, and not for what is stale by then", async () => {
  const { live, calls, shown, pass, waits } = staged();
  live.ask("a");
  pass();
  calls[0].resolve({ problem: "busy", again_ms: 5000 });
  await settled();
  assert.deepEqual(shown, [["problem", "busy"]]);
  assert.deepEqual(waits(), [5000]);
  assert.equal(live.pending, true);
  pass();
  assert.deepEqual(asked(calls)[1], ["a", false]);
  live.ask("b");
  calls[1].resolve({ problem: "busy", again_ms: 5000 });
  await settled();
  assert.deepEqual(waits(), [PAUSE_MS]);
  pass();
  calls[2].resolve({ answer: "B" });
  await settled();
  assert.deepEqual(shown, [
    ["problem", "busy"],
    ["B", true, false],
  ]);
  assert.equal(live.pending, false);
});
