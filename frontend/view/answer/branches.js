// The answer for each branch: its verdict, where it joins, and its stations to dig by.

import { gradeText, isPercent } from "../../model/units/grade.js";
import { depthText, unitOf } from "../../model/units/units.js";
import { coverCell, deepWords, digCell } from "../../model/wording/depths.js";
import { linesOf } from "../../model/wording/pipe_fill.js";
import { byId, h } from "../dom.js";
import { framedTable } from "../widgets/data_table.js";
import { toMeasure } from "./to_measure.js";

// `fixesOf(name, branch)` are the parts that mend a branch.
export function showBranches(answer, fixesOf) {
  const branches = linesOf(answer).slice(1);
  byId("branch-answers").hidden = branches.length === 0;
  byId("branch-answer-list").replaceChildren(
    h("p", { id: "whole-sentence" }, answer.whole?.sentence ?? ""),
    ...branches.map(({ name, answer: branch }) => oneBranch(name, branch, answer.way, fixesOf)),
  );
}

const passing = ({ label, what, pass }) => `At ${label} it passes ${pass} the ${what}.`;

function oneBranch(name, branch, way, fixesOf) {
  const { units, stations } = branch;
  const depth = unitOf("depth", units);
  const strung = stations.some((station) => station.line_to_bottom !== null);
  const end = stations.at(-1);
  return h(
    "div",
    { class: "water-part" },
    h("h3", null, `Branch ${name}`),
    h("p", null, branch.answer.sentence),
    branch.warnings.map(({ text }) => h("p", null, h("b", null, "Check: "), text)),
    fixesOf(name, branch),
    toMeasure(branch, "h4"),
    h(
      "p",
      { class: "hint" },
      `It joins at ${branch.joins_label}, ${deepWords(end.dig_depth, units)}` +
        (branch.drop > 0 ? `, its inside bottom ${depthText(branch.drop, units)} above that of the pipe it joins.` : "."),
    ),
    branch.steps_down && h("p", null, branch.steps_down.sentence),
    branch.crossings.length > 0 && h("p", null, branch.crossings.map(passing).join(" ")),
    h(
      "details",
      { class: "more" },
      h("summary", null, `Stations of branch ${name}`),
      framedTable(
        `Table of stations of branch ${name}`,
        [
          "Station",
          `Dig, ${depth}`,
          ...(strung ? [`String to bottom, ${depth}`] : []),
          `Cover, ${depth}`,
          isPercent(way) ? "Grade, %" : "Grade",
        ],
        stations.map((station) => [
          station.label,
          digCell(station, units).main,
          ...(strung ? [station.marks.line_to_bottom ?? "–"] : []),
          coverCell(station.cover, units),
          isPercent(way) ? station.grade_percent.toFixed(2) : gradeText(station.grade_percent, way),
        ]),
      ),
    ),
  );
}
