// What this browser can tell by itself of what was typed in the trench, from the plan it knows.
import { lineNow, planKey, readingsNow, unitBy, wayNow } from "../request/trench.js";
import { readEntry } from "../units/entry.js";
import { unitOf } from "../units/units.js";
import { METRES, straightCheck } from "./straight.js";

export { HERE, otherwiseWords } from "../wording/straight.js";

// {check, asked} as from the planner, of the readings kept for a plan's request; `known` is the
// last answer, {body, answer}. Null where that is of another plan, or its ground is not known.
export function checkedHere(kept, body, known) {
  if (!known || planKey(known.body) !== planKey(body)) return null;
  const answer = answerOf(known.answer, lineNow(kept, body));
  if (!answer?.ground_known || answer.marks.least_percent === undefined) return null;
  const readings = readingsNow(kept, body);
  const by = wayNow(kept, body);
  const check = straightCheck(
    answer,
    readings.map(({ entry, at, value }) => ({ at, value, by: entry.by, again: entry.again, unit: unitBy(entry.by, kept, body) })),
    { on: kept.on, by, unit: unitBy(by, kept, body), tolerance_m: toleranceOf(kept, body) },
  );
  return { check, asked: readings.map(({ entry }) => entry) };
}

// The answer of one line of a plan; null for the main one.
function answerOf(answer, name) {
  if (name === null) return answer;
  for (const branch of answer.branches) {
    const found = branch.name === name ? branch : answerOf(branch, name);
    if (found) return found;
  }
  return null;
}

function toleranceOf({ tolerance }, { units }) {
  const unit = unitOf("depth", units);
  const typed = tolerance === "" ? undefined : readEntry(tolerance, unit).value;
  return typed === undefined ? undefined : typed * METRES[unit];
}
