// Ways to fix a line that is no plain yes: single changes, two together, and what else there is, each
// with a picture of what comes of it.
import { depthText } from "../../model/units/units.js";
import { byId, h, say } from "../dom.js";

const PICTURED = "Dashed: the pipe now. Solid: the pipe after the change. Heights are stretched.";
const NOTHING_HELPS = "No one change makes this line work, nor any two together.";
const NEXT = "It needs another way, or another place to come out: draw it to lower ground, or search the yard for an outlet.";

// `mend(fixes)` answers {plan, apply}, the plan with these changes and the function that makes them, or
// null where the page cannot; `picture(plan)` is the place for a picture of what comes of it.
export function showFixes(line, mend, picture) {
  say(byId("chance"), line.answer.chance_sentence ?? "");
  byId("fixes").replaceChildren(...fixParts(line, mend, picture, "h3"));
}

// The parts of one line's fixes; none where it needs none.
export function fixParts({ answer, units, warnings }, mend, picture, heading) {
  const { verdict, explained, fixes = [], fix_pair: pair, advice = [] } = answer;
  const allTried = explained && !warnings.some(({ code }) => code === "not_all_tried");
  const item = (list) => {
    const mended = mend(list);
    return h(
      "li",
      null,
      h("span", null, list.map((fix) => fix.text).join(" "), " ", h("small", null, spareWords(list.at(-1).spare_after, units))),
      mended && picture(mended.plan),
      mended && h("button", { type: "button", onclick: mended.apply }, list.length > 1 ? "Do both" : "Do this"),
    );
  };
  const list = (words, items) => (items.length ? [h(heading, null, words), h("ul", { class: "fixes" }, items)] : []);
  const single = list(
    "Any one of these fixes it, in the order a contractor tries them",
    fixes.map((fix) => item([fix])),
  );
  const both = list("No single change fixes it; these two together do", pair ? [item(pair)] : []);
  const nearest = advice.find(({ code }) => code === "nearest");
  const further = advice.filter((one) => one !== nearest);
  const nothing = verdict === "no" && allTried && !fixes.length && !pair;
  return [
    ...single,
    ...both,
    ...(single.length || both.length ? [h("p", { class: "pictured" }, PICTURED)] : []),
    ...(nothing ? [h("p", { class: "nothing-helps" }, h("b", null, NOTHING_HELPS), " ", nearest?.text, " ", NEXT)] : []),
    ...list(
      "What else can be done",
      further.map(({ text }) => h("li", null, h("span", null, text))),
    ),
  ];
}

function spareWords(spare, units) {
  if (spare === null) return "(then nothing limits how deep it may lie)";
  const told = depthText(spare, units);
  return told.startsWith("0 ") ? "(just enough)" : `(leaves at least ${told} to spare)`;
}
