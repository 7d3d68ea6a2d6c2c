// Applying a change that the planner offers to mend a plan.
import { lineOf, unitAt, withChoice, withLine, withValue } from "./document.js";
import { readEntry } from "./entry.js";
import { cutAt, distances } from "./line.js";
import { plain, stationLabel } from "./units.js";

// As fine as a tape is read; a change is rounded away from where it starts, so it still works.
const TAPE_DIGITS = { in: 1, mm: 0, ft: 2, m: 3, "%": 3 };

// The plan with one fix made, or null where the page has no field for it. `path` is the field
// that the fix points at, `plane` the base's plane, `length` the run's length in the answer.
export function withFix(plan, fix, { path, plane, length }) {
  switch (fix.change) {
    case "pipe":
      return withChoice(plan, "pipe.code", fix.to);
    case "outlet_kind":
      return { ...plan, outlet: { ...plan.outlet, kind: fix.to, by: "depth", min: "", max: "", prefer: "" } };
    case "grade_changes":
      return { ...plan, grade: { ...plan.grade, shape: "least_dig", max_breaks: String(fix.to) } };
    case "crossing": {
      const i = plan.crossings.rows.findIndex((row) => row.on === "" &&
        Math.abs(readEntry(row.at, unitAt(plan, "crossings.rows.0.at")).value - fix.at) < 1e-4);
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
  const doubt = ({ share }) => `${Math.round(share * 100)} % of the doubt`;
  const tilt = answer.retake.find(isTilt);
  const places = answer.retake.filter((one) => !isTilt(one)).slice(0, 3).map((one) => `${stationLabel(one.at, units)} (${doubt(one)})`);
  return [
    tilt && `Turn the level end for end at every step: what it reads wrong by itself is ${doubt(tilt)}.`,
    places.length > 0 && `The readings that matter most: ${places.join(", ")}. Take these again first.`,
  ].filter(Boolean).join(" ");
}
