// One call of the planner. A key that was typed here goes along and stays with this window only.
const BASE = "/api/v1";
const KEY = "yardfall.key";

// What another site's form cannot send: the planner asks for it where a browser sends the key
// along by itself.
const BY_SCRIPT = { "X-Requested-With": "yardfall-page" };

export const keepKey = (key) => sessionStorage.setItem(KEY, key);

// Whether a sum took all the time that it may: the same again would take it again.
export const ranOut = (problem) => problem.type?.endsWith("/out-of-time");

// `body` goes as JSON, `form` as it is. Rejects where the planner cannot be reached.
export function call(path, { method = "GET", body, form, etag, signal, cache } = {}) {
  const key = sessionStorage.getItem(KEY);
  const headers = {
    ...BY_SCRIPT,
    ...(key && { Authorization: `Bearer ${key}` }),
    ...(etag && { "If-Match": etag }),
    ...(body && { "Content-Type": "application/json" }),
  };
  return fetch(`${BASE}/${path}`, { method, headers, body: form ?? (body && JSON.stringify(body)), signal, cache });
}
