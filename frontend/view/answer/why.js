// Why the answer is what it is: the figures behind it, the tight pair of stations, warnings,
// cautions and what was taken as usual.

import { gradeText, gradeWords, isPercent } from "../../model/units/grade.js";
import { depthText, fallPerUnit, plain, stationLabel } from "../../model/units/units.js";
import { coverWords, deepWords } from "../../model/wording/depths.js";
import { limitWords, theLimit } from "../../model/wording/limits.js";
import { byId, h, say } from "../dom.js";
import { showOutletPicture } from "../pictures/outlet.js";
import { cautionParts, Footnotes } from "../widgets/footnotes.js";

export function showWhy(answer) {
  byId("why").hidden = false;
  showOutletPicture(answer);
  say(byId("pinch-words"), pinchWords(answer));
  byId("facts").replaceChildren(
    ...facts(answer).map(([name, value, note]) =>
      h("div", null, h("dt", null, name), h("dd", null, value, note && h("small", null, note))),
    ),
  );
}

// During a drag the fixes shown are out of date: they are dimmed until new ones are known.
export function waitForFixes(waiting) {
  for (const id of ["fixes", "changes", "retake", "to-measure"]) {
    byId(id).classList.toggle("waiting", waiting);
    byId(id).inert = waiting;
  }
}

// What each change of grade buys, side by side; only where changes of grade were asked for.
export function showChanges({ grade_changes: list, grade_runs: runs, units }) {
  const table = byId("changes");
  table.hidden = !list.length;
  const unit = units === "us" ? "cu yd" : "m³";
  const cell = (one) => (one.volume === null ? "no line fits" : `${plain(one.volume, 2)} ${unit}`);
  const row = (head, cells) => h("tr", null, h("th", { scope: "row" }, head), cells);
  table.replaceChildren(
    h("caption", { class: "unseen" }, "Soil to dig with each number of changes of grade"),
    row(
      "Changes of grade",
      list.map((one) => h("td", { class: one.breaks === runs.length - 1 && "chosen" }, String(one.breaks))),
    ),
    row(
      "Soil to dig",
      list.map((one) => h("td", { class: one.breaks === runs.length - 1 && "chosen" }, cell(one))),
    ),
  );
}

// The pair of stations that sets the answer, in words.
export function pinchWords({ answer, units }) {
  if (answer.spare === null) return "Nothing limits how deep this line may lie.";
  const { upstream, downstream, limits, turns_on: turn } = answer.pinch;
  const at = (distance) => stationLabel(distance, units);
  const tight = answer.verdict === "no" ? "It fails" : "It is tightest";
  const turning = turn ? `, forced down at ${at(turn.at)} by ${theLimit(turn.limit)}` : "";
  if (upstream === downstream) {
    return `${tight} at ${at(upstream)}, where ${theLimit(limits[0])} meets ${theLimit(limits[1])}${turning}.`;
  }
  return `${tight} between ${at(upstream)} (${limitWords(limits[0])}) and ${at(downstream)} (${limitWords(limits[1])})${turning}.`;
}

// How the fall that is needed comes about: a grade over a distance, steeper than the least where
// one straight line must pass below something on its way.
function needWords({ pinch: { upstream, downstream, turns_on: turn }, fall_needed: fall }, units, way) {
  const distance = downstream - upstream;
  const percent = (100 * fall) / (distance * (units === "us" ? 12 : 1000));
  const below = turn ? `, to pass below the limit at ${stationLabel(turn.at, units)}` : "";
  return `${gradeText(percent, way)} over ${plain(distance, 2)} ${units === "us" ? "ft" : "m"}${below}`;
}

// What only the ground tells: where the pipe starts, ends and lies deepest below it.
function depthFacts(plan) {
  const { units, start, outlet } = plan;
  if (!plan.ground_known) return [];
  const deepest = deepestOf(plan);
  return [
    ["Starts", deepWords(start.dig_depth, units), coverWords(start.cover, units)],
    ["Ends", deepWords(outlet.dig_depth, units), coverWords(outlet.cover, units)],
    ["Deepest dig", depthText(deepest.dig_depth, units), `at ${stationLabel(deepest.at, units)}`],
  ];
}

// The deepest place of all, which may lie between two stations.
function deepestOf({ profile: { at, ground, bottom }, units }) {
  const depths = ground.map((level, i) => (level - bottom[i]) * (units === "us" ? 12 : 1000));
  const k = depths.indexOf(Math.max(...depths));
  return { at: at[k], dig_depth: depths[k] };
}

function facts(plan) {
  const { answer, units, grade_runs: runs, way } = plan;
  const short = answer.verdict === "no";
  const list = [];
  if (answer.spare !== null) {
    if (answer.pinch.upstream !== answer.pinch.downstream) {
      list.push(
        ["Fall there is", depthText(answer.fall_available, units), "between those two stations"],
        ["Fall it needs", depthText(answer.fall_needed, units), needWords(answer, units, way)],
      );
    }
    list.push([short ? "Short by" : "To spare", depthText(Math.abs(answer.spare), units)]);
  }
  for (const run of runs) {
    const where = runs.length > 1 ? `${stationLabel(run.from, units)} to ${stationLabel(run.to, units)}: ` : "";
    const beside = isPercent(way) ? fallPerUnit(run.percent, units) : gradeWords(run.percent);
    list.push(["Grade", `${where}${gradeWords(run.percent, way)}`, `${beside}; ${depthText(run.fall, units)} in all`]);
  }
  list.push(...depthFacts(plan), ["Run", `${plain(plan.length, 2)} ${units === "us" ? "ft" : "m"}`, "on the level"]);
  if (plan.closure) list.push(closureFact(plan.closure, units));
  return list;
}

function closureFact(closure, units) {
  const unit = units === "us" ? "ft" : "m";
  const size = (value) => `${plain(Math.abs(value), 3)} ${unit}`;
  const ok = closure.within ? "within" : "over";
  return ["Levels close", `by ${size(closure.misclosure)}`, `${ok} the ${size(closure.limit)} a sound run may miss ${closure.on} by`];
}

// `errors` are [sentence, ...] with no field of their own; then `seen`, what the page itself finds
// amiss in the drawing, and the plan's warnings.
export function showNotices(errors, answer, seen = []) {
  const told = answer?.warnings ?? [];
  const [worst, rest] = [true, false].map((bad) => told.filter(({ code }) => (code === "water_at_house") === bad));
  const warnings = [...seen, ...rest.map(({ text }) => text)];
  byId("notices").replaceChildren(
    ...[...errors, ...worst.map(({ text }) => text)].map((text) => h("li", { class: "bad" }, text)),
    ...warnings.map((text) => h("li", { class: "warn" }, h("b", null, "Check: "), text)),
    ...(answer?.cautions.length ? [firstCaution(answer.cautions)] : []),
  );
}

function firstCaution([first, ...rest]) {
  const more = rest.length === 1 ? "1 more caution" : `${rest.length} more cautions`;
  return h("li", { class: "caution" }, h("b", null, "Before you dig: "), `${first.text} `, h("a", { href: "#cautions" }, more));
}

export function showCautions(answer) {
  byId("cautions").hidden = answer.cautions.length === 0;
  const { items, notes } = cautionParts(answer.cautions);
  byId("caution-list").replaceChildren(...items);
  byId("caution-notes").replaceChildren(...notes);
}

// `change(pointer)` answers the function that goes to the field for an assumption, or null.
export function showAssumptions(answer, change) {
  const { way, ground_source: source } = answer;
  byId("assumed").hidden = answer.assumptions.length === 0 && !source;
  const notes = new Footnotes();
  byId("assumed-list").replaceChildren(
    ...(source ? [h("li", null, h("span", null, source.text))] : []),
    ...answer.assumptions.map((assumed) =>
      h(
        "li",
        null,
        h(
          "span",
          null,
          `${assumed.text}: `,
          h(
            "b",
            null,
            assumed.pointer.endsWith("/grade/min_percent")
              ? gradeText(assumed.value, way)
              : `${plain(assumed.value, assumed.unit === "mm" ? 0 : 2)} ${assumed.unit}`,
          ),
          notes.mark(assumed.source),
        ),
        change(assumed.pointer) &&
          h(
            "button",
            {
              type: "button",
              class: "quiet",
              "aria-label": `Change: ${assumed.text}`,
              onclick: change(assumed.pointer),
            },
            "Change",
          ),
      ),
    ),
  );
  byId("assumed-notes").replaceChildren(...notes.list);
}
