// Parts of the check in the trench: signs, the list of stations, what is wrong between them.
import { betweenWords, isChecked, offWords, outcome, shouldRead } from "../../model/request/trench.js";
import { depthText } from "../../model/units/units.js";
import { blockLists } from "../answer/level_blocks.js";
import { h, svg } from "../dom.js";
import { cautionList } from "../widgets/footnotes.js";

const SIGNS = {
  tick: [
    ["circle", { cx: 24, cy: 24, r: 22 }],
    ["path", { d: "M13 25l8 8 15-18" }],
  ],
  down: [
    ["path", { d: "M3 3h42v42H3z" }],
    ["path", { d: "M24 9v20M14 22l10 10 10-10M11 39h26" }],
  ],
  up: [
    ["path", { d: "M3 3h42v42H3z" }],
    ["path", { d: "M24 39V19M14 26l10-10 10 10M11 9h26" }],
  ],
  look: [
    ["path", { d: "M24 2l22 22-22 22L2 24z" }],
    ["path", { d: "M24 13v14M24 33v2" }],
  ],
  wait: [
    ["circle", { cx: 24, cy: 24, r: 22 }],
    ["path", { d: "M24 12v13l8 6" }],
  ],
};

export const signOf = (name) =>
  svg(
    "svg",
    { class: `trench-sign sign-${name}`, viewBox: "0 0 48 48", "aria-hidden": "true" },
    SIGNS[name].map(([tag, attributes]) => svg(tag, attributes)),
  );

// What is said of a place: {sign, words, more}.
export function wordsOf(place, { asked, away }) {
  if (isChecked(place, asked)) {
    const found = outcome(place.station);
    return { ...found, more: found.sign === "tick" ? "" : place.station.sentence }; // "Good" says it all
  }
  if (place.entry) return { sign: "wait", words: away ? "Kept, not checked yet" : "Checking…", more: "" };
  return null;
}

// A reading as typed, with its unit once.
export const withUnit = (typed, unit) => (/[a-z"'″′]/i.test(typed) ? typed : `${typed} ${unit}`);

// Soil to lay on the ground at a place once the trench is closed.
const soilAt = ({ station, wanted }) => (station ?? wanted)?.fill ?? 0;

// The places from the outlet up as buttons that take one up. `now` is the place to read.
export function placeList(places, now, { way, unit, units, asked, away, onTake }) {
  return h(
    "ol",
    { class: "trench-list", "aria-label": "Stations, from the outlet up" },
    places.map((place) => {
      const said = wordsOf(place, { asked, away });
      const should = shouldRead(place, way);
      const beside = isChecked(place, asked) ? offWords(place.station, units) : should && `should read ${should}`;
      return h(
        "li",
        null,
        h(
          "button",
          {
            type: "button",
            "data-at": place.at,
            "aria-current": place === now && "true",
            onclick: () => onTake(place),
          },
          h("b", { class: "trench-label" }, place.label),
          h(
            "span",
            { class: "trench-read" },
            place.entry ? `reads ${withUnit(place.entry.typed, place.entry.unit)}` : "not read yet",
            beside && h("small", null, beside),
            soilAt(place) > 0 && h("small", null, `then ${depthText(soilAt(place), units)} of soil to lay on it`),
          ),
          said && h("span", { class: `trench-state is-${said.sign}` }, signOf(said.sign), ` ${said.words}`),
        ),
      );
    }),
  );
}

// What the check says beside the stations: between them, of the plan, of work and of care.
export function remarks(check) {
  const wrong = betweenWords(check);
  const lies = check.verdict === "fail" && check.as_it_lies;
  return [
    wrong.length > 0 &&
      h(
        "ul",
        { class: "trench-wrong" },
        wrong.map((text) => h("li", null, text)),
      ),
    lies && h("p", null, lies.sentence),
    check.warnings.length > 0 &&
      h(
        "ul",
        { class: "trench-wrong" },
        check.warnings.map(({ text }) => h("li", null, h("b", null, "Check: "), text)),
      ),
    h("p", { class: "hint" }, toleranceWords(check)),
    ...cautionList(check.cautions),
  ].filter(Boolean);
}

// How to hold the grade between two stations, where there is no laser.
export function byLevel(check) {
  const lists = blockLists(check);
  return h(
    "details",
    { class: "more", hidden: !lists.length },
    h("summary", null, "Between the stations: a level and a block, a straight board"),
    lists,
  );
}

function toleranceWords({ tolerance, units, assumptions }) {
  const [assumed] = assumptions.filter(({ pointer }) => pointer === "/tolerance");
  const size = `${tolerance} ${units === "us" ? "in" : "mm"}`;
  return `A level may lie ${size} off the plan${assumed ? ` (default: ${assumed.source})` : ""}.`;
}
