// Plans kept to set side by side: each the whole plan as typed, under a name of its own.
import { completed, inUnits } from "../document/document.js";
import { gradeText } from "../units/grade.js";
import { plain, unitOf } from "../units/units.js";
import { buildRequest } from "./request.js";

export const MOST_KEPT = 5;
export const NOW = "This plan now";

const OUTLETS = {
  pop_up: "pop-up lid",
  daylight: "daylight",
  curb: "curb",
  dry_well: "dry well",
  tie_in: "another drain",
};
const VERDICTS = { yes: "Yes", conditional: "Yes, on conditions", no: "No", too_close: "Too close to call" };

// The first of "Plan A", "Plan B" … that is free.
export const freeName = (kept) => [..."ABCDEFGH"].map((letter) => `Plan ${letter}`).find((name) => !kept.some((one) => one.name === name));

// Why a plan cannot be kept under this name; null where it can.
export function nameFault(kept, name) {
  if (!name) return "Give the plan a name.";
  if (name === NOW || kept.some((one) => one.name === name)) return "This name is taken: give it another.";
  return null;
}

export const takenUp = ({ plan }, units) => inUnits(completed(plan), units);

// The plans to compare, [{name, plan: request}], with the present one where it differs from all
// that are kept, and the names of those that cannot be asked about here.
export function comparisonOf(kept, present, baseOf) {
  const requestOf = (plan) => {
    const base = baseOf(plan.base);
    return base ? buildRequest(plan, base).body : null;
  };
  const read = kept.map((one) => ({ name: one.name, plan: requestOf(takenUp(one, present.units)) }));
  const plans = read.filter(({ plan }) => plan);
  const now = requestOf(present);
  const same = plans.some(({ plan }) => JSON.stringify(plan) === JSON.stringify(now));
  if (now && !same) plans.push({ name: NOW, plan: now });
  return { plans, missing: read.filter(({ plan }) => !plan).map(({ name }) => name) };
}

// The rows of the table: {head, cells, best: name of the best or null}, those that differ first.
export function rowsOf({ alternatives, best, units }, way = "") {
  const size = (quantity, digits) => (value) => (value === null ? "–" : `${plain(value, digits)} ${unitOf(quantity, units)}`);
  const depth = size("depth", units === "us" ? 1 : 0);
  const row = (head, cell, name = null) => ({ head, cells: alternatives.map(cell), best: name });
  const rows = [
    row("Can it run by gravity?", (one) => VERDICTS[one.overall]),
    row("Fall to spare", (one) => spareWords(one.spare, depth), best.most_spare),
    row("Chance that this drain works", (one) => (one.chance === null ? "–" : chanceWords(one.chance))),
    row("Pipe", (one) => one.pipe),
    row("Outlet", (one) => OUTLETS[one.outlet] ?? one.outlet),
    row("Length of the run", (one) => size("distance", 1)(one.length)),
    row("Flattest grade", (one) => gradeText(one.flattest_percent, way)),
    row("Deepest dig", (one) => depth(one.greatest_depth)),
    row("Soil to dig", (one) => size("volume", 2)(one.dig_volume), best.least_dig),
    row("To haul off, loose", (one) => size("volume", 2)(one.haul_volume)),
    row("Coils or sticks", (one) => String(one.pieces)),
    row("Carries the water?", (one) => (one.carries === null ? "no inlet given" : one.carries ? "yes" : "no")),
    row("Cost by your prices", costWords, best.least_cost),
  ];
  const differs = ({ cells }) => cells.some((text) => text !== cells[0]);
  return [...rows.filter(differs), ...rows.filter((one) => !differs(one))];
}

// A chance as the planner's sentences tell one.
function chanceWords(chance) {
  const percent = chance * 100;
  if (percent > 99) return "more than 99 %";
  return percent < 1 ? "less than 1 %" : `about ${percent.toFixed(0)} %`;
}

function spareWords(spare, depth) {
  if (spare === null) return "no limit";
  return spare < 0 ? `short by ${depth(-spare)}` : depth(spare);
}

function costWords({ cost, currency, cost_left_out: left }) {
  if (cost === null) return "no prices given";
  const without = left.length ? `, without ${left.length === 1 ? "1 thing" : `${left.length} things`} unpriced` : "";
  return `${cost.toFixed(2)} ${currency}`.trim() + without;
}
