// Applying a change that the planner offers to mend a plan.
import { isBlankRow, isFinishedRow } from "../document/columns.js";
import { lineOf, unitAt, withChoice, withLine, withValue } from "../document/document.js";
import { cutAt, distances } from "../geometry/polyline.js";
import { listText, rowOf, text } from "../load/typed.js";
import { readEntry } from "../units/entry.js";
import { plain, stationLabel } from "../units/units.js";

// The finest step read on a tape. A change is rounded away from the old value, so that it still
// works.
const TAPE_DIGITS = { in: 1, mm: 0, ft: 2, m: 3, "%": 3 };

const ROWS = { points: ["elevations", "elevation"], readings: ["level_line", "down"] };
const SAME = 1e-9;
const LEAST_SHARE = 0.005; // of the doubt: less rounds to nothing

// The plan with one fix made, or null where the page has no field for it: by the fix's patch where
// it has one. `path` is the field that the fix points at, `plane` the base's plane, `length` the
// run's length in the answer.
export function withFix(plan, fix, { path, plane, length }) {
  const { route, ...patch } = fix.patch ?? {};
  if (route) {
    const ended = endedAt(plan, fix, plane, length);
    return ended && withPatch(ended, patch);
  }
  return fix.patch ? withPatch(plan, patch) : byPointer(plan, fix, { path, plane, length });
}

// The plan with a merge patch of its request (RFC 7396) typed in; null where a member of it has no
// field on the page.
export function withPatch(plan, patch) {
  return Object.entries(patch).reduce((now, [part, members]) => now && withPart(now, part, members), plan);
}

function withPart(plan, part, members) {
  switch (part) {
    case "pipe":
      return withChoice(plan, "pipe.code", members.code);
    case "start":
      return withMembers(
        plan,
        "start",
        Object.fromEntries(Object.entries(members).map(([name, value]) => (name === plan.start.by ? ["value", value] : [name, value]))),
      );
    case "outlet":
      return withOutlet(plan, members);
    case "crossings":
      return withCrossings(plan, members);
    case "fills":
      return withFills(plan, members);
    case "ground":
      return withReadings(plan, members);
    case "stations":
      return withValue(plan, "stations.at", listText(members.at));
    case "grade":
    case "limits":
      return withMembers(plan, part, members);
    default:
      return null;
  }
}

// A member that is removed needs no field.
function withMembers(plan, part, members) {
  return Object.entries(members).reduce((now, [name, value]) => {
    if (!now || (value === null && !(name in now[part]))) return now;
    return name in now[part] ? withValue(now, `${part}.${name}`, text(value)) : null;
  }, plan);
}

function withOutlet(plan, { kind, depth, invert }) {
  const by = invert ? "invert" : depth ? "depth" : plan.outlet.by;
  const now = kind && kind !== plan.outlet.kind ? { kind, by, min: "", max: "", prefer: "" } : { ...plan.outlet, by };
  const span = Object.fromEntries(Object.entries((by === "invert" ? invert : depth) ?? {}).map(([name, value]) => [name, text(value)]));
  return { ...plan, outlet: { ...now, ...span } };
}

// The crossings of the main line that the fix still holds, each passed as the fix says.
function withCrossings(plan, sent) {
  const rows = plan.crossings.rows.flatMap((row) => {
    if (row.on !== "" || !isFinishedRow("crossings", row)) return [row];
    const at = readEntry(row.at, unitAt(plan, "crossings.rows.0.at")).value;
    const one = sent.find((crossing) => Math.abs(crossing.at - at) < 1e-6);
    return one ? [{ ...row, pass: one.pass ?? row.pass }] : [];
  });
  return withValue(plan, "crossings.rows", rows);
}

// The soil to lay on the main line that the fix holds: what was typed stays as it was.
function withFills(plan, sent) {
  const is = (row, name, value) => Math.abs(readEntry(row[name], unitAt(plan, `fills.rows.0.${name}`)).value - value) < 1e-6;
  const left = [...sent];
  const rows = plan.fills.rows.filter((row) => {
    if (row.on !== "" || !isFinishedRow("fills", row)) return true;
    const i = left.findIndex((fill) => ["from", "to", "depth"].every((name) => is(row, name, fill[name])));
    if (i >= 0) left.splice(i, 1);
    return i >= 0;
  });
  return withValue(plan, "fills.rows", [...rows, ...left.map((fill) => rowOf("fills", fill))]);
}

// Readings that changed are typed anew; the others stand as they were typed.
function withReadings(plan, members) {
  const [[list, sent]] = Object.entries(members);
  const [sheet, column] = ROWS[list] ?? [];
  if (plan.ground !== sheet) return null;
  const left = [...sent];
  const rows = plan[sheet].rows.map((row) => {
    if (isBlankRow(row) || !isFinishedRow(sheet, row)) return row;
    const value = left.shift()?.[column];
    const typed = readEntry(row[column], unitAt(plan, `${sheet}.rows.0.${column}`)).value;
    return value === undefined || Math.abs(typed - value) < SAME ? row : { ...row, [column]: text(value) };
  });
  return left.length ? null : withValue(plan, `${sheet}.rows`, rows);
}

function byPointer(plan, fix, { path, plane, length }) {
  switch (fix.change) {
    case "pipe":
      return withChoice(plan, "pipe.code", fix.to);
    case "outlet_kind":
      return { ...plan, outlet: { ...plan.outlet, kind: fix.to, by: "depth", min: "", max: "", prefer: "" } };
    case "grade_changes":
      return { ...plan, grade: { ...plan.grade, shape: "least_dig", max_breaks: String(fix.to) } };
    case "crossing": {
      const i = plan.crossings.rows.findIndex(
        (row) => row.on === "" && Math.abs(readEntry(row.at, unitAt(plan, "crossings.rows.0.at")).value - fix.at) < 1e-4,
      );
      return i < 0 ? null : withValue(plan, `crossings.rows.${i}.pass`, fix.to);
    }
    case "end_at":
      return endedAt(plan, fix, plane, length);
    default:
      return path && typeof fix.to === "number" ? withValue(plan, path, outward(plan, fix, path)) : null;
  }
}

function outward(plan, { from, to }, path) {
  const digits = TAPE_DIGITS[unitAt(plan, path)] ?? 6;
  const scale = 10 ** digits;
  const steps = to > from ? Math.ceil(to * scale - 1e-6) : Math.floor(to * scale + 1e-6);
  return plain(steps / scale, digits);
}

function endedAt(plan, fix, plane, length) {
  const { to } = fix;
  if (plan.route.kind === "taped") return withValue(plan, "route.length", outward(plan, fix, "route.length"));
  if (to >= length) return null;
  const line = lineOf(plan).map(plane.toMetres);
  const cut = cutAt(line, (to / length) * distances(line).at(-1));
  const tape = plan.route.tape_length;
  const next = withLine(plan, cut.map(plane.fromMetres));
  return tape === "" ? next : withValue(next, "route.tape_length", outward(plan, fix, "route.tape_length"));
}

// Which readings to take again, most telling first, in words; null when none stands out.
export function retakeWords({ answer, units }) {
  if (answer.verdict === "yes" || !answer.retake?.length) return null;
  const isTilt = ({ pointer }) => pointer.endsWith("/ground/reversed");
  const less = ({ share }) => `${Math.round(share * 100)} % less`;
  const tilt = answer.retake.find(isTilt);
  const places = answer.retake
    .filter((one) => !isTilt(one) && one.share >= LEAST_SHARE)
    .slice(0, 3)
    .map((one) => `${stationLabel(one.at, units)} (${less(one)})`);
  return [
    tilt && `Turn the level end for end at every step: without what it reads wrong by itself there is ${less(tilt)} doubt.`,
    places.length > 0 &&
      `The readings that matter most, with how much less doubt there is if that one alone is certain: ${places.join(", ")}. Take these again first.`,
  ]
    .filter(Boolean)
    .join(" ");
}
