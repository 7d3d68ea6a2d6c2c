// The page in the pocket: kept by the browser, so that it opens with no network.
const WORKER = "/offline.js";

// What the page fetches only where it is wanted, and may be wanted first with no network.
const LATER = ["trench/here.js", "trench/straight.js", "wording/straight.js"].map(
  (path) => new URL(`../model/${path}`, import.meta.url).href,
);

// Why the browser keeps nothing: it does so only for what comes by https, or from its own machine.
export const WITHHELD =
  "This page came over plain http from another machine, so your browser will neither install it nor open it " +
  "with no network. Ask whoever runs the planner for an https address.";

// Whether the browser lets the page be kept; then keep all that it was made of, and the addresses of
// what it loads `later`.
export async function keepPage(later = []) {
  if (!isSecureContext || !navigator.serviceWorker) return false;
  try {
    await navigator.serviceWorker.register(WORKER);
    const { active } = await navigator.serviceWorker.ready;
    const made = performance.getEntriesByType("resource").map(({ name }) => name);
    active.postMessage({ keep: [location.origin + location.pathname, ...made, ...LATER, ...later] });
    return true;
  } catch {
    return false; // the browser forbids it, in a private window for instance
  }
}
