// Stands in for node:assert/strict in the browser: the few checks that the tests use.
function check(holds, message) {
  if (!holds) throw new Error(message);
}

const shown = (value) => JSON.stringify(value, (_, v) => (typeof v === "bigint" ? `${v}n` : v));

function same(a, b) {
  if (Object.is(a, b)) return true;
  if (typeof a !== "object" || typeof b !== "object" || a === null || b === null) return false;
  if (Array.isArray(a) !== Array.isArray(b)) return false;
  const keys = Object.keys(a);
  return keys.length === Object.keys(b).length && keys.every((key) => key in b && same(a[key], b[key]));
}

export default {
  ok: (value, message) => check(value, message ?? `${shown(value)} does not hold`),
  equal: (a, b, message) => check(Object.is(a, b), message ?? `${shown(a)} is not ${shown(b)}`),
  notEqual: (a, b, message) => check(!Object.is(a, b), message ?? `${shown(a)} twice`),
  deepEqual: (a, b, message) => check(same(a, b), message ?? `${shown(a)} is not ${shown(b)}`),
  match: (text, pattern) => check(pattern.test(text), `${text} does not match ${pattern}`),
  doesNotMatch: (text, pattern) => check(!pattern.test(text), `${text} matches ${pattern}`),
  throws(body, kind) {
    let thrown = null;
    try {
      body();
    } catch (error) {
      thrown = error;
    }
    check(thrown instanceof (kind ?? Error), `it threw ${thrown}`);
  },
};
