// Which refusals of the planner are asked again.
import assert from "node:assert/strict";
import { test } from "node:test";
import { askPlan } from "../../../frontend/api/planner.js";

globalThis.sessionStorage ??= { getItem: () => null };

// What the page makes of a 503 after which `wait_s` is asked for, from a planner that is ready or not.
async function refused(type, wait_s, getting_ready) {
  const { fetch } = globalThis;
  globalThis.fetch = async (path) =>
    path.endsWith("/health")
      ? Response.json({ getting_ready })
      : Response.json({ type: `/problems/${type}`, detail: "As it was." }, { status: 503, headers: { "Retry-After": String(wait_s) } });
  const { problem, again_ms } = await askPlan({}, undefined, { brief: false }).finally(() => {
    globalThis.fetch = fetch;
  });
  return [problem.detail, again_ms];
}

test("a planner that makes itself ready is asked again, one that is ready not", async () => {
  for (const [type, wait_s] of [
    ["unavailable", 5],
    ["out-of-time", 60],
  ]) {
    const [told, again_ms] = await refused(type, wait_s, true);
    assert.match(told, /goes on asking by itself/);
    assert.equal(again_ms, 5000);
  }
  assert.deepEqual(await refused("out-of-time", 60, false), ["As it was.", undefined]);
  assert.deepEqual(await refused("unavailable", 5, false), ["As it was.", 5000]);
});
