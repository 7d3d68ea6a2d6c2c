// Jobs in words: how the plan on the page stands to what was kept, what differs between two
// saves, why the planner refused.
import { plain, unitOf } from "../units/units.js";

// A short text that differs when a plan differs. It depends neither on the job that the plan
// belongs to nor on the order in which its parts were typed.
export function fingerprint(plan) {
  const text = JSON.stringify(sorted({ ...plan, job: "" }));
  let [a, b] = [0x811c9dc5, 0x1b873593];
  for (let i = 0; i < text.length; i += 1) {
    a = Math.imul(a ^ text.charCodeAt(i), 0x01000193);
    b = Math.imul(b ^ text.charCodeAt(i), 0x85ebca6b) ^ (b >>> 13);
  }
  return [a, b, text.length].map((part) => (part >>> 0).toString(36)).join("-");
}

function sorted(value) {
  if (Array.isArray(value)) return value.map(sorted);
  if (!value || typeof value !== "object") return value;
  return Object.fromEntries(
    Object.keys(value)
      .sort()
      .map((key) => [key, sorted(value[key])]),
  );
}

export const momentText = (iso) => new Date(iso).toLocaleString([], { day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });

export const dayText = (iso) => new Date(iso).toLocaleDateString([], { day: "numeric", month: "short" });

// What a check of a trench found, in a word or two.
const CHECK_WORDS = { pass: "good", more_readings: "good so far", fail: "not good yet" };
export const checkWords = (verdict) => CHECK_WORDS[verdict] ?? verdict;

// How the plan stands to its job. `kept` is {revision, saved_at, draft, newer}, null for a plan
// that belongs to no job; `newer` is the revision that someone else has saved since, `older` the number of
// the earlier revision that the plan is.
export function standingWords(kept, changed, older = null) {
  if (!kept) return "Not saved as a job.";
  if (older !== null) return `Revision ${older} of ${kept.revision}, as it was kept.`;
  const revision = `revision ${kept.revision}`;
  const newer = kept.newer ? ` Someone else saved revision ${kept.newer} since.` : "";
  if (changed) return `Changed since ${revision}.${newer}`;
  const draft = kept.draft ? ", a draft that has no answer yet" : "";
  return `Kept as ${revision}${draft}, ${momentText(kept.saved_at)}.${newer}`;
}

export const VERDICT_WORDS = { yes: "Yes", conditional: "Yes, if", no: "No", too_close: "Too close to call" };

// Why the planner refused, in a sentence. `status` is 0 where it could not be reached.
export function refusalWords(status, detail, waitS) {
  const soon = waitS ? `in ${waitS} s` : "in a moment";
  switch (status) {
    case 0:
      return "The planner cannot be reached. Nothing was changed there; your plan stays on this page.";
    case 401:
      return "This needs a key of the planner, so nothing was done.";
    case 413:
      return `Too large, so nothing was kept. ${detail}`;
    case 429:
      return `Too many requests for this key. Nothing was changed; try again ${soon}.`;
    case 503:
      return `The planner cannot reach what it keeps. Nothing was changed; try again ${soon}.`;
    case 507:
      return "The planner's disk is full, so nothing was kept. Tell whoever runs it; your plan stays on this page.";
    default:
      return detail;
  }
}

// [what it is called, the quantity it is in] by where it stands in a request; * is any step.
const CALLED = {
  units: ["Units"],
  "route/length": ["Length of the run", "distance"],
  "route/tape_length": ["Taped length", "distance"],
  "route/line/coordinates": ["The line on the map"],
  "route/crs": ["Coordinates of the map"],
  "ground/kind": ["Ground measured with"],
  "ground/raster": ["Elevation raster"],
  "ground/benchmark/name": ["Benchmark"],
  "ground/benchmark/elevation": ["Elevation of the benchmark", "elevation"],
  "ground/readings/*/down": ["Down from the string", "depth"],
  "ground/points/*/elevation": ["Ground", "elevation"],
  "ground/runs/*/percent": ["Slope", "percent"],
  "ground/steps/*/length": ["Length of the step", "distance"],
  "ground/steps/*/drop": ["Drop along the step", "depth"],
  "ground/read_with": ["Readings over the raster taken with"],
  "ground/reversed": ["Level turned at every step"],
  "ground/of": ["Whose drop it is"],
  "ground/drop": ["Drop from start to end", "depth"],
  "ground/hump/at": ["Hump at station", "distance"],
  "ground/hump/height": ["Hump above the even slope", "depth"],
  "pipe/code": ["Pipe"],
  "pipe/outside": ["Outside diameter", "depth"],
  "pipe/inside": ["Inside diameter", "depth"],
  "pipe/wall": ["Wall of the pipe", "depth"],
  "pipe/n": ["Roughness of the pipe"],
  "start/cover": ["Cover at the start", "depth"],
  "start/depth": ["Trench depth at the start", "depth"],
  "start/invert": ["Invert at the start", "elevation"],
  "start/shallowest_cover": ["Shallowest cover at the start", "depth"],
  "grade/min_percent": ["Minimum grade", "percent"],
  "grade/max_percent": ["Maximum grade", "percent"],
  "grade/fall_step": ["Whole fall rounded up to", "depth"],
  "grade/shape": ["The pipe runs"],
  "grade/aim": ["A straight grade is chosen"],
  "grade/max_breaks": ["Changes of grade at most"],
  "limits/min_cover": ["Minimum cover", "depth"],
  "limits/max_depth": ["Maximum depth", "depth"],
  "limits/dig_by": ["Dug by"],
  "limits/outlet_taper": ["Cover may thin out over the last", "distance"],
  "limits/run_out_cover": ["Cover kept where it thins out", "depth"],
  "limits/run_in": ["Cover may be less over the first", "distance"],
  "limits/run_in_cover": ["Cover kept on that first length", "depth"],
  "limits/bedding": ["Bedding", "depth"],
  "covers/*/what": ["What needs cover of its own"],
  "covers/*/from": ["What needs cover begins", "distance"],
  "covers/*/to": ["What needs cover ends", "distance"],
  "covers/*/cover": ["Cover it needs", "depth"],
  "covers/*/wheels": ["Cars pass over it"],
  "fills/*/from": ["Soil to lay begins", "distance"],
  "fills/*/to": ["Soil to lay ends", "distance"],
  "fills/*/depth": ["Soil to lay", "depth"],
  "fills/*/full_from": ["Soil to lay is full from", "distance"],
  "fills/*/full_to": ["Soil to lay is full to", "distance"],
  "fills/*/width": ["Width of the soil to lay", "distance"],
  "prices/fill": ["Price of soil to bring"],
  "limits/trench_width": ["Width of the trench", "depth"],
  "outlet/kind": ["Outlet"],
  "outlet/depth/min": ["Outlet depth at least", "depth"],
  "outlet/depth/max": ["Outlet depth at most", "depth"],
  "outlet/depth/prefer": ["Best outlet depth", "depth"],
  "outlet/invert/min": ["Outlet invert at least", "elevation"],
  "outlet/invert/max": ["Outlet invert at most", "elevation"],
  "outlet/invert/prefer": ["Best outlet invert", "elevation"],
  "outlet/water_level/depth": ["Highest water below the ground at the outlet", "depth"],
  "outlet/water_level/elevation": ["Highest water at the outlet", "elevation"],
  "stations/every": ["A station every", "distance"],
  "stations/at": ["Further stations", "distance"],
  "accuracy/instrument": ["Accuracy of the readings"],
  "accuracy/lidar": ["Accuracy of the readings"],
  "accuracy/lawn": ["How even the ground is"],
  "accuracy/sigma": ["Accuracy, own figure", "depth"],
  "crossings/*/top_depth": ["Crossing, depth to its top", "depth"],
  "crossings/*/what": ["Crossing"],
  "crossings/*/exposed": ["Crossing exposed by hand"],
  "ground/known/*/elevation": ["Known point", "elevation"],
  joins_at: ["Where it joins", "distance"],
  drop: ["Comes in higher by", "depth"],
  "supply/piece_length": ["Length of a coil or stick", "distance"],
  "supply/waste_percent": ["Pipe cut off and lost", "percent"],
  "supply/swell_percent": ["Dug soil swells by", "percent"],
  "supply/by_hand": ["Dug by hand in an hour", "distance"],
  "supply/by_machine": ["Dug by machine in an hour", "distance"],
  "supply/depth_classes": ["Volume split at depths", "depth"],
  "paper/title": ["Title on the papers"],
  "paper/place": ["Place on the papers"],
  "paper/prepared_for": ["Whom the papers are for"],
  "paper/prepared_by": ["Who prepared the papers"],
  "paper/date": ["Date on the papers"],
  "paper/page": ["Size of the papers"],
  "paper/avoid": ["Areas to keep out of"],
  "paper/fixed": ["What stakes are taped from"],
  "paper/tags": ["Tags for the stakes"],
  "paper/within": ["Lot line"],
  "paper/clearance": ["Kept away from them by", "distance"],
  "paper/beneath": ["What the line is drawn on"],
};
const WHOLE = [
  "route/line/coordinates",
  "stations/at",
  "supply/depth_classes",
  "paper/avoid",
  "paper/within",
  "paper/fixed",
  "paper/beneath",
];

// What differs between two requests: [{what, was, now}], "—" where there was nothing.
export function differences(then, now) {
  const [before, after] = [leavesOf(then), leavesOf(now)];
  const paths = [...new Set([...before.keys(), ...after.keys()])];
  return paths
    .filter((path) => JSON.stringify(before.get(path)) !== JSON.stringify(after.get(path)))
    .map((path) => ({
      what: nameOf(path, now.units ?? then.units),
      was: shown(path, before.get(path), then),
      now: shown(path, after.get(path), now),
    }));
}

function leavesOf(request) {
  const leaves = new Map();
  const take = (value, path) => {
    if (value === null || typeof value !== "object" || WHOLE.includes(ownPath(path))) leaves.set(path, value);
    else if (Array.isArray(value)) rowsOf(value).forEach(([name, row]) => take(row, `${path}/${name}`));
    else for (const [key, part] of Object.entries(value)) take(part, path ? `${path}/${key}` : key);
  };
  take(request ?? {}, "");
  return leaves;
}

// Rows go by the station they stand at or by their name, so that one put in between moves no other.
function rowsOf(rows) {
  const key = ["at", "name"].find(
    (name) =>
      new Set(rows.map((row) => row?.[name])).size === rows.length &&
      rows.every((row) => row?.[name] !== undefined && Object.keys(row).length > 1),
  );
  if (!key) return rows.map((row, i) => [`#${i + 1}`, row]);
  return rows.map(({ [key]: place, ...row }) => [`@${String(place).replaceAll("/", " ")}`, row]);
}

const isRow = (step) => /^[@#]/.test(step);

function nameOf(path, units) {
  const steps = path.split("/");
  const row = steps.find(isRow);
  const [words] = CALLED[keyOf(path)] ?? [];
  const plainSteps = steps
    .filter((step) => !isRow(step))
    .join(", ")
    .replaceAll("_", " ");
  const name = words ?? plainSteps.charAt(0).toUpperCase() + plainSteps.slice(1);
  if (!row) return name;
  if (path.startsWith("branches/")) return `${name}, branch ${row.slice(1)}`;
  if (row.startsWith("#")) return `${name}, row ${row.slice(1)}`;
  const station = row.slice(1);
  return Number.isNaN(Number(station)) ? `${name}, ${station}` : `${name}, at ${station} ${unitOf("distance", units ?? "us")}`;
}

const keyOf = (path) =>
  ownPath(path)
    .split("/")
    .map((step) => (isRow(step) ? "*" : step))
    .join("/");

// What stands in a branch is called as on the main line.
const ownPath = (path) => path.replace(/^(branches\/[@#][^/]*\/)+/, "");

function shown(path, value, request) {
  if (value === undefined || value === null) return "—";
  if (path === "units") return value === "us" ? "ft, in" : "m, mm";
  if (ownPath(path) === "route/line/coordinates") return `${value.length} points: ${value.map(place).join("; ")}`;
  if (["paper/avoid", "paper/within", "paper/fixed"].includes(path)) return areasText(value);
  if (path === "paper/beneath") return beneathText(value, request);
  const unit = unitOf(CALLED[keyOf(path)]?.[1] ?? "", request.units ?? "us");
  const text = Array.isArray(value) ? value.join("; ") : String(value).replaceAll("_", " ");
  return unit ? `${text} ${unit}` : text;
}

const areasText = (shapes) =>
  (shapes.features ?? [shapes])
    .map(
      ({ properties, geometry = shapes }) => `${properties?.name ?? "no name"}: ${positions(geometry.coordinates).map(place).join("; ")}`,
    )
    .join(". ");

const positions = (part) => (typeof part[0] === "number" ? [part] : part.flatMap(positions));

const beneathText = ({ site_plan: site, scale, turn = 0 }, { units }) =>
  !site
    ? "an elevation raster"
    : `a site plan${scale ? `, A to B ${plain(scale.distance, 2)} ${unitOf("distance", units)}, turned by ${plain(turn, 2)}°` : ""}`;

const place = ([x, y]) => `${plain(x, 5)}, ${plain(y, 5)}`;

// What two saves were answered, side by side: [{what, was, now}].
export function answerRows(then, now) {
  const rows = [
    ["Answer", ({ answer }) => VERDICT_WORDS[overallOf(answer)]],
    ["Fall to spare", ({ answer }) => spare(answer)],
    ["Deepest dig", ({ answer }) => depth(deepest(answer), answer)],
    ["Depth at the outlet", ({ answer }) => depth(answer.outlet.dig_depth, answer)],
    ["Dirt to dig", ({ answer }) => dirt(answer)],
  ];
  return rows.map(([what, tell]) => ({ what, was: told(then, tell), now: told(now, tell) }));
}

// An answer kept before there were conditions has its verdict alone.
const overallOf = ({ whole, answer }) => whole?.overall ?? answer.overall ?? answer.verdict;

const deepest = ({ stations }) => (stations.some((s) => s.dig_depth === null) ? null : Math.max(...stations.map((s) => s.dig_depth)));

const told = (save, tell) => (save.answer ? tell(save) : "no answer: a draft");

const depth = (value, { units }) =>
  value === null || value === undefined ? "—" : `${plain(value, units === "us" ? 1 : 0)} ${unitOf("depth", units)}`;

const spare = (answer) => (answer.answer.spare < 0 ? `${depth(-answer.answer.spare, answer)} short` : depth(answer.answer.spare, answer));

function dirt({ quantities, units }) {
  const bank = quantities?.trench?.bank;
  return bank === undefined ? "—" : `${plain(bank, 2)} ${unitOf("volume", units)}`;
}
