// What the address says behind its #, which no browser sends: #job=ID&revision=2&in-the-trench.
const ORDER = ["job", "revision", "crew", "in-the-trench", "in-the-yard"];

const parts = () => new URLSearchParams(location.hash.slice(1));

// What a part of the address says: "" for one that only stands there, null for one that does not.
export const addressSays = (name) => parts().get(name);

// The part behind the # with some parts changed: a text, true for one that only stands there, null
// for one to leave out.
export function hashWith(changes) {
  const now = { ...Object.fromEntries(parts()), ...changes };
  const told = ORDER.filter((name) => now[name] !== undefined && now[name] !== null).map((name) =>
    now[name] === true || now[name] === "" ? name : `${name}=${encodeURIComponent(now[name])}`,
  );
  return told.length ? `#${told.join("&")}` : "";
}

// Go there as a step of the browser's history: its back button returns.
export const goTo = (changes) => {
  location.hash = hashWith(changes);
};

// Say it in the address without a step of history.
export function keepAddress(changes) {
  const hash = hashWith(changes);
  if (hash !== location.hash) history.replaceState(null, "", `${location.pathname}${hash}`);
}

// The address of a job, under the planner's own or the one at which others reach it.
export const addressOf = (id, { origin = location.origin, path = "/", more = "" } = {}) => `${origin}${path}#job=${id}${more}`;
