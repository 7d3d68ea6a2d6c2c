// What a phone says of a trench that it checked by itself.
import { tapeText } from "../units/tape.js";
import { depthText, unitOf } from "../units/units.js";

export const HERE = "Checked on this phone; the planner checks it again when it is back.";

const NAMED = 3;
const PLAIN = {
  shave: (label, mark) => `shave ${mark} at ${label}`,
  fill: (label, mark) => `fill ${mark} at ${label}`,
  lower: (label, mark) => `lower ${mark} at ${label}`,
  raise: (label, mark) => `raise ${mark} at ${label}`,
};
const WORK = {
  shave: (mark) => `shave ${mark}`,
  fill: (mark) => `fill ${mark}`,
  lower: (mark) => `lower the pipe ${mark}`,
  raise: (mark) => `raise the pipe ${mark}`,
};

// One station in a sentence.
export function straightStation({ label, off, state, do: work, mark, beside }, units) {
  const size = depthText(Math.abs(off), units);
  if (work === "read_again") {
    const right = beside > 1 ? "those on either side lie within the tolerance" : "the one next to it lies within the tolerance";
    return `${label} reads ${size} ${state}, and ${right}: was it read right? Read it again first.`;
  }
  if (work === "nothing") return `${label} is good.`;
  if (state === "within") return `${label} is within tolerance, but the stretch beside it does not fall enough: ${WORK[work](mark)}.`;
  return `${label} is ${size} ${state}: ${WORK[work](mark)}.`;
}

// The whole check in a sentence, without who checked it.
export function straightSentence({ stations, to_read: left, verdict, units, tolerance, checks }) {
  const again = stations.filter((one) => one.do === "read_again").map(({ label }) => label);
  const doubt = again.length
    ? `Was ${again.join(", ")} read right? What lies beside it is within the tolerance, and digging seldom leaves such a step: read it again before you shave or fill.`
    : "";
  const work = stations.filter((one) => one.mark).map(({ label, do: what, mark }) => PLAIN[what](label, mark));
  if (verdict === "fail") {
    const more = work.length > NAMED ? ` and ${work.length - NAMED} more` : "";
    const told = work.length ? `Not yet: ${work.slice(0, NAMED).join(", ")}${more}.` : "Not yet: it does not fall enough from end to end.";
    return [told, doubt].filter(Boolean).join(" ");
  }
  if (doubt) return doubt;
  const next = left.length ? `next read ${left[0].label}` : "";
  if (!stations.length) return next ? `No readings yet; ${next}.` : "No readings yet.";
  const size = `${tapeText(tolerance, unitOf("depth", units))} ${unitOf("depth", units)}`;
  const each = stations.length === 1 ? "1 reading lies" : `${stations.length} readings lie`;
  const steep = stations.length > 1 && checks.steep_enough ? ", and no stretch is flatter than it may be" : "";
  return `${verdict === "pass" ? "Pass" : "Good so far"}: ${each} within ${size} of the plan${steep}${next && `; ${next}`}.`;
}

// What the planner sees otherwise than the phone did, in a sentence; "" where it agrees.
export function otherwiseWords(here, check) {
  const apart = here.stations.filter(({ at, do: work }) => {
    const other = check.stations.find((one) => one.at === at);
    return other && other.do !== work;
  });
  if (apart.length)
    return `The planner is back and sees ${apart.map(({ label }) => label).join(", ")} otherwise than this phone did: go by the planner.`;
  return here.verdict === check.verdict ? "" : "The planner is back and sees the whole otherwise than this phone did: go by the planner.";
}
