// The check of a trench as it is dug: what was typed at each station, kept as typed, the request
// that it makes, and what each answer says in a sign and few words.
import { convertEntry, readEntry, textOf } from "../units/entry.js";
import { depthText, lengthUnitM, plain, unitOf } from "../units/units.js";

export const WAYS = {
  line_to_bottom: { choice: "from the string", from: "from the string" },
  rod: { choice: "by the rod", from: "on the rod" },
  depth: { choice: "from the ground", from: "from the ground" },
};
export const SURFACES = {
  trench_bottom: "the trench bottom",
  pipe_top: "the top of the pipe",
  invert: "the inside bottom of the pipe",
};
const WAYS_OF = { level_line: ["line_to_bottom", "depth"], rod: ["rod", "depth"] };
const NEAR_FT = 0.5;

export const EMPTY = {
  version: 1,
  on: "trench_bottom",
  by: "",
  branch: null,
  tolerance: "",
  began: "",
  entries: [],
};

// The names of the branches of a request, every level of them.
export const branchNames = (body) => (body.branches ?? []).flatMap((branch) => [branch.name, ...branchNames(branch)]);

const withName = (body, name) =>
  (body.branches ?? []).map((branch) => (branch.name === name ? branch : withName(branch, name))).find(Boolean);

const groundOf = (body, branch) => (branch === null ? body : (withName(body, branch) ?? body)).ground;

// The line that is checked: a branch that the plan no longer has gives way to the main line.
export const lineNow = (kept, body) => (branchNames(body).includes(kept.branch) ? kept.branch : null);

// The ways to measure that this ground allows, the usual one first.
export const waysOf = (kept, body) => WAYS_OF[groundOf(body, lineNow(kept, body)).kind] ?? ["depth"];

export function wayNow(kept, body) {
  const ways = waysOf(kept, body);
  return ways.includes(kept.by) ? kept.by : ways[0];
}

// The unit that a way of measuring is read in.
export function unitBy(by, kept, body) {
  if (by !== "rod") return unitOf("depth", body.units);
  return groundOf(body, lineNow(kept, body)).rod_unit ?? (body.units === "us" ? "ft" : "m");
}

// A request without what does not change the trench: prices, and how things are bought.
export const planKey = ({ prices, supply, ...trench }) => JSON.stringify(trench);

// Whether the plan's trench has changed since the first reading was typed. Requests in other
// units cannot be compared, so they count as unchanged.
export function planChanged(kept, body) {
  if (!kept.entries.length || !kept.began || kept.began === planKey(body)) return false;
  return JSON.parse(kept.began).units === body.units;
}

// Kept readings of this line and surface that were taken in a way this plan does not allow.
export const strayReadings = (kept, body) => ownEntries(kept, body).filter(({ by }) => !waysOf(kept, body).includes(by));

function ownEntries(kept, body) {
  const line = lineNow(kept, body);
  return kept.entries.filter((entry) => entry.branch === line && entry.on === kept.on);
}

export const withoutOwn = (kept, body) => {
  const own = ownEntries(kept, body);
  return { ...kept, entries: kept.entries.filter((entry) => !own.includes(entry)) };
};

// The readings of the line and the surface that are checked now, in the plan's units:
// [{entry, at, value}].
export function readingsNow(kept, body) {
  const usable = ownEntries(kept, body).filter(({ by }) => waysOf(kept, body).includes(by));
  return usable.map((entry) => ({
    entry,
    at: atIn(entry, body.units),
    value: readEntry({ shown: "", typed: entry.typed, unit: entry.unit }, unitBy(entry.by, kept, body)).value,
  }));
}

const atIn = ({ at, units }, wanted) => (units === wanted ? at : Number(plain((at * lengthUnitM(units)) / lengthUnitM(wanted), 6)));

// The body of POST /grade-check.
export function checkRequest(kept, body) {
  const line = lineNow(kept, body);
  const tolerance = kept.tolerance === "" ? undefined : readEntry(kept.tolerance, unitOf("depth", body.units)).value;
  return {
    plan: body,
    as_dug: readingsNow(kept, body).map(({ entry, at, value }) => ({
      at,
      on: entry.on,
      [entry.by]: value,
      ...(entry.again && { again: true }),
    })),
    next_on: kept.on,
    ...(tolerance !== undefined && { tolerance }),
    ...(line !== null && { branch: line }),
  };
}

const near = (a, b, units) => Math.abs(a - b) * lengthUnitM(units) <= NEAR_FT * 0.3048 + 1e-9;

// With a reading typed at a station, in place of what was read there before; `again` where the
// answer asked for it a second time.
export function withReading(kept, body, { at, label, by, typed, again = false }) {
  const line = lineNow(kept, body);
  const others = withoutReading(kept, body, at).entries;
  const unit = unitBy(by, kept, body);
  const entry = { branch: line, on: kept.on, at, label, units: body.units, by, typed, unit, ...(again && { again }) };
  return { ...kept, began: kept.entries.length ? kept.began : planKey(body), entries: [...others, entry] };
}

export function withoutReading(kept, body, at) {
  const line = lineNow(kept, body);
  const entries = kept.entries.filter(
    (entry) => entry.branch !== line || entry.on !== kept.on || !near(atIn(entry, body.units), at, body.units),
  );
  return { ...kept, entries };
}

// Every place to read, from the outlet up, as a crew works: those checked with their answer, those
// typed and not checked yet, those to come. [{at, label, station, entry, wanted}]
export function placesOf(check, kept, body) {
  const readings = readingsNow(kept, body);
  const entryAt = (at) => readings.find((one) => near(one.at, at, body.units))?.entry ?? null;
  const places = [
    ...(check?.stations ?? []).map((station) => ({ at: station.at, label: station.label, station, wanted: null })),
    ...(check?.to_read ?? []).map((wanted) => ({ at: wanted.at, label: wanted.label, station: null, wanted })),
  ].map((place) => ({ ...place, entry: entryAt(place.at) }));
  for (const { entry, at } of readings) {
    if (places.some((place) => near(place.at, at, body.units))) continue;
    places.push({ at, label: entry.label, station: null, wanted: null, entry });
  }
  return places.sort((a, b) => b.at - a.at);
}

// The place to read next: the one chosen, else the first from the outlet without a reading, else
// the first that is not good yet by the answer to `asked`.
export function placeNow(places, chosen, asked = []) {
  const taken = chosen === null ? null : places.find((place) => place.at === chosen);
  return taken ?? places.find((place) => !place.entry) ?? places.find((place) => isToMend(place, asked)) ?? null;
}

// Whether a place was answered, and is not good.
export const isToMend = (place, asked) => isChecked(place, asked) && outcome(place.station).sign !== "tick";

// Whether the answer wants this reading a second time before anything is done by it.
export const isDoubted = (place, asked) => isChecked(place, asked) && place.station.do === READ_AGAIN;

// What was read last, at `at`, as it would be typed for this place; null where none is.
export function sameAgain(kept, body, at, place) {
  if (!place || place.entry) return null;
  const last = readingsNow(kept, body).find((reading) => reading.at === at)?.entry;
  const by = wayNow(kept, body);
  return last?.by === by ? textOf(convertEntry(last.typed, last.unit, unitBy(by, kept, body))) : null;
}

// The surface to go on with when this one passes: the pipe, after its trench; null where there is
// none.
export const surfaceAfter = (check, kept) =>
  check?.verdict === "pass" && check.plan_fits && kept.on === "trench_bottom" ? "pipe_top" : null;

// Whether an answer to `asked`, the entries that were sent, still fits what is typed here now.
export const isChecked = ({ station, entry }, asked) => Boolean(station && entry) && asked[station.reading] === entry;

// What a place should read by this way, as a tape or a rod shows it; null where it cannot be read so.
export function shouldRead({ wanted, station }, by) {
  if (wanted) return unsigned(wanted.marks[by]);
  return station?.by === by ? unsigned(station.should_read_text) : null;
}

// How far an answered station lies off the plan.
export function offWords({ off }, units) {
  const size = depthText(Math.round(Math.abs(off) * 1e5 + 0.01) / 1e5 + 1e-9, units);
  return size.startsWith("0 ") ? "on the line" : `${size} ${off > 0 ? "high" : "low"}`;
}

// A mark above the ground, in words instead of a sign.
const unsigned = (mark) => (mark?.startsWith("-") ? `${mark.slice(1)} above the ground` : mark);

const READ_AGAIN = "read_again";
const WORK = {
  shave: ["down", "Shave"],
  lower: ["down", "Lower the pipe"],
  fill: ["up", "Fill"],
  raise: ["up", "Raise the pipe"],
};

// {sign, words} of an answered station: a tick, or which way to go and how far.
export function outcome({ do: work, state, mark }) {
  if (work === READ_AGAIN) return { sign: "look", words: "Read it again first" };
  if (work !== "nothing") {
    const [sign, words] = WORK[work];
    return { sign, words: `${words} ${mark}` };
  }
  return state === "within" ? { sign: "tick", words: "Good" } : { sign: "look", words: state === "high" ? "High" : "Low" };
}

// What is wrong between the stations, each in a sentence.
export function betweenWords({ runs, standing_water: ponds, checks, fall, units, verdict }) {
  const label = (at) => plain(at, 2);
  const where = ({ from, to }) => `Between ${label(from)} and ${label(to)} ${unitOf("distance", units)}`;
  return [
    ...runs.filter((run) => run.falls_back).map((run) => `${where(run)} it falls back: it runs uphill.`),
    ...runs
      .filter((run) => run.under_least && !run.falls_back && verdict === "fail")
      .map((run) => `${where(run)} it falls ${plain(run.percent, 2)} %, less than the minimum grade.`),
    ...(fall && !checks.fall_enough ? ["From end to end it does not fall enough."] : []),
    ...ponds.map((pond) => pond.sentence),
  ];
}
